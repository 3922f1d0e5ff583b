"""The session itself, and everything heard and said in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar

from assistant.events.records import Alternative, EventBase


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionOpened(EventBase):
    """A new session began on a joint."""

    kind: ClassVar[str] = "session-opened"
    joint: str
    joint_sha256: str
    plan_sha256: str
    product: str
    listeners: tuple[str, ...]
    speaker: str
    settings: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionResumed(EventBase):
    """An unfinished session was opened again, at the item where it stopped."""

    kind: ClassVar[str] = "session-resumed"
    product: str
    listeners: tuple[str, ...]
    speaker: str
    torn_bytes: int = 0  # bytes of a half-written last line that were set aside


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLeft(EventBase):
    """The session ended before the joint was finished; it can be resumed."""

    kind: ClassVar[str] = "session-left"
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionClosed(EventBase):
    """Every item is done and the closing phrase was spoken; nothing follows but the seal."""

    kind: ClassVar[str] = "session-closed"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UtteranceHeard(EventBase):
    """One stretch of speech (or noise), kept with its audio whatever came of it."""

    kind: ClassVar[str] = "utterance-heard"
    utterance: str  # "0007", also the name of its audio file
    start_sample: int
    end_sample: int
    audio_sha256: str | None  # of audio/NNNN.flac; None when it was typed, or when its sound was not to be kept
    alternatives: tuple[Alternative, ...]  # best first; empty when nothing in the grammar fits
    fit: float | None  # log-likelihood of the best in-grammar reading minus that of free wording
    free_text: str  # what free wording would make of it
    listeners: dict[str, str]  # listener -> its own best text
    agreed: bool  # all listeners present read the same meaning
    decision: str  # accept | ask | reject, by the calibrated thresholds alone
    accept_at: float  # probability from which it would have been accepted; 1 where it is asked however likely it is
    state: str = ""  # dialogue state it was heard in
    snr_db: float | None = None  # estimated, over the steady noise
    clipped: bool = False
    while_speaking: bool = False  # begun while the assistant itself spoke (headset only)

    @property
    def typed(self) -> bool:
        """Whether it was typed, or believed though no listener heard it.

        Missing sound alone does not mean typed: people may speak off the record, and then talk that was not understood
        is kept without its words.
        """
        return self.nobody_heard and ("typed" in self.listeners or self.decision != "reject")

    @property
    def nobody_heard(self) -> bool:
        """Whether there is neither sound nor a listener's text of it."""
        return self.audio_sha256 is None and (not self.listeners or "typed" in self.listeners)


@dataclass(frozen=True, slots=True, kw_only=True)
class PromptSpoken(EventBase):
    """Something was said to the person; written when its last sample left."""

    kind: ClassVar[str] = "prompt-spoken"
    version: ClassVar[int] = 2
    text: str
    start_sample: int
    end_sample: int
    cut_short: bool = False  # on purpose: somebody spoke
    whole: bool | None = True  # False: broken by the machine each time; None: not looked at (version 1)
    times: int = 1  # said again where it was broken


@dataclass(frozen=True, slots=True, kw_only=True)
class OffTheRecord(EventBase):
    """Somebody asked that no sound is kept; entries are made as ever, by their words alone."""

    kind: ClassVar[str] = "off-the-record"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTheRecord(EventBase):
    """From the next utterance on sound is kept again."""

    kind: ClassVar[str] = "on-the-record"
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockSet(EventBase):
    """The machine's clock was set while it ran, or a wait cannot be counted through the time that it was off."""

    kind: ClassVar[str] = "clock-set"
    seconds: int  # how far, on (above zero) or back; 0 where that is not known
    wait: (
        str  # "" none runs | counted: by the time the machine ran | unsure: part of it passed while the machine was off
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundLost(EventBase):
    """Samples never arrived: queue overrun, microphone gone, dead or muted."""

    kind: ClassVar[str] = "sound-lost"
    reason: str
    at_sample: int
    samples: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleFound(EventBase):
    """Something about hearing or speaking that the person was told of: a part that failed, or that does badly."""

    kind: ClassVar[str] = "trouble-found"
    what: str  # a key of the catalogues' `equipment`, or one that is not spoken about (speaker-back)
    detail: str  # which part and why, with figures; for the lead, not spoken


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeechAdjusted(EventBase):
    """How the assistant speaks was changed, by the settings at the start or by voice."""

    kind: ClassVar[str] = "speech-adjusted"
    what: str  # a level of talk: brief | normal | full; or of the voice: louder | quieter | slower | faster
    utterance: str = ""  # "" by the settings


ConversationEvent = (
    SessionOpened
    | SessionResumed
    | SessionLeft
    | SessionClosed
    | UtteranceHeard
    | PromptSpoken
    | OffTheRecord
    | OnTheRecord
    | ClockSet
    | SoundLost
    | TroubleFound
    | SpeechAdjusted
)
