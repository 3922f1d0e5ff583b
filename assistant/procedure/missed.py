"""What is not understood: when it counts, and how the way of asking changes after failures in a row."""

from __future__ import annotations

from assistant.events import (
    Alternative,
    ChoiceOffered,
    ConfirmationDoubted,
    Event,
    FiguresAsked,
    HelperAsked,
    NotUnderstood,
    Question,
    ReadingDoubted,
    ReadingImpossible,
    ReadingTakenBack,
    UtteranceHeard,
)
from assistant.procedure import answers, commands
from assistant.procedure.addressed import CLEAR_SNR_DB, in_talk, soon, to_us
from assistant.procedure.answers import Answer
from assistant.procedure.evolve_steps import REPAIRING
from assistant.procedure.state import State
from assistant.procedure.table import ANSWERING

LISTEN_AGAIN = 0.3
"""A rejected utterance whose best meaning is at least this likely was probably meant for us: it counts as a miss."""
ASK_FIGURES, OFFER_CHOICE, ASK_HELPER = REPAIRING, 4, 5
"""Failures in a row after which the way of asking changes."""
ASK_HELPER_MOVED = 8
"""The same where no figures are asked for: whether a nut moved."""


def missed(state: State, heard: UtteranceHeard, best: Alternative | None) -> tuple[Event, ...]:
    """Noise and talk stay unanswered; what was probably meant for us counts, and from the second time is asked for.

    Args:
        state: before the utterance.
        heard: an utterance that was rejected, or in which nothing was found.
        best: its likeliest meaning, None where there is none.
    """
    if best is None or heard.clipped or (_heard_by_one(heard) and not (soon(state, heard) and state.misses <= 1)):
        return unfitting(state, heard)
    if not to_us(state, heard, best):
        return unfitting(state, heard)
    if state.dialogue == "asking" and best.command == "yes" and best.probability >= LISTEN_AGAIN:
        return (ConfirmationDoubted(heard=best, utterance=heard.utterance),)
    question = state.question
    meant_as_answer = question is not None and best.command in (question.phrase, *question.refused)
    alike = heard.agreed and len(heard.listeners) > 1  # two ears made the same of it: seldom noise
    if alike and state.misses > 0 and best.value is None and best.kind != "note":
        return commands.ask_first(state, Answer(heard=best, other=None, decision="ask", utterance=heard.utterance))
    if best.probability < LISTEN_AGAIN and not meant_as_answer and not alike:
        return unfitting(state, heard)
    aloud = state.misses > 0 or state.dialogue != "guiding" or alike
    return (NotUnderstood(utterance=heard.utterance, aloud=aloud),)


def is_typed(heard: UtteranceHeard) -> bool:
    """Whether it was typed: there is no noise to be silent about."""
    return "typed" in heard.listeners


def unfitting(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """The answer to clear speech that fits nothing: once for each thing that is due, so that talk costs one reply.

    What was typed is always answered. Speech is, when it is loud over the noise, has words, begins soon behind a prompt
    and is no running talk. Words that tell of trouble are asked about.
    """
    if is_typed(heard):
        return _trouble(state, heard) or (NotUnderstood(utterance=heard.utterance, aloud=True),)
    loud = heard.snr_db is not None and heard.snr_db >= CLEAR_SNR_DB and not heard.clipped
    if not (loud and soon(state, heard) and heard.free_text.strip() and state.misses == 0):
        return ()
    if told := _trouble(state, heard):
        return told
    return () if in_talk(state, heard) else (NotUnderstood(utterance=heard.utterance, aloud=True),)


def _heard_by_one(heard: UtteranceHeard) -> bool:
    """Only one of several listeners found anything. In noise and talk that is the rule, so it is answered only soon
    behind a prompt and twice at most: each answer is a prompt of its own, behind which the next noise would be soon.
    """
    return len(heard.listeners) > 1 and sum(map(bool, heard.listeners.values())) == 1


_TELLING: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("somebody is hurt", ("hurt", "injured", "injury", "bleeding", "accident")),
    ("alarm", ("fire", "evacuate", "alarm", "siren")),
    ("bolt broke", ("broke", "snapped", "sheared", "broken")),
    ("wrench dropped", ("dropped",)),
    ("thread damaged", ("stripped", "galled", "seized")),
    ("nut turns free", ("spins", "spinning")),
    ("socket slipped", ("slipped", "slips")),
    ("there is a leak", ("leak", "leaks", "leaking")),
)


_DENYING = frozenset("no not isn't aren't wasn't don't doesn't can't cannot missing without never".split())
"""Words that make an answer to a check or hold point a no: 'it is not isolated', 'the permit is missing'."""


def _trouble(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """A question about trouble, or a no, of which a word was made out, where questions can be asked."""
    words = {word.strip(".,!?").casefold() for word in heard.free_text.split()}
    told = next((name for name, telling in _TELLING if words & set(telling)), None)
    if told is None and state.question is not None and state.dialogue == "guiding" and words & _DENYING:
        told = "no"
    if told is None or state.dialogue not in ANSWERING:
        return ()
    asked = Alternative(kind="command", text=told, command=told, probability=0.5)
    return (ReadingDoubted(bolt=None, heard=asked, other=None, utterance=heard.utterance),)


def escalate(after: State, events: tuple[Event, ...], heard: UtteranceHeard) -> tuple[Event, ...]:
    """After repeated failures the way of asking changes: figures, then two choices, then a helper.

    Args:
        after: the state after `events`.
        events: what the utterance led to so far.
        heard: the utterance.
    """
    if after.dialogue not in ANSWERING:
        return ()
    failed = any(isinstance(e, ReadingImpossible | NotUnderstood | ReadingTakenBack | ReadingDoubted) for e in events)
    if after.question is not None and failed:
        return _escalate_question(after, after.question, heard)
    if after.measurement is not None and failed:
        return _escalate_measurement(after, events, heard)
    if not failed or after.current_pass is None or after.current_pass.kind == "snug":
        return ()
    if after.current_pass.goes_round and not any(a.value is not None for a in heard.alternatives[:1]):
        enough = after.misses >= ASK_HELPER_MOVED and after.dialogue != "helper"
        return (HelperAsked(utterance=heard.utterance),) if enough else ()  # figures are no help for 'it moved'
    if after.misses >= ASK_HELPER and after.dialogue != "helper":
        return (HelperAsked(utterance=heard.utterance),)
    if after.misses == OFFER_CHOICE:
        readings = tuple(a for a in heard.alternatives if answers.possible(after, a))[:2]
        if len(readings) == 2:
            return (ChoiceOffered(choices=readings, utterance=heard.utterance),)
    if after.misses == ASK_FIGURES:
        return (FiguresAsked(utterance=heard.utterance),)
    return ()


def _escalate_measurement(after: State, events: tuple[Event, ...], heard: UtteranceHeard) -> tuple[Event, ...]:
    """A measured figure that is not understood: figure by figure, at once where it was misheard; then a helper.

    No window tells which of two figures is likely, so what was misheard once is misheard again.
    """
    if after.misses >= ASK_HELPER_MOVED and after.dialogue != "helper":
        return (HelperAsked(utterance=heard.utterance),)
    misheard = any(isinstance(event, ReadingTakenBack) for event in events)
    if (misheard or after.misses >= ASK_FIGURES) and after.dialogue == "guiding":
        return (FiguresAsked(utterance=heard.utterance),)
    return ()


def _escalate_question(after: State, question: Question, heard: UtteranceHeard) -> tuple[Event, ...]:
    """A phrase that is not understood: a check may be answered by yes to its own words, a hold point may not."""
    if after.misses >= ASK_HELPER_MOVED and after.dialogue != "helper":
        return (HelperAsked(utterance=heard.utterance),)
    if after.misses >= ASK_FIGURES and after.dialogue == "guiding" and not question.hold:
        asked = Alternative(kind="command", text=question.phrase, command=question.phrase, probability=0.5)
        return (ReadingDoubted(bolt=None, heard=asked, other=None, utterance=heard.utterance),)
    return ()
