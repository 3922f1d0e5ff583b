"""Whether an utterance that was not sure was meant for the assistant: only then is anything said about it. Pure.

A person at a wrench says an answer by itself: a pause, a few words, a pause. What stands in running talk, or lasts much
longer than its words take, was said to somebody else. A word that nobody waits for, and that one listener alone made
out or none for sure, is noise more often than not: it is answered where it is as loud over the noise as the answers
were that were understood. What was accepted counts whoever said it, and so do 'stop' and calls for help.
"""

from __future__ import annotations

from assistant.events import SAMPLE_RATE_HZ, Alternative, UtteranceHeard
from assistant.procedure import answers
from assistant.procedure.evolve import RUNNING_ON_S
from assistant.procedure.state import State

TALK_S = 2.0
"""Speech of so long that was for nobody is talk; most answers take less (our own choice)."""
LONGEST_S, LONGEST_WORD_S, SHORTEST_S = 0.8, 0.8, 0.12
"""An utterance of n words takes LONGEST_S + n * LONGEST_WORD_S at most, and SHORTEST_S at least (our own choice)."""
CLEAR_SNR_DB = 15.0
"""Over the noise: so loud is somebody who speaks to us from near (our own choice)."""
FAINTER_DB = 6.0
"""Who is no fainter than this, against the answers that were understood, may be the same person (our own choice)."""
SOON_S = 8
"""What begins so soon behind a prompt was probably meant for us (our own choice)."""
LEAST_ALONE = 0.5
"""Probability of what one listener alone made out and nobody waits for, to be answered (our own choice)."""


def in_talk(state: State, heard: UtteranceHeard) -> bool:
    """Whether it goes on from speech that was for nobody here."""
    since_s = (heard.start_sample - state.talk_to) / SAMPLE_RATE_HZ
    talked_s = (state.talk_to - state.talk_from) / SAMPLE_RATE_HZ
    return talked_s >= TALK_S and 0 <= since_s <= RUNNING_ON_S


def soon(state: State, heard: UtteranceHeard) -> bool:
    """Whether it begins soon behind a prompt."""
    return 0 <= heard.start_sample - state.prompt_end <= SOON_S * SAMPLE_RATE_HZ


def to_us(state: State, heard: UtteranceHeard, best: Alternative) -> bool:
    """Whether something may be said about it, though it was not sure."""
    if heard.typed or heard.while_speaking:
        return True
    if in_talk(state, heard) or not _takes_as_long(heard, best):
        return False
    alone = len(heard.listeners) > 1 and not heard.agreed
    if not (alone or heard.decision == "reject") or _awaited(state, best):
        return True
    return _near(state, heard) and (not alone or best.probability >= LEAST_ALONE)


def _takes_as_long(heard: UtteranceHeard, best: Alternative) -> bool:
    seconds = (heard.end_sample - heard.start_sample) / SAMPLE_RATE_HZ
    words = len(best.text.replace("-", " ").split()) if best.kind != "note" else len(heard.free_text.split())
    figures = sum(c.isdigit() for c in best.text)  # a listener may write '182' for four words or more
    return not seconds or SHORTEST_S <= seconds <= LONGEST_S + LONGEST_WORD_S * (words + figures)


def _awaited(state: State, best: Alternative) -> bool:
    """Whether it would be an answer to what is asked or due."""
    if state.dialogue != "guiding":
        return True
    if best.value is not None:
        return answers.possible(state, best)
    if state.question is not None:
        return best.command in (state.question.phrase, *state.question.refused, "yes", "no", "not yet")
    return answers.would_count(state, best)


def _near(state: State, heard: UtteranceHeard) -> bool:
    if heard.snr_db is None:
        return soon(state, heard)
    usual = CLEAR_SNR_DB if state.usual_snr_db is None else state.usual_snr_db - FAINTER_DB
    return not heard.clipped and heard.snr_db >= min(CLEAR_SNR_DB, usual)
