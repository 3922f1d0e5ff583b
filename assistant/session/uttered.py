"""What was heard, as the event that the journal keeps."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.events import UtteranceHeard
from assistant.session.hearing import alternative
from assistant.speech.heard import Heard
from assistant.speech.utterance import Utterance

CLIPPED_SHARE = 0.02
"""Above this share of full-scale samples an utterance counts as overdriven."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Where the sound of an utterance is kept.

    Args:
        name: of the utterance in the record; "" for one that is only foreseen.
        sha256: of its file; None where there is none.
    """

    name: str = ""
    sha256: str | None = None


FORESEEN = Kept()


def uttered(
    utterance: Utterance, heard: Heard, kept: Kept, *, base: int, state: str, while_speaking: bool
) -> UtteranceHeard:
    """The event of an utterance that was spoken.

    Args:
        base: sample of the session at which the microphone began.
        state: dialogue state in which it was heard.
        while_speaking: the assistant spoke when it began.
    """
    return _event(
        heard,
        kept,
        start=base + utterance.speech_start,
        end=base + utterance.speech_end,
        state=state,
        whole=utterance.believable,
        snr_db=None if utterance.snr_db is None else round(utterance.snr_db, 1),
        clipped=utterance.clipped > CLIPPED_SHARE,
        while_speaking=while_speaking,
    )


def typed_in(heard: Heard, kept: Kept, *, at_sample: int, state: str) -> UtteranceHeard:
    """The event of a typed line."""
    return _event(heard, kept, start=at_sample, end=at_sample, state=state)


def _event(
    heard: Heard,
    kept: Kept,
    *,
    start: int,
    end: int,
    state: str,
    whole: bool = True,
    snr_db: float | None = None,
    clipped: bool = False,
    while_speaking: bool = False,
) -> UtteranceHeard:
    decision, accept_at = heard.decision, heard.accept_at
    if not whole:  # words may be missing: never believed without a question
        decision, accept_at = "ask" if decision == "accept" else decision, 1.0
    return UtteranceHeard(
        utterance=kept.name,
        start_sample=start,
        end_sample=end,
        audio_sha256=kept.sha256,
        alternatives=tuple(alternative(r) for r in heard.ranked),
        fit=heard.fit,
        free_text=heard.free_text,
        listeners=dict(heard.by_listener),
        agreed=heard.agreed,
        decision=decision,
        accept_at=accept_at,
        state=state,
        snr_db=snr_db,
        clipped=clipped,
        while_speaking=while_speaking,
    )
