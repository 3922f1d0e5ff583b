"""What scripts may call: the examples in the package, a whole joint, and that nothing is loaded before its time."""

from __future__ import annotations

import doctest
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

import assistant
from assistant.errors import BadJointFile

SAID = Path(__file__).parent / "golden" / "plain.said"


@pytest.fixture(autouse=True)
def own_place(tmp_path, monkeypatch):
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    monkeypatch.chdir(tmp_path)


def test_the_examples_in_its_text_run_as_they_stand():
    found = doctest.testmod(assistant)
    assert found.attempted > 8 and found.failed == 0


def test_a_whole_joint_is_closed_and_sealed_as_a_rehearsal(tmp_path):
    lines = [line for line in SAID.read_text(encoding="utf-8").splitlines() if line[:1] != "#"]
    session = assistant.rehearse(
        assistant.demo_joint("north-sluice-dn150-flange"), lines, sessions=tmp_path / "all", day=date(2026, 11, 25)
    )
    record, verdict = assistant.record(session), assistant.verdict(session)
    assert record.whole and record.session.state == "sealed"
    assert verdict.token == "rehearsal" and verdict.good  # never "complete": nothing was tightened


def test_a_joint_that_was_left_open_is_opened_again_when_answers_remain(tmp_path):
    lines = [line for line in SAID.read_text(encoding="utf-8").splitlines() if line[:1] != "#"]
    waits = lines.index("status")
    said = [*lines[:waits], "leave it open", "status"]
    session = assistant.rehearse(
        assistant.demo_joint("north-sluice-dn150-flange"), said, sessions=tmp_path / "all", day=date(2026, 11, 25)
    )
    kinds = [entry.event.kind for entry in assistant.read_session(session)]
    assert kinds.index("session-left") < kinds.index("session-resumed") < kinds.index("wait-over")


def test_a_demo_joint_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(BadJointFile, match="nowhere") as refused:
        assistant.demo_joint("../nowhere")
    assert "north-sluice-gearbox-base" in refused.value.remedy


def test_importing_it_loads_nothing_of_ours_and_every_promised_name_is_there():
    code = "import sys, assistant; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert [name for name in loaded if name.startswith("assistant.")] == [] and "pint" not in loaded
    assert all(callable(getattr(assistant, name)) for name in assistant.__all__)
    with pytest.raises(AttributeError):
        assistant.nothing  # noqa: B018
