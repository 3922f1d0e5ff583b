"""What DEVELOPERS.md promises of an event: so many files know of it, and each that does not yet says so."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import assistant

ROOT = Path(assistant.__file__).parent
CLASS = '''
@dataclass(frozen=True, slots=True, kw_only=True)
class NutChanged(EventBase):
    """A nut was changed for another."""

    kind: ClassVar[str] = "nut-changed"
    bolt: int
    utterance: str


RepairEvent = (
    NutChanged
    | '''
CASE = "        case _:\n            assert_never(event)\n"
FILES: dict[str, tuple[tuple[str, str], ...]] = {
    "events/repair.py": (("\nRepairEvent = (\n    ", CLASS),),
    "procedure/table.py": (
        ("ROWS = (\n", 'ROWS = (\n    Row(ev.NutChanged, ANSWERING, "guiding"),\n'),
        ("] = {\n    ev.WorkLaidOut", "] = {\n    ev.NutChanged: Means(other_item=True),\n    ev.WorkLaidOut"),
    ),
    "procedure/evolve.py": ((CASE, f"        case ev.NutChanged():\n            return state\n{CASE}"),),
    "procedure/prompts.py": ((CASE, f"        case ev.NutChanged():\n            return w.good()\n{CASE}"),),
    "replay/outcomes.py": (
        (CASE, f'        case ev.NutChanged():\n            return _says(f"nut {{event.bolt}} changed")\n{CASE}'),
    ),
}
"""File -> what is put in the place of what when the event is added."""
WALK = """
import json
from assistant.events import event_classes
from assistant.journal.encoding import EVENT_FORMAT
from assistant.procedure.evolve import step
from assistant.procedure.prompts import prompt
from assistant.procedure.state import State
from assistant.procedure.table import ANYWHERE, MEANS, ROWS
from assistant.replay.outcomes import outcome_of
from assistant.replay.transcript import recorded

event = event_classes()["nut-changed"](bolt=5, utterance="0001")
state, asked = State(dialogue="guiding"), {}

def known_in(file, ask):
    try:
        asked[file] = bool(ask())
    except (AssertionError, KeyError):
        asked[file] = False

kept = EVENT_FORMAT.encode(event)
asked["events/repair.py"] = EVENT_FORMAT.decode(*kept, where="here") == event
known_in("procedure/table.py", lambda: type(event) in {row.event for row in ROWS} | ANYWHERE and MEANS[type(event)])
known_in("procedure/evolve.py", lambda: step(state, event) == state)
known_in("procedure/prompts.py", lambda: prompt(state, event, state))
known_in("replay/outcomes.py", lambda: outcome_of(event).words == recorded(event) == "nut 5 changed")
print(json.dumps(asked))
"""


def add(folder: Path, files: set[str]) -> None:
    for name in files:
        path = folder / "assistant" / name
        text = path.read_text(encoding="utf-8")
        for old, new in FILES[name]:
            assert text.count(old) == 1, (name, old)
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")


def known(folder: Path) -> set[str]:
    """The files of a copy of the product that know the event."""
    environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [sys.executable, "-c", WALK], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return {name for name, knows in json.loads(done.stdout).items() if knows}


def test_an_added_event_touches_five_files_and_each_that_lacks_it_says_so(tmp_path: Path):
    """Mypy says so before any test runs, of the three that tell events apart with `match`."""
    shutil.copytree(ROOT, tmp_path / "assistant")
    declared = {"events/repair.py"}
    add(tmp_path, declared)
    assert known(tmp_path) == declared
    add(tmp_path, set(FILES) - declared)
    assert known(tmp_path) == set(FILES) and len(FILES) <= 5
