"""Offline, hands-free spoken assistant that guides a bolt-tightening sequence and keeps its record.

For scripts, six functions are promised to stay as they are. They load what they need when they are called, so that
`import assistant` itself takes no time. Everything else in the package may change without notice.

Plan a joint file:

>>> import assistant
>>> from pathlib import Path
>>> flange = assistant.demo_joint("north-sluice-dn150-flange")
>>> made = assistant.plan(flange)
>>> [group.name for group in made.groups], made.groups[0].order
(['flange bolts'], (1, 5, 3, 7, 2, 6, 4, 8))

Go through a joint with typed answers, as a rehearsal. It stops where the answers end:

>>> session = assistant.rehearse(flange, ["yes", "yes", "stop"], sessions=Path("sessions"))

Read what was recorded:

>>> entries = assistant.read_session(session)
>>> [entry.event.kind for entry in entries][:2]
['session-opened', 'work-laid-out']
>>> assistant.verdict(session).token
'rehearsal'
>>> record = assistant.record(session)
>>> record.joint.name, record.whole
('Pump 2 discharge flange', False)

What cannot be done raises an `AssistantError` with `code`, `message`, `remedy` and `exit_status`:

>>> try:
...     assistant.plan("nowhere.toml")
... except assistant.AssistantError as error:
...     print(error.message)
nowhere.toml is not there

Nothing leaves the machine. onnxruntime collects usage data from 1.32 on: it keeps a device number and a queue of
events below the user's cache folder and looks up the collector's address. This switch must be in the environment before
the library is loaded, so it is set here, ahead of every engine; children inherit it. Its Python call
`disable_telemetry_events` does not help (tried: the same files, the same look-ups).
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

os.environ["ORT_DISABLE_TELEMETRY"] = "1"

if TYPE_CHECKING:
    import datetime
    from pathlib import Path

    from assistant.bolting.planning.plan import Plan
    from assistant.errors import AssistantError
    from assistant.journal.reading import Entry
    from assistant.replay.record_fields import JointRecord
    from assistant.replay.verdict import Verdict

__version__ = "0.2.0"
__all__ = ["AssistantError", "demo_joint", "plan", "read_session", "record", "rehearse", "verdict"]


def demo_joint(name: str) -> Path:
    """The file of a demo joint that comes with the program, by its name without `.toml`.

    Raises:
        AssistantError: there is none of that name; the message lists those that there are.
    """
    from assistant.config.paths import shipped
    from assistant.errors import BadJointFile

    folder = shipped("demo_joints")
    known = sorted(path.stem for path in folder.glob("*.toml"))
    if name not in known:
        raise BadJointFile(f"there is no demo joint {name!r}", remedy=f"one of {', '.join(known)}")
    return folder / f"{name}.toml"


def plan(joint: str | os.PathLike[str], *, day: datetime.date | None = None) -> Plan:
    """The plan of a joint file: order, passes, targets, wrench settings and the reasons, in quantities with units.

    Args:
        joint: the file.
        day: calibration is judged by it; left out: today.

    Raises:
        AssistantError: the file is not there, breaks the schema, or its figures would do harm.
    """
    from pathlib import Path

    from assistant.cli import house
    from assistant.config.joint_file import read_plan

    return read_plan(Path(joint), today=day or house.today())


def rehearse(
    joint: str | os.PathLike[str],
    said: Iterable[str],
    *,
    sessions: str | os.PathLike[str],
    day: datetime.date | None = None,
) -> Path:
    """Go through a joint in silence with typed answers. The real dialogue, journal and seal, marked as a rehearsal.

    Waits are skipped: when the joint is left open, its time has come at once.

    Args:
        joint: the file.
        said: what the technician says, one utterance each, as with `--listen typed`; it ends where they end.
        sessions: folder that the session's folder is made in.
        day: calibration is judged by it; left out: today.

    Returns:
        The session's folder.

    Raises:
        AssistantError: the joint file cannot be used, or the folder refuses.
    """
    from pathlib import Path

    from assistant.cli.typed_rehearsal import typed_rehearsal

    return typed_rehearsal(Path(joint), tuple(said), sessions=Path(sessions), day=day)


def read_session(session: str | os.PathLike[str]) -> tuple[Entry, ...]:
    """The lines of a session's journal, each with its `event`, `utc` and `sample`; older versions are read as today's.

    Raises:
        AssistantError: it is no session, or a line of it is damaged.
    """
    from pathlib import Path

    from assistant.journal.reading import read_session as read

    return tuple(read(Path(session)).entries)


def record(session: str | os.PathLike[str]) -> JointRecord:
    """The joint record of a session, as `assistant record --json` prints it: `record(...).model_dump(mode="json")`.

    Raises:
        AssistantError: it is no session, or not even the first line of its journal can be read.
    """
    from pathlib import Path

    from assistant.cli.session_sources import record_of

    return record_of(Path(session))


def verdict(session: str | os.PathLike[str]) -> Verdict:
    """What is to be thought of a session: `token`, `heading`, `reason`, and `good` for exit code 0.

    Raises:
        AssistantError: as `record`.
    """
    from assistant.replay.verdict import verdict as judged

    return judged(record(session))


def __getattr__(name: str) -> Any:
    """`AssistantError`, loaded when it is asked for."""
    if name == "AssistantError":
        from assistant.errors import AssistantError

        return AssistantError
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
