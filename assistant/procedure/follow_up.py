"""The work that answers a review: bolts that the lead wants done again. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from assistant.events import Item, Lesson, Pass, Question, Wait, WorkLaidOut, stage_of
from assistant.procedure.stage_passes import PULLED
from assistant.speech.wording import Wording, catalogue


def follow_up(work: WorkLaidOut, bolts: Mapping[str, Collection[int]]) -> WorkLaidOut:
    """The named bolts' last pass at full value, then all round, with every question; waits are left out.

    Args:
        work: of the whole joint, as `work.lay_out` makes it.
        bolts: group -> bolts to be done again; groups and bolts that are not in the work are left out.

    Returns:
        The review is named by a question of its own. In a group without a pass that goes round all bolts get the last
        pass once more in their order, as one bolt done again unloads its neighbours (elastic interaction, common
        practice). Tensioners pull all their bolts again. No stages at all when nothing is left of the wishes.
    """
    words = catalogue(work.language)
    wishes: list[Item] = []
    for group in dict.fromkeys(p.group for p in work.passes):
        own = [p for p in work.passes if p.group == group]
        wanted = set(bolts.get(group, ())) & {bolt for p in own for bolt in p.bolts}
        if wanted:
            pulled = _pulled_again(work.items, group)
            wishes += pulled or _again(own, wanted, words)
    if not wishes:
        return replace(work, stages=())
    review = Question(
        name="review",
        phase="prepare",
        ask=words.review(tuple(sorted({bolt for group in bolts.values() for bolt in group}))),
        phrase="ready",
        hold=False,
        lesson=Lesson(why=words.why_review(), called=words.called_review()),
    )
    first = next(n for n, item in enumerate(work.items) if isinstance(item, Pass))
    before = [item for item in work.items[:first] if not isinstance(item, Wait)]
    after = [item for item in work.items[first:] if isinstance(item, Question) and item not in wishes]
    return replace(work, stages=tuple(stage_of(item) for item in (review, *before, *wishes, *after)))


def _pulled_again(items: Sequence[Item], group: str) -> list[Item]:
    """Every pull of tensioners of a group once more: pressure, nuts, pressure off; empty where it has none."""
    at = [n for n, p in enumerate(items) if isinstance(p, Pass) and p.group == group and p.method in PULLED]
    return [item for n in at for item in items[n - 1 : n + 2]]


def _again(own: Sequence[Pass], wanted: set[int], words: Wording) -> Iterator[Pass]:
    """The passes at full value with the wanted bolts only, then all round once, or the last pass over all bolts.

    Where another method than torque goes to the target, the wanted bolts get every pass, from snug; after a turn with
    new bolts.
    """
    if any(p.method for p in own):
        fresh = [replace(p, bolts=tuple(b for b in p.bolts if b in wanted), tools=1) for p in own]
        first, *rest = [p for p in fresh if p.bolts]
        if any(p.measures == "angle" for p in own):
            first = replace(first, lesson=replace(first.lesson, caution=words.fresh_bolts()))
        yield from (first, *rest)
        return
    pattern = [p for p in own if p.kind == "pattern"]
    rounds = [p for p in own if p.goes_round]
    full = [p for p in pattern if p.target == pattern[-1].target]
    for each in full:  # one, or several where the load steps up within a pass
        again = tuple(bolt for bolt in each.bolts if bolt in wanted)
        if again:
            yield replace(each, bolts=again, tools=1)
    yield from rounds[:1] or full
