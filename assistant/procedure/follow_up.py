"""The work that answers a review: bolts that the lead wants done again. Pure."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from assistant.events import Item, Lesson, Pass, Question, WorkLaidOut, stage_of
from assistant.procedure.stage_passes import PULLED
from assistant.speech.wording import Wording, catalogue

THREADS = "thread condition"
"""The one check of assembly that is asked again: the torque holds for one thread condition only."""


def follow_up(work: WorkLaidOut, bolts: Mapping[str, Collection[int]]) -> WorkLaidOut:
    """The work that is needed to do the named bolts again, in the order of the whole joint.

    Everything of `prepare` comes first: isolation, pressure off, lock-out, tools. Then the bolts' last pass at full
    value and all round, and all that follows in the whole joint: waits, all round after them, restoring, the re-check
    and the leak watch. What assembled the joint is not asked again: its gasket stays.

    Args:
        work: of the whole joint, as `work.lay_out` makes it.
        bolts: group -> bolts to be done again; groups and bolts that are not in the work are left out.

    Returns:
        The review is named by a question of its own. In a group without a pass that goes round all bolts get the last
        pass once more in their order, as one bolt done again unloads its neighbours (elastic interaction, common
        practice). Tensioners pull all their bolts again. No stages at all when nothing is left of the wishes.
    """
    words = catalogue(work.language)
    instead: dict[int, list[Item]] = {}
    for group in dict.fromkeys(p.group for p in work.passes):
        own = [n for n, p in enumerate(work.items) if isinstance(p, Pass) and p.group == group and p.phase != RECHECK]
        wanted = set(bolts.get(group, ())) & {bolt for n in own for bolt in _pass(work, n).bolts}
        if wanted:
            pulled = _pulled_again(work.items, own)
            instead |= pulled or _again({n: _pass(work, n) for n in own}, wanted, words)
    if not instead:
        return replace(work, stages=())
    review = Question(
        name="review",
        phase="prepare",
        ask=words.review(tuple(sorted({bolt for group in bolts.values() for bolt in group}))),
        phrase="ready",
        hold=False,
        lesson=Lesson(why=words.why_review(), called=words.called_review()),
    )
    done = [each for n in range(len(work.items)) for each in _of(work.items, n, instead)]
    return replace(work, stages=tuple(stage_of(item) for item in (review, *done)))


RECHECK = "re-check"
_WHOLE = ("prepare", "restore", RECHECK, "leak watch", "close")
"""Phases whose items all belong to a bolt that is done again."""


def _pass(work: WorkLaidOut, at: int) -> Pass:
    item = work.items[at]
    assert isinstance(item, Pass)
    return item


def _of(items: Sequence[Item], at: int, instead: Mapping[int, list[Item]]) -> list[Item]:
    """What the follow-up holds of one item of the whole joint, or in its place."""
    item = items[at]
    if at in instead:
        return instead[at]
    if item.phase in _WHOLE or (isinstance(item, Question) and item.name == THREADS):
        return [item]
    if isinstance(item, Pass) or item.phase in ("assemble", "snug"):
        return []
    again = {each.group for n in instead if isinstance(each := items[n], Pass)}
    return [item] if _group_at(items, at) in again else []


def _group_at(items: Sequence[Item], at: int) -> str:
    """Group of the pass that a question, measurement or wait of tightening belongs to.

    A question is asked for what comes next (hands clear before the pull), a measurement and a wait follow on what was
    done; at the end a question looks back.
    """
    before = next((p for p in reversed(items[:at]) if isinstance(p, Pass)), None)
    after = next((p for p in items[at + 1 :] if isinstance(p, Pass)), None)
    last = after is None or after.phase == RECHECK
    beside = before if last or not isinstance(items[at], Question) else after
    return beside.group if beside is not None else ""


def _pulled_again(items: Sequence[Item], own: Sequence[int]) -> dict[int, list[Item]]:
    """Every pull of tensioners of a group once more: pressure, nuts, pressure off; empty where it has none."""
    pulls = [n for n in own if (p := items[n]) and isinstance(p, Pass) and p.method in PULLED]
    return {at: [items[at]] for n in pulls for at in range(n - 1, n + 2)}


def _again(own: Mapping[int, Pass], wanted: set[int], words: Wording) -> dict[int, list[Item]]:
    """Place -> the passes at full value with the wanted bolts only, and all round; or the last pass over all bolts.

    Where another method than torque goes to the target, the wanted bolts get every pass, from snug; after a turn with
    new bolts. A torque pass below the full value says nothing about a bolt that is tight already.
    """
    if any(p.method for p in own.values()):
        fresh = {n: replace(p, bolts=tuple(b for b in p.bolts if b in wanted), tools=1) for n, p in own.items()}
        fresh = {n: p for n, p in fresh.items() if p.bolts}
        first = min(fresh)
        if any(p.measures == "angle" for p in own.values()):
            lesson = replace(fresh[first].lesson, caution=words.fresh_bolts())
            fresh[first] = replace(fresh[first], lesson=lesson)
        return {n: [p] for n, p in fresh.items()}
    pattern = {n: p for n, p in own.items() if p.kind == "pattern"}
    last = pattern[max(pattern)]
    full = {n: p for n, p in pattern.items() if p.target == last.target}
    found: dict[int, list[Item]] = {n: [p] for n, p in own.items() if p.goes_round}
    everyone = [] if found else list(full.values())
    for n, each in full.items():  # one, or several where the load steps up within a pass
        again = tuple(bolt for bolt in each.bolts if bolt in wanted)
        found[n] = [replace(each, bolts=again, tools=1)] if again else []
    found[max(full)] += everyone
    return found
