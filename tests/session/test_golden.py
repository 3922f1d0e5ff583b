"""Golden streams: what is typed, one utterance a line, against all that must be recorded for it.

UTC times and hashes are left out, sample counts are kept. Rewritten only by `--accept-golden`; read the diff line
by line.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import usual_procedure
from assistant.journal.encoding import EVENT_FORMAT
from assistant.procedure.work import lay_out
from tests.session.house import OPENED, events_of, typed

ROOT = Path(__file__).resolve().parents[2]
GOLDEN = ROOT / "tests" / "golden"
DAY = date(2026, 11, 25)
DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"


def stream(said: Path) -> str:
    laid_out = lay_out(plan(read_joint(DEMO, today=DAY), today=DAY), usual_procedure("gasketed flange"))
    lines = [line for line in said.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    made = typed(lines, first=(OPENED, laid_out))
    records = []
    for event in events_of(made):
        kind, version, payload = EVENT_FORMAT.encode(event)
        records.append(json.dumps({"kind": kind, "version": version, **payload}, sort_keys=True, ensure_ascii=False))
    return "\n".join(records) + "\n"


@pytest.mark.parametrize("said", sorted(GOLDEN.glob("*.said")), ids=lambda path: path.stem)
def test_the_stream_is_as_it_was_accepted(said: Path, accept_golden: bool):
    made = stream(said)
    golden = said.with_suffix(".events.jsonl")
    if accept_golden:
        golden.write_text(made, encoding="utf-8")
    assert made.split("\n") == golden.read_text(encoding="utf-8").split("\n")


def test_there_are_golden_streams():
    assert len(list(GOLDEN.glob("*.said"))) >= 4
