"""Whether something that was heard was meant for us. Pure functions over a state and an utterance.

A person at a wrench says an answer by itself: a pause, a few words, a pause, as near to the microphone as always. What
stands in running talk, lasts much longer than its words take, or is fainter than answers are, was said to somebody
else, or was none. What was accepted counts whoever said it, and so do 'stop' and calls for help; but where all that
would come of it is an explanation ("this wrench has no click"), only who speaks to us gets one.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.events import (
    SAMPLE_RATE_HZ,
    Alternative,
    Event,
    NotUnderstood,
    OtherBoltNamed,
    QuestionRefused,
    ReadingImpossible,
    Told,
    UtteranceHeard,
)
from assistant.procedure import answers
from assistant.procedure.commands import INFORMATION
from assistant.procedure.evolve import RUNNING_ON_S
from assistant.procedure.state import State

TALK_S = 2.0
"""Speech of so long that was for nobody is talk; most answers take less (our own choice)."""
LONGEST_S, LONGEST_WORD_S, SHORTEST_WORD_S = 0.8, 0.8, 0.12
"""n words take LONGEST_S + n * LONGEST_WORD_S at most, n * SHORTEST_WORD_S at least (our own choice)."""
ANSWER_S = (0.2, 4.0)
"""How long an answer takes of which no words are sure (our own choice)."""
CLEAR_SNR_DB = 15.0
"""Over the noise: so loud is somebody who speaks to us from near (our own choice)."""
FAINTER_DB = 6.0
"""Who is no fainter than this, against the answers that were understood, may be the same person (our own choice)."""
FAINT_DB = 10.0
"""By how much fainter somebody else is, at least, who is heard across the room (our own choice)."""
FIRST_SNR_DB = 8.0
"""The same before any answer was understood, for what follows a prompt soon. Answers at 10 dB were measured as 10.5 to
15 dB over the noise (238 of a live run), far talk mostly below 8."""
LEAST_SNR_DB = 3.0
"""Fainter than this, before any answer was understood, not even what was understood was said to us (our own choice)."""
SOON_S = 8
"""What begins so soon behind a prompt was probably meant for us (our own choice)."""
REPEATED_S = 12
"""Who is not answered says it again so soon (our own choice)."""
LEAST_ALONE = LEAST_UNAWAITED = 0.5
"""Probability from which what one listener alone made out, or what nobody waits for, is answered (our own choice)."""
LONGEST_WORDS = 8
"""No answer has more words (our own choice; a value with its bolt and unit has as many)."""
LEAST_NOTE = 0.85
"""The same of a note: all that one listener takes for its opening words would be kept (our own choice)."""
SETTLING = ("asking", "choosing")
"""States in which a read-back is open: what one listener alone made out is its answer only while it is fresh."""
AGAIN = frozenset({"say-resume", "not-sure"})
"""What is told of a word that was likely heard and has to be sure."""
_REFUSALS = NotUnderstood | OtherBoltNamed | QuestionRefused | ReadingImpossible
_CONFIRMING = ("yes", "no", "correction", "go back")


def to_us(state: State, heard: UtteranceHeard, best: Alternative) -> bool:
    """Whether something may be said about it, though it was not sure."""
    if heard.typed or heard.while_speaking:
        return True
    if in_talk(state, heard) or not _takes_as_long(heard, best):
        return False
    alone = len(heard.listeners) > 1 and not heard.agreed
    if best.kind == "note" and alone and best.probability < LEAST_NOTE:
        return False
    awaited = _awaited(state, best)
    now = state.dialogue not in SETTLING or soon(state, heard)
    surely = not alone or (now and best.probability >= LEAST_ALONE and _loud_enough(state, heard))
    if heard.decision != "reject" and awaited and surely:
        return True
    if not near(state, heard):
        return False
    clear = heard.snr_db is not None and heard.snr_db >= CLEAR_SNR_DB
    likely = clear or soon(state, heard) or said_again(state, heard)
    if heard.decision == "reject":
        return likely
    return awaited or (best.probability >= LEAST_UNAWAITED and (likely or not alone))


def may_explain(state: State, heard: UtteranceHeard) -> bool:
    """Whether whoever said something that was understood is told why it leads nowhere, or what was asked."""
    if heard.typed or heard.while_speaking:
        return True
    if in_talk(state, heard) or not heard.alternatives or not _takes_as_long(heard, heard.alternatives[0]):
        return False
    return _loud_enough(state, heard)


def only_explains(events: Sequence[Event]) -> bool:
    """Whether nothing comes of an utterance but words about it: an answer to a question, or why it leads nowhere."""
    return bool(events) and all(isinstance(event, _REFUSALS | Told) for event in events)


def refuses(events: Sequence[Event]) -> bool:
    """The same without answers to questions, and without the word that is asked for once more."""
    answered = (e.what in INFORMATION or e.what in AGAIN for e in events if isinstance(e, Told))
    return only_explains(events) and not any(answered)


def in_talk(state: State, heard: UtteranceHeard) -> bool:
    """Whether it goes on from speech that was for nobody here."""
    since_s = (heard.start_sample - state.talk_to) / SAMPLE_RATE_HZ
    talked_s = (state.talk_to - state.talk_from) / SAMPLE_RATE_HZ
    return talked_s >= TALK_S and 0 <= since_s <= RUNNING_ON_S


def soon(state: State, heard: UtteranceHeard) -> bool:
    """Whether it begins soon behind a prompt."""
    return 0 <= heard.start_sample - state.prompt_end <= SOON_S * SAMPLE_RATE_HZ


def said_again(state: State, heard: UtteranceHeard) -> bool:
    """Whether it follows something that was not understood as a repetition does: after a pause, and not much later."""
    since_s = (heard.start_sample - state.talk_to) / SAMPLE_RATE_HZ
    return bool(state.talk_to) and RUNNING_ON_S < since_s <= REPEATED_S


def near(state: State, heard: UtteranceHeard) -> bool:
    """Whether it is as loud over the noise as the answers that were understood; before there were any, clear speech, or
    what follows a prompt.
    """
    if heard.snr_db is None:
        return soon(state, heard)
    if state.usual_snr_db is None:
        least = FIRST_SNR_DB if soon(state, heard) else CLEAR_SNR_DB
    else:
        least = min(CLEAR_SNR_DB, state.usual_snr_db - FAINTER_DB)
    return not heard.clipped and heard.snr_db >= least


def faint(state: State, heard: UtteranceHeard) -> bool:
    """Whether it is so much fainter than the answers on record that somebody else may have said it: then even what
    was surely understood is asked about.
    """
    if heard.typed or heard.while_speaking or heard.snr_db is None:
        return False
    if state.usual_snr_db is None:
        return not _loud_enough(state, heard)
    return heard.snr_db < min(CLEAR_SNR_DB, state.usual_snr_db - FAINT_DB)


def _loud_enough(state: State, heard: UtteranceHeard) -> bool:
    """Whether it can be who answered before; the bar for what was understood is lower than for what was not."""
    if heard.snr_db is None:
        return True
    if state.usual_snr_db is None:
        return heard.snr_db >= (LEAST_SNR_DB if soon(state, heard) else FIRST_SNR_DB)
    return heard.snr_db >= min(CLEAR_SNR_DB, state.usual_snr_db - FAINTER_DB)


def like_an_answer(heard: UtteranceHeard) -> bool:
    """Whether it lasts as long as answers do, and has no more words."""
    return ANSWER_S[0] <= _seconds(heard) <= ANSWER_S[1] and len(heard.free_text.split()) <= LONGEST_WORDS


def _seconds(heard: UtteranceHeard) -> float:
    return (heard.end_sample - heard.start_sample) / SAMPLE_RATE_HZ


def _takes_as_long(heard: UtteranceHeard, best: Alternative) -> bool:
    seconds = _seconds(heard)
    words = len(best.text.replace("-", " ").split()) if best.kind != "note" else len(heard.free_text.split())
    figures = sum(c.isdigit() for c in best.text)  # a listener may write '182' for four words or more
    least_s = SHORTEST_WORD_S * (1 if best.kind == "note" else words)
    return not seconds or least_s <= seconds <= LONGEST_S + LONGEST_WORD_S * (words + figures)


def _awaited(state: State, best: Alternative) -> bool:
    """Whether it would be an answer to what is asked or due."""
    if best.kind == "note":
        return False
    if state.dialogue in SETTLING:
        return _settles(state, best)
    if state.dialogue != "guiding" or best.command == "correction":  # which is in place whatever is due
        return True
    if best.value is not None:
        return answers.possible(state, best)
    if state.question is not None:
        return best.command in (state.question.phrase, *state.question.refused, "yes", *answers.FAILING)
    return answers.would_count(state, best)


def _settles(state: State, best: Alternative) -> bool:
    """Whether it answers a read-back, or chooses."""
    if best.value is not None:
        return state.dialogue == "choosing" or answers.possible(state, best)
    question = () if state.question is None else (state.question.phrase, *state.question.refused, *answers.FAILING)
    asked = () if state.pending is None else (state.pending.heard.command,)
    return best.command in (*_CONFIRMING, *question, *asked)
