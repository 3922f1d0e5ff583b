"""The bolts of each group over time: one frame whenever the state of one changes, as one sign a bolt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import (
    BoltReplaced,
    BoltSkipped,
    BoltTakenUp,
    EntryTakenBack,
    ItemAnnounced,
    Pass,
    PassesRestarted,
    SessionClosed,
    StageFinished,
    SteppedBack,
    SteppedOn,
    WorkLaidOut,
)
from assistant.procedure import standing
from assistant.procedure.state import AtBolt, Entry, State
from assistant.replay.facts import DueBolt, Step, pass_of
from assistant.replay.outcomes import outcome
from assistant.replay.record_open import last_rounds
from assistant.replay.record_work import Bolt, PassDone

SIGNS = {
    "pending": "p",
    "due": "n",
    "done": "d",
    "moved": "m",
    "skipped": "s",
    "outside": "o",
}
"""State of a bolt -> its sign in a frame. Outside: a reading outside its window was kept."""
_Changes = (
    AtBolt
    | WorkLaidOut
    | ItemAnnounced
    | EntryTakenBack
    | BoltSkipped
    | SteppedBack
    | SteppedOn
    | StageFinished
    | SessionClosed
    | BoltReplaced
    | PassesRestarted
    | BoltTakenUp
)
"""Events that may change what is shown of a bolt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A bolt group as it was laid out: its name, and its bolts in order of their numbers."""

    name: str
    bolts: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The bolts of one group at one moment.

    Args:
        number: of the entry that changed it.
        group: place of the group among all.
        stage, round: the pass that is shown.
        signs: one of SIGNS' values for each bolt of the group.
        text: what happened.
    """

    number: int
    group: int
    stage: int
    round: int
    signs: str
    text: str


def groups_of(state: State) -> tuple[Group, ...]:
    """The bolt groups of the work laid out."""
    found: dict[str, set[int]] = {}
    for each in state.work.passes:
        found.setdefault(each.group, set()).update(each.bolts)
    return tuple(Group(name=name, bolts=tuple(sorted(bolts))) for name, bolts in found.items())


def frames(steps: Sequence[Step]) -> list[Frame]:
    """The film of a session."""
    found: list[Frame] = []
    due = DueBolt()
    shown: dict[int, tuple[int, int, str]] = {}
    groups: tuple[Group, ...] = ()
    work: object = None
    for step in steps:
        event, state = step.entry.event, step.after
        item = pass_of(state)
        if not isinstance(event, _Changes) or item is None:
            continue
        if state.work is not work:
            work, groups = state.work, groups_of(state)
        at = next((n for n, each in enumerate(groups) if each.name == item.group), None)
        if at is None:
            continue
        here = due.places.of(state, state.stage, state.round)
        signs = _signs(state, item, groups[at], due.of(state), here)
        if shown.get(at) != (state.stage, state.round, signs):
            shown[at] = (state.stage, state.round, signs)
            found.append(
                Frame(
                    number=step.number,
                    group=at,
                    stage=state.stage,
                    round=state.round,
                    signs=signs,
                    text=outcome(event),
                )
            )
    return found


def _signs(state: State, item: Pass, group: Group, due: int | None, here: Sequence[Entry]) -> str:
    found = dict.fromkeys(group.bolts, "pending")
    found.update(dict.fromkeys((bolt for bolt in state.deferred if bolt in found), "skipped"))
    entries: dict[int, list[Entry]] = {}
    for entry in here:
        if entry.bolt in found:
            entries.setdefault(entry.bolt, []).append(entry)
    for bolt, its in entries.items():
        left = standing.left_at(its, item)
        found[bolt] = found[bolt] if left == "open" else left
    if due in found and not state.closed:
        found[due] = "due"
    return "".join(SIGNS[found[bolt]] for bolt in group.bolts)


_GRAVITY = ("done", "moved", "outside", "skipped", "pending")


def final_signs(groups: Sequence[Group], passes: Sequence[PassDone]) -> list[str]:
    """Each group's bolts over all its passes: what the joint was left with.

    A bolt is done when every pass has its entry and no reading was kept outside its window; moved when the last
    round of a pass that goes round still moved it; skipped when it is open because it was left for later; else pending.
    """
    last = last_rounds(tuple(passes))
    result = []
    for group in groups:
        found = dict.fromkeys(group.bolts, "done")
        for each in passes:
            for bolt in each.bolts if each.group == group.name else ():
                left = _left(bolt, last=each in last)
                found[bolt.bolt] = max(found[bolt.bolt], left, key=_GRAVITY.index)
        result.append("".join(SIGNS[found[bolt]] for bolt in group.bolts))
    return result


def _left(bolt: Bolt, *, last: bool) -> str:
    if bolt.status == "kept outside window":
        return "outside"
    if not last:
        return "done"
    if bolt.status == "open":
        return "skipped" if bolt.remark.startswith("left for") else "pending"
    return "moved" if bolt.movement == "moved" else "done"
