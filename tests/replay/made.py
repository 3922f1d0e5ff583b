"""Sessions that many tests read, made once a run: never written to, copied where a test damages one."""

from __future__ import annotations

from itertools import takewhile
from pathlib import Path

import pytest

from assistant.config.paths import key_folder
from assistant.journal.keyring import trust_key
from assistant.journal.seal import installation_key, public_key_of
from tests.replay.worked import DEMOS, Worked, golden
from tests.report.sessions_made import apprentice_session


@pytest.fixture(scope="session")
def demo_keys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the key that the demo sessions are sealed with."""
    return tmp_path_factory.mktemp("demo-keys")


@pytest.fixture(scope="session")
def demo_sessions(tmp_path_factory: pytest.TempPathFactory, demo_keys: Path) -> dict[str, Path]:
    """Each demo joint closed and sealed, with sound, by the name of its file."""
    folder = tmp_path_factory.mktemp("demos")
    return {
        demo.stem: Worked(folder / "sessions", demo, sound=True).finish().seal(demo_keys)
        for demo in sorted(DEMOS.glob("*.toml"))
    }


@pytest.fixture(scope="session")
def repairs_session(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An unfinished session in which readings and answers were put right in every way; no bolt was replaced."""
    lines = takewhile(lambda line: "replaced" not in line, golden("repairs"))
    return Worked(tmp_path_factory.mktemp("repairs"), sound=True).say(*lines).close()


@pytest.fixture(scope="session")
def apprentice_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The coupling with an apprentice, left open in its re-check: everything that can happen around the bolts."""
    return apprentice_session(tmp_path_factory.mktemp("apprentice"))


@pytest.fixture(scope="session")
def done_session(demo_sessions: dict[str, Path]) -> Path:
    """The flange, closed and sealed."""
    return demo_sessions["north-sluice-dn150-flange"]


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, demo_keys: Path) -> Path:
    """Data, cache and settings of this test alone, where the key of the demo sessions is trusted."""
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    demo_key = public_key_of(installation_key(demo_keys))
    trust_key(key_folder(), demo_key, name="the demo machine", by="the tests")
    return tmp_path
