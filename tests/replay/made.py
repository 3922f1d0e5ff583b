"""Sessions that many tests read, made once a run: never written to, copied where a test damages one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.replay.worked import DEMOS, Worked, golden


@pytest.fixture(scope="session")
def demo_sessions(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Each demo joint closed and sealed, with sound, by the name of its file."""
    folder = tmp_path_factory.mktemp("demos")
    return {
        demo.stem: Worked(folder / "sessions", demo, sound=True).finish().seal(folder / "keys")
        for demo in sorted(DEMOS.glob("*.toml"))
    }


@pytest.fixture(scope="session")
def repairs_session(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An unfinished session in which everything was put right that can be."""
    return Worked(tmp_path_factory.mktemp("repairs"), sound=True).say(*golden("repairs")).close()


@pytest.fixture(scope="session")
def done_session(demo_sessions: dict[str, Path]) -> Path:
    """The flange, closed and sealed."""
    return demo_sessions["north-sluice-dn150-flange"]


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Data, cache and settings of this test alone."""
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    return tmp_path
