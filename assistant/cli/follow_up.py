"""What reviews of a joint's earlier sessions want done again, and the work of the session that does it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.bolting.planning.plan import Plan
from assistant.events import WorkLaidOut
from assistant.journal.sessions import slug_of
from assistant.procedure.follow_up import follow_up
from assistant.replay.related import FOLLOWS_UP, Redo, wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class NextWork:
    """The work of a new session, and what `SessionOpened.settings` says of its reason."""

    work: WorkLaidOut
    settings: dict[str, Any] = field(default_factory=dict)


def next_work(sessions: Path, plan: Plan, work: WorkLaidOut, *, anew: bool) -> NextWork:
    """The whole joint; or, where a review wants bolts done again, those bolts' last pass, all round, and what follows.

    Args:
        work: of the whole joint.
        anew: the whole joint in any case; that answers a review as well.
    """
    asked = wanted(sessions, slug=slug_of(plan.joint.name))
    again = follow_up(work, asked.bolts)
    if anew or not asked.redos or not again.passes:
        return NextWork(work=work)
    return NextWork(work=again, settings={FOLLOWS_UP: asked.redos[-1].session})


def wishes(sessions: Path, joint: str) -> list[str]:
    """What reviews still want of a joint, a line each; empty when the joint may be called complete.

    Args:
        joint: its name.
    """
    asked = wanted(sessions, slug=slug_of(joint))
    return [*(_line(redo) for redo in asked.redos), *(f"A review cannot be read: {why}" for why in asked.troubles)]


def _line(redo: Redo) -> str:
    reason = f": {redo.reason}" if redo.reason else ""
    return f"The review of {redo.session} by {redo.by} wants done again: {redo.group}, bolt {redo.bolt}{reason}"
