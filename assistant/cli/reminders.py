"""From joint to joint: what a person let be kept is told before work, and what an apprentice missed is added to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from assistant.config.learned import Learned, Missed, keep, learned_by
from assistant.errors import BadSettings
from assistant.events import AnsweredBack, Event
from assistant.journal.clock import utc_now, utc_text
from assistant.procedure.state import State
from assistant.replay.titles import stage_title
from assistant.speech.wording.practice import practice_words

FORMS = 3
"""So many are told aloud at once; all of them stand on the screen."""


def wrong_answers(events: Iterable[Event], state: State) -> tuple[str, ...]:
    """What an apprentice was asked and answered wrongly, by the stage."""
    wrong = [e.stage for e in events if isinstance(e, AnsweredBack) and not e.right]
    return tuple(dict.fromkeys(stage_title(state, stage) or "closing" for stage in wrong))


def remember_missed(known: Learned, missed: Sequence[str], joint: str) -> None:
    """Add what was missed at a joint to what is kept of a person."""
    if missed:
        now = utc_text(utc_now())
        more = tuple(Missed(what=what, joint=joint, utc=now) for what in missed)
        keep(known.model_copy(update={"missed": (*known.missed, *more)}))


def reminder(name: str, language: str, *, apprentice: bool) -> str:
    """What a person is told before work who let it be kept: the forms that are heard better, what was missed."""
    known = learned_by(name)
    if known is None:
        return ""
    words = practice_words(language)
    parts = [words.remember(known.better[:FORMS])] if known.better else []
    if apprentice and known.unseen:
        missed = tuple(dict.fromkeys(each.what for each in known.unseen))
        parts.append(words.last_time(missed[-FORMS:]))
    return " ".join(parts)


def known_person(name: str) -> Learned:
    """What is kept of a person.

    Raises:
        BadSettings: nothing is.
    """
    known = learned_by(name)
    if known is None:
        raise BadSettings(
            f"nothing is kept of {name!r} here", remedy="`assistant practise --voice --keep NAME` begins it"
        )
    return known
