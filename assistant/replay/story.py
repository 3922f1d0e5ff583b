"""A session as its lead reads it: the joint record, and beside it the conversation with what came of it. Data only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import Pass
from assistant.replay.attention import Item, attention
from assistant.replay.facts import Facts
from assistant.replay.frames import Frame, Group, final_signs, frames, groups_of
from assistant.replay.moments import Moment, moments
from assistant.replay.record_fields import JointRecord
from assistant.replay.salvage import Unread
from assistant.replay.titles import stage_title


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """All of a session that a page shows.

    Args:
        record: the joint record; the page's verdict, decisions, passes and times are its.
        items: what else to look at, gravest first.
        groups: bolt groups; `signs` of frames stand in the order of their bolts.
        film: the bolts over time.
        final: each group's bolts over all passes, in the end.
        moments: the conversation, in order.
        stages: title of each stage and round that a moment or frame names.
        passes: numbers of the stages that are passes, for choosing one.
        unread: lines that say nothing.
        counts: name -> how many, for the line in short.
        place_of: line -> place of its moment among `moments`.
    """

    record: JointRecord
    items: tuple[Item, ...]
    groups: tuple[Group, ...]
    film: tuple[Frame, ...]
    final: tuple[str, ...]
    moments: tuple[Moment, ...]
    stages: dict[tuple[int, int], str]
    passes: tuple[int, ...]
    unread: tuple[Unread, ...]
    counts: tuple[tuple[str, int], ...]
    place_of: dict[int, int]


def tell(record: JointRecord, facts: Facts, *, unread: Sequence[Unread] = ()) -> Story:
    """The story of a session. Never raises for what is in the record, however damaged or foreign it is.

    Args:
        record: of the session.
        facts: of every line that can be read; where the journal is damaged these are more than the record believes.
        unread: lines that `salvage` could not read.
    """
    found, place_of = moments(facts.steps)
    film, groups = frames(facts.steps), groups_of(facts.state)
    named = {(moment.stage, moment.round) for moment in found} | {(frame.stage, frame.round) for frame in film}
    return Story(
        record=record,
        items=tuple(attention(facts, record, found, place_of)),
        groups=groups,
        film=tuple(film),
        final=tuple(final_signs(groups, record.passes)),
        moments=tuple(found),
        stages={key: stage_title(facts.state, *key) for key in sorted(named)},
        passes=tuple(n for n, item in enumerate(facts.items, start=1) if isinstance(item, Pass)),
        unread=tuple(unread),
        counts=_counts(record, found),
        place_of=place_of,
    )


def _counts(record: JointRecord, found: Sequence[Moment]) -> tuple[tuple[str, int], ...]:
    entries = [entry for each in record.passes for bolt in each.bolts for entry in bolt.entries]
    kinds = Counter(entry.kind for entry in entries if entry.standing == "counts")
    told = Counter(each.kind for each in record.deviations)
    asked = sum(bool(e.confirmed_by) for e in entries if e.standing == "counts" and e.kind == "reading")
    named = (
        ("bolt", "bolts", len({(p.group, b.bolt) for p in record.passes for b in p.bolts})),
        ("utterance", "utterances", sum(moment.who == "heard" for moment in found)),
        ("reading recorded", "readings recorded", kinds["reading"] + kinds["reading kept"]),
        ("of them after a question", "of them after a question", asked),
        ("kept outside the window", "kept outside the window", kinds["reading kept"]),
        ("click recorded", "clicks recorded", kinds["clicked"]),
        ("corrected", "corrected", len(record.corrections)),
        ("skipped", "skipped", told["skipped"]),
        ("refused", "refused", told["refused"] + told["other bolt named"]),
        ("nut that moved", "nuts that moved", kinds["moved"]),
        ("bolt replaced", "bolts replaced", told["bolt replaced"]),
        ("wait cut short", "waits cut short", sum(w.state == "cut short" for w in record.waited)),
        ("note", "notes", len(record.notes)),
    )
    return tuple((one if count == 1 else many, count) for one, many, count in named)
