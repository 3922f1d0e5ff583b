"""Small joints for whole sessions."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"


@pytest.fixture(scope="session")
def small_joint(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo flange with four bolts and two passes, so that the tests stay quick."""
    text = DEMO.read_text("utf-8")
    head, _, rest = text.partition("[flange]")
    text = head + rest.partition("[gasket]")[1] + rest.partition("[gasket]")[2]
    text = text.replace("count = 8", "count = 4").replace('["30 %", "60 %", "100 %"]', '["50 %", "100 %"]')
    text = text.replace('pressure = "16 bar"', 'pressure = "6 bar"').replace('y = "10000 psi"', 'y = "3700 psi"')
    path = tmp_path_factory.mktemp("joint") / "small.toml"
    path.write_text(text, "utf-8")
    return path


@pytest.fixture(scope="session")
def one_day_joint(small_joint: Path) -> Path:
    """The same without waits and re-check: done in a few minutes of speech."""
    first, _, rest = small_joint.read_text("utf-8").partition("[[rechecks]]")
    path = small_joint.with_name("one-day.toml")
    path.write_text((first + rest[rest.index("[[people]]") :]).replace('dwell = "4 h"\n', ""), "utf-8")
    return path
