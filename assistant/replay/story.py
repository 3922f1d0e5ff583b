"""A session as its lead reads it: head, what to look at first, readings, bolts over time, conversation. Data only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.events import Pass
from assistant.journal.findings import Report
from assistant.journal.reading import Entry
from assistant.procedure.state import State
from assistant.replay.attention import Item, attention
from assistant.replay.course import Course, course
from assistant.replay.frames import Frame, Group, final_signs, frames, groups_of
from assistant.replay.head import Head, head
from assistant.replay.moments import Moment, moments
from assistant.replay.readings import PassRound, pass_rounds
from assistant.replay.salvage import Unread
from assistant.replay.steps import walk
from assistant.replay.titles import stage_title


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """All of a session that a page shows.

    Args:
        head: facts for its first lines.
        items: what to look at first, gravest first.
        rounds: readings by pass and round.
        groups: bolt groups; `signs` of frames stand in the order of their bolts.
        film: the bolts over time.
        final: each group's bolts over all passes, in the end.
        moments: the conversation, in order.
        stages: title of each stage and round that a moment or frame names.
        passes: numbers of the stages that are passes, for choosing one.
        misfits: numbers of entries that do not fit what came before them (foreign or damaged records).
        unread: lines that say nothing.
        report: what verification found; None when it was not asked.
        around: what happened around the bolts; its lines are entries' numbers.
        place_of: entry's number -> place of its moment among `moments`.
    """

    head: Head
    items: tuple[Item, ...]
    rounds: tuple[PassRound, ...]
    groups: tuple[Group, ...]
    film: tuple[Frame, ...]
    final: tuple[str, ...]
    moments: tuple[Moment, ...]
    stages: dict[tuple[int, int], str]
    passes: tuple[int, ...]
    misfits: tuple[int, ...]
    unread: tuple[Unread, ...]
    report: Report | None
    around: Course
    place_of: dict[int, int]


def tell(entries: Sequence[Entry], *, unread: Sequence[Unread] = (), report: Report | None = None) -> Story:
    """The story of a session. Never raises for what is in the record, however damaged or foreign it is.

    Args:
        entries: of one journal, as `read_session` or `salvage` gives them.
        unread: lines that `salvage` could not read.
        report: of `journal.verify.verify`.
    """
    steps = walk(entries)
    state = steps[-1].after if steps else State()
    found, place_of = moments(steps)
    rounds = pass_rounds(steps)
    around = course((step.number, step.entry) for step in steps if step.folded)
    items = attention(steps, found, place_of, rounds, around)
    film = frames(steps)
    named = {(moment.stage, moment.round) for moment in found} | {(frame.stage, frame.round) for frame in film}
    return Story(
        head=head(steps, found, place_of, rounds, around),
        items=tuple(items),
        rounds=tuple(rounds),
        groups=groups_of(state),
        film=tuple(film),
        final=tuple(final_signs(state)),
        moments=tuple(found),
        stages={key: stage_title(state, *key) for key in sorted(named)},
        passes=tuple(n for n, item in enumerate(state.stages, start=1) if isinstance(item, Pass)),
        misfits=tuple(step.number for step in steps if not step.folded),
        unread=tuple(unread),
        report=report,
        around=around,
        place_of=place_of,
    )
