"""How the loop treats sound around its own prompts, and the timing that it keeps of each answer."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Timing of one answered utterance, for the budgets.

    Args:
        utterance: its name.
        end_sample: last sample of speech by the endpointer.
        reply_ms: from there to the first sound of the reply, on the sample clock plus what was computed meanwhile.
    """

    utterance: str
    end_sample: int
    reply_ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How the loop treats sound around its own prompts.

    Args:
        headset: the microphone does not hear the speaker: 'stop' counts while a prompt sounds.
        tail_ms: after a prompt the microphone stays closed for its echo.
        real_time: the microphone and the speaker share a running clock; otherwise computing time is added to the
            sample clock when replies are timed.
        keeps: "all" sound of people; or only "doubtful": what was asked about, refused or corrected, so that what was
            taken at once leaves no voice behind.
    """

    headset: bool = False
    tail_ms: int = 160
    real_time: bool = True
    keeps: str = "all"
