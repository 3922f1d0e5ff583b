"""'Can you hear me?': a spoken sentence, two spoken numbers, and what both tell of level, noise, echo and hearing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from assistant.events import SAMPLE_RATE_HZ
from assistant.ports import Activity, Block, Canceller, KnownSound, Lost, Microphone, Notice, Samples, Speaker, Typed
from assistant.session.echo_level import LATEST_ECHO_S, echo_of
from assistant.session.hearing import Hearing, alternative
from assistant.session.sound_watch import why_unheard
from assistant.speech.endpoint import Endpointer
from assistant.speech.utterance import SpeechEnded, Utterance
from assistant.speech.vocabulary import everything

SAID = 12
"""What is to be said, as a number: 'one two'."""
NOISE_S, ANSWER_S = 1.0, 8.0

ADVICE = {
    "no-sound": "The microphone gives no sound at all: it is muted, or another one is meant.",
    "nobody-spoke": "Nobody was heard: speak after the sentence, or turn the microphone up.",
    "hardly-heard": "I can hardly hear you: turn the microphone up, or bring it closer.",
    "overdriven": "Too loud for the microphone: turn it down, or move it away.",
    "too-noisy": "Too noisy here: bring the microphone right to the mouth, or take a headset that closes out noise.",
    "misheard": "You were heard, and not understood: speak right at the microphone, and try again.",
    "hears-itself": "The microphone hears the loudspeaker, though the settings say headset: write headset = false.",
    "speaker-unheard": "The microphone did not hear the loudspeaker: with a headset write headset = true in the"
    " settings, else it is muted or turned down.",
    "good": "All is well.",
}
"""What to change, by what was found; the first that applies."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundTest:
    """What a sound test found.

    Args:
        noise_dbfs: before anybody spoke.
        level_dbfs, snr_db, clipped: of the answer; None where there was none.
        echo_dbfs, echo_ms: of the loudspeaker in the microphone; None where it was not heard.
        heard: what was understood.
        found: a key of ADVICE.
        at_sample: up to which the microphone was read.
    """

    noise_dbfs: float
    level_dbfs: float | None
    snr_db: float | None
    clipped: float | None
    echo_dbfs: float | None
    echo_ms: int | None
    heard: str
    found: str
    at_sample: int

    @property
    def lines(self) -> Sequence[tuple[str, str]]:
        """Name and figure of each, for people."""
        spoke = self.level_dbfs is not None
        over = "" if self.snr_db is None else f", {self.snr_db:.0f} dB over it"
        echo = self.echo_dbfs is not None
        return (
            ("noise", f"{self.noise_dbfs:.0f} dBFS"),
            ("speech", f"{self.level_dbfs:.0f} dBFS{over}" if spoke else "none"),
            ("loudspeaker", f"heard at {self.echo_dbfs:.0f} dBFS, {self.echo_ms} ms late" if echo else "not heard"),
            ("understood", self.heard or "nothing"),
        )


def sound_test(
    microphone: Microphone,
    speaker: Speaker,
    hearing: Hearing,
    activity: Activity,
    *,
    sentence: str,
    headset: bool,
    canceller: Canceller | None = None,
    at_sample: int = 0,
) -> SoundTest:
    """Say a sentence, listen to two numbers, and reckon.

    Args:
        microphone, speaker: on one running clock.
        sentence: that asks for 'one two'.
        headset: what the settings say.
        canceller: of the session that follows; it learns the way through the room.
        at_sample: up to which the microphone was read before.
    """
    room = _Room(microphone, at_sample)
    quiet = room.listen(lambda: room.taken < NOISE_S * SAMPLE_RATE_HZ)
    with ThreadPoolExecutor(max_workers=1) as voice:
        speaking = voice.submit(speaker.say, sentence, room.at)
        under = room.listen(lambda: not speaking.done())
        speaking.result()
    tail = room.listen(lambda: room.taken < LATEST_ECHO_S * SAMPLE_RATE_HZ)
    begun = room.at - len(under) - len(tail)
    near = np.concatenate([under, tail])
    echo = echo_of(near, speaker.playing(begun, len(near))) if isinstance(speaker, KnownSound) else None
    if canceller is not None and isinstance(speaker, KnownSound) and not headset:
        whole = len(near) // canceller.step * canceller.step
        canceller.take(near[:whole], speaker.playing(begun, whole))
        canceller.drop()
    said = _answer(room, activity)
    text, number = "", None
    if said is not None:
        heard = hearing.listen(said.samples, everything()).heard
        best = alternative(heard.ranked[0]) if heard.ranked and heard.decision != "reject" else None
        text, number = (best.text, best.value) if best is not None else (heard.free_text, None)
    return SoundTest(
        noise_dbfs=_dbfs(quiet),
        level_dbfs=None if said is None else said.level_dbfs,
        snr_db=None if said is None else said.snr_db,
        clipped=None if said is None else said.clipped,
        echo_dbfs=None if echo is None else echo[0],
        echo_ms=None if echo is None else echo[1],
        heard=text,
        found=_found(room, said, understood=number == SAID, echo=echo is not None, headset=headset),
        at_sample=room.at,
    )


def _found(room: _Room, said: Utterance | None, *, understood: bool, echo: bool, headset: bool) -> str:
    if room.only_zeros:
        return "no-sound"
    if said is None:
        return "nobody-spoke"
    unheard = why_unheard(said.level_dbfs, said.snr_db, said.clipped)
    if unheard:
        return unheard
    if not understood:
        return "misheard"
    if headset == echo:
        return "hears-itself" if headset else "speaker-unheard"
    return "good"


class _Room:
    """The microphone as one stretch of sound after the other."""

    def __init__(self, microphone: Microphone, at_sample: int) -> None:
        self._microphone = microphone
        self.at, self.taken = at_sample, 0
        self.only_zeros, self.over = True, False

    def listen(self, go_on: Callable[[], bool]) -> Samples:
        """What comes while `go_on` holds; what was lost is zeros."""
        pieces: list[Samples] = [np.zeros(0, np.int16)]
        self.taken = 0
        while go_on() and not self.over:
            pieces.append(self.next())
            self.taken += len(pieces[-1])
        return np.concatenate(pieces)

    def next(self) -> Samples:
        """The next sound; none at the end."""
        piece = self._microphone.read()
        if piece is None or isinstance(piece, Typed):
            self.over = True
            return np.zeros(0, np.int16)
        samples = np.zeros(piece.samples, np.int16) if isinstance(piece, Lost | Notice) else piece.samples
        self.at = piece.at_sample + len(samples)
        self.only_zeros = self.only_zeros and not (isinstance(piece, Block) and samples.any())
        return samples


def _answer(room: _Room, activity: Activity) -> Utterance | None:
    endpointer = Endpointer(activity, at_sample=room.at)
    until = room.at + ANSWER_S * SAMPLE_RATE_HZ
    while room.at < until and not room.over:
        for event in endpointer.feed(room.next()):
            if isinstance(event, SpeechEnded):
                return event.utterance
    return next((e.utterance for e in endpointer.finish() if isinstance(e, SpeechEnded)), None)


def _dbfs(samples: Samples) -> float:
    rms = float(np.sqrt(np.mean(samples.astype(np.float64) ** 2))) if len(samples) else 0.0
    return float(20 * np.log10(max(rms / 32768, 10**-4.5)))
