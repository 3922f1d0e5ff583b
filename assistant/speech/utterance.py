"""What the endpointer hands on: one stretch of speech with its figures, and the events around it. Plain records."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

OVER_TALK_DB = 6.0  # speech less above other talk than this is asked about, never accepted at once
FULL_SCALE = 32_700  # int16 amplitude from which a sample counts as clipped


@dataclass(frozen=True, slots=True)
class Frame:
    """A stretch of sound as judged: int16 samples, number of the first, speech probability, level in dBFS."""

    samples: npt.NDArray[np.int16]
    at_sample: int
    probability: float
    level_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Utterance:
    """One stretch of speech.

    Args:
        samples: int16, shape (n,), mono, 16 000 Hz, as it came from the microphone, with some sound before and after
            the speech.
        at_sample: number of its first sample.
        speech_start, speech_end: numbers of the first sample with speech and the one after the last.
        snr_db: speech level over the background before and inside it, dB, -10..60; None when no background was heard
            yet.
        level_dbfs: level of its speech frames against full scale, dB.
        clipped: share of its samples at full scale, 0..1.
        cut: ended by its length or a gap, not by silence: words may be missing at the end.
        continued: began right where a cut one ended: words may be missing at the beginning.
        holed: sound was lost inside: words may be missing in the middle.
        from_gate: was under way when listening began again: words may be missing at the beginning.
        over_talk: other people talked all the while: whose words these are, and where they end, is less sure.
    """

    samples: npt.NDArray[np.int16]
    at_sample: int
    speech_start: int
    speech_end: int
    snr_db: float | None
    level_dbfs: float
    clipped: float
    cut: bool
    continued: bool
    holed: bool
    from_gate: bool
    over_talk: bool = False

    @property
    def whole(self) -> bool:
        """No words can be missing: only then may a value in it be believed."""
        return not (self.cut or self.continued or self.holed or self.from_gate)

    @property
    def believable(self) -> bool:
        """Whole, and not half drowned in other people's talk, where the last syllable may be cut unnoticed."""
        drowned = self.over_talk and (self.snr_db is None or self.snr_db < OVER_TALK_DB)
        return self.whole and not drowned


@dataclass(frozen=True, slots=True)
class SpeechBegan:
    """Somebody speaks, since `at_sample`."""

    at_sample: int


@dataclass(frozen=True, slots=True)
class SpeechPaused:
    """A short silence: the utterance so far, for reading ahead. It ends, or `SpeechResumed` follows."""

    utterance: Utterance


@dataclass(frozen=True, slots=True)
class SpeechResumed:
    """The speaker went on at `at_sample`: what was read ahead is void."""

    at_sample: int


@dataclass(frozen=True, slots=True)
class SpeechEnded:
    """The utterance is over."""

    utterance: Utterance


@dataclass(frozen=True, slots=True)
class InputDead:
    """The sound has been nothing but zeros for a while, up to `at_sample`: muted, or dead."""

    at_sample: int


def assemble(
    frames: Sequence[Frame],
    *,
    speech: tuple[int, int],
    background_db: float | None,
    cut: bool,
    continued: bool,
    holed: bool,
    from_gate: bool,
    over_talk: bool,
) -> Utterance:
    """Join frames into an utterance; `speech` are the indexes of the first frame with speech and past the last."""
    samples = np.concatenate([frame.samples for frame in frames])
    first, past = speech
    spoken = frames[first:past]
    level_db = _mean_db(
        [frame.level_db for frame in spoken if frame.probability >= 0.5] or [frame.level_db for frame in spoken]
    )
    last = spoken[-1]
    return Utterance(
        samples=samples,
        at_sample=frames[0].at_sample,
        speech_start=spoken[0].at_sample,
        speech_end=last.at_sample + len(last.samples),
        snr_db=_snr_db(level_db, background_db),
        level_dbfs=level_db,
        clipped=float(np.mean(np.abs(samples.astype(np.int32)) >= FULL_SCALE)),
        cut=cut,
        continued=continued,
        holed=holed,
        from_gate=from_gate,
        over_talk=over_talk,
    )


def _mean_db(levels_db: Sequence[float]) -> float:
    return 10 * math.log10(sum(10 ** (level / 10) for level in levels_db) / len(levels_db))


def _snr_db(level_db: float, background_db: float | None) -> float | None:
    """Speech alone over background, both as heard: the background is in the speech frames too and is taken off."""
    if background_db is None:
        return None
    speech = 10 ** (level_db / 10) - 10 ** (background_db / 10)
    if speech <= 0:
        return -10.0
    return max(-10.0, min(60.0, 10 * math.log10(speech) - background_db))
