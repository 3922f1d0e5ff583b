"""The bolts of each group over time: one frame whenever the state of one changes, as one sign a bolt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import Pass
from assistant.procedure.state import Entry, State
from assistant.replay.moments import MOVES
from assistant.replay.outcomes import outcome
from assistant.replay.steps import DueBolt, Step, pass_of

SIGNS = {
    "pending": "p",
    "due": "n",
    "done": "d",
    "moved": "m",
    "skipped": "s",
    "outside": "o",
}
"""State of a bolt -> its sign in a frame. Outside: a reading outside its window was kept."""
_CHANGES = MOVES | {
    "work-laid-out",
    "item-announced",
    "entry-taken-back",
    "bolt-skipped",
    "stepped-back",
    "stepped-on",
    "stage-finished",
    "session-closed",
    "bolt-replaced",
    "passes-restarted",
    "bolt-taken-up",
}


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
        if event.kind not in _CHANGES or item is None:
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
    circular = item.goes_round
    for entry in reversed(here):
        if entry.valid and entry.bolt in found and found[entry.bolt] in ("pending", "skipped"):
            found[entry.bolt] = _state_of(entry.kind, circular) or found[entry.bolt]
    if due in found and not state.closed:
        found[due] = "due"
    return "".join(SIGNS[found[bolt]] for bolt in group.bolts)


def _state_of(kind: str, circular: bool) -> str:
    if kind == "bolt-moved":
        return "moved"
    if kind == "reading-kept":
        return "outside"
    return "" if circular and kind != "bolt-held" else "done"


def final_signs(state: State) -> list[str]:
    """Each group's bolts over all its passes: what the joint was left with.

    A bolt is done when every pass has its entry and no reading was kept outside its window; moved when the last
    round of a circular pass still moved it; skipped when it is open because it was left for later; else pending.
    """
    result = []
    by_stage: dict[int, list[Entry]] = defaultdict(list)
    for entry in state.entries:
        if entry.valid:
            by_stage[entry.stage].append(entry)
    for group in groups_of(state):
        found = dict.fromkeys(group.bolts, "done")
        for stage, item in enumerate(state.stages, start=1):
            if isinstance(item, Pass) and item.group == group.name:
                _after_pass(state, stage, item, found, by_stage[stage])
        result.append("".join(SIGNS[found[bolt]] for bolt in group.bolts))
    return result


_GRAVITY = ("done", "moved", "outside", "skipped", "pending")


def _after_pass(state: State, stage: int, item: Pass, found: dict[int, str], entries: Sequence[Entry]) -> None:
    circular = item.goes_round
    last_round = max((e.round for e in entries), default=1)
    here: dict[int | None, str] = {}
    for entry in entries:
        if entry.kind == "reading-kept" and entry.bolt in found:
            found[entry.bolt] = max(found[entry.bolt], "outside", key=_GRAVITY.index)
        if entry.round == last_round:
            here[entry.bolt] = _state_of(entry.kind, circular) or here.get(entry.bolt, "")
    skipped = state.deferred if state.stage == stage else ()
    for bolt in item.bolts:
        if bolt in found:
            left = here.get(bolt) or ("skipped" if bolt in skipped else "pending")
            found[bolt] = max(found[bolt], left, key=_GRAVITY.index)
