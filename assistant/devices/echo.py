"""ports.Canceller: takes our own prompts out of what the microphone hears, so that 'stop' under them can be understood.

What is played is known, so the way from the loudspeaker to the microphone can be learnt and its sound subtracted: an
adaptive filter in blocks, its step a Kalman gain for each frequency (after Enzner and Vary 2006 and Kuech et al. 2014,
from memory). A suppressor would take words away along with the echo; a filter leaves them as they are.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from assistant.ports import Samples

BLOCK = 160  # samples, 10 ms at 16 kHz
PARTS = 32  # blocks that the filter is long: 0.32 s of way and reverberation
FORGETS = 0.9995
"""Share of the way that is the same after a block: people and doors move."""
UNSURE = 0.1  # variance of the way before anything was heard
SMOOTHED = 0.8  # of the power that is no echo, from block to block

REACH = 480
"""Samples by which what is played may be told too early or too late: a prompt's beginning is known to some 20 ms."""
FOUND_OVER = 25
"""Blocks at a prompt's beginning that are held back until it is known how late they are heard."""
FOUND_AGAIN = 40
"""Blocks with sound after which that is looked at again: the clocks of two devices drift apart."""
SILENT = 3  # blocks without sound; with the next one a prompt begins, or goes on after a pause
LEARNT = 50  # blocks of learning until an echo can be foreseen well enough to be found
STANDS_OUT = 6.0  # peak of a correlation over its root mean square

LEFT = 0.15
"""Least share of amplitude that is left where nothing but a rest of the echo is expected."""
_HEARD = 1e-4  # amplitude from which something is played

Floats = npt.NDArray[np.float64]
Spectra = npt.NDArray[np.complex128]


class EchoCanceller:
    """One for a session: what it has learnt of the room serves the next prompt too. Not for several threads at once.

    How much too early or too late a prompt's sound is told, against what was learnt, is found at its beginning: the
    echo that is foreseen is looked for in what is heard. Until then sound is held back.
    """

    step = BLOCK

    def __init__(self) -> None:
        bins = BLOCK + 1
        self._way: Spectra = np.zeros((PARTS, bins), np.complex128)
        self._unsure: Floats = np.full((PARTS, bins), UNSURE)
        self._played: Spectra = np.zeros((PARTS, bins), np.complex128)
        self._other: Floats = np.full(bins, 1e-4 * BLOCK)  # power in each frequency of what is no echo
        self._far: Floats = np.zeros((PARTS + 2) * BLOCK + 2 * REACH + FOUND_OVER * BLOCK)
        self._near: Floats = np.zeros(FOUND_OVER * BLOCK)
        self._held: list[tuple[Floats, Floats]] = []
        self._silent = SILENT
        self._late = 0  # samples by which what is played was told too early, -REACH..REACH
        self._blocks = 0  # in which something was played
        self._window: Floats = np.sqrt(np.hanning(2 * BLOCK + 1)[:-1])
        self._before: Floats = np.zeros(BLOCK)
        self._overlap: Floats = np.zeros(BLOCK)
        self._rest: Floats = np.zeros(bins)

    def take(self, near: Samples, far: Samples) -> Samples:
        """See `ports.Canceller.take`."""
        done: list[Floats] = []
        for at in range(0, len(near), BLOCK):
            self._held.append((near[at : at + BLOCK] / 32768.0, far[at : at + BLOCK] / 32768.0))
            if not self._waits():
                done += [self._block(*each) for each in self._held]
                self._held = []
        if not done:
            return near[:0]
        whole: Samples = np.rint(np.clip(np.concatenate(done), -0.999, 0.999) * 32767).astype(np.int16)
        return whole

    def drop(self) -> int:
        """See `ports.Canceller.drop`."""
        held, self._held = len(self._held) * BLOCK, []
        return held

    def _waits(self) -> bool:
        """Whether what is held is the beginning of a prompt, and too little of it to find how late it is heard."""
        if len(self._held) == 1:
            plays = bool(np.abs(self._held[0][1]).max() > _HEARD)
            begins = plays and self._silent >= SILENT and self._blocks > LEARNT
            self._silent = 0 if plays else self._silent + 1
            self._blocks += plays
            if plays and not begins and self._blocks > LEARNT and self._blocks % FOUND_AGAIN == 0:
                self._align(self._far, self._near)
            return begins
        if len(self._held) < FOUND_OVER:
            return True
        near, far = (np.concatenate(each) for each in zip(*self._held, strict=True))
        self._align(np.concatenate([self._far, far]), near)
        return False

    def _block(self, near: Floats, far: Floats) -> Floats:
        self._far = np.concatenate([self._far[BLOCK:], far])
        self._near = np.concatenate([self._near[BLOCK:], near])
        self._played[1:] = self._played[:-1].copy()
        self._played[0] = self._spectrum(0)
        power = np.abs(self._played) ** 2
        rest = near - self._echo()
        if power.sum() > 1e-6:
            rest = self._learn(near, rest, power)
        return self._suppressed(rest, power)

    def _spectrum(self, blocks_ago: int) -> Spectra:
        end = len(self._far) - (REACH - self._late) - blocks_ago * BLOCK
        spectrum: Spectra = np.fft.rfft(self._far[end - 2 * BLOCK : end])
        return spectrum

    def _echo(self) -> Floats:
        echo: Floats = np.fft.irfft((self._way * self._played).sum(axis=0))[BLOCK:]
        return echo

    def _learn(self, near: Floats, rest: Floats, power: Floats) -> Floats:
        """Take in what the filter missed, as far as it can be echo; what is left by the better filter."""
        missed = np.fft.rfft(np.concatenate([np.zeros(BLOCK), rest]))
        self._other = SMOOTHED * self._other + (1 - SMOOTHED) * np.abs(missed) ** 2
        gain = self._unsure / ((power * self._unsure).sum(axis=0) + 2 * self._other + 1e-10)
        change = np.fft.irfft(gain * np.conj(self._played) * missed, axis=1)
        change[:, BLOCK:] = 0
        self._way += np.fft.rfft(change, axis=1)
        kept = FORGETS**2
        self._unsure = kept * (1 - 0.5 * gain * power) * self._unsure + (1 - kept) * np.abs(self._way) ** 2
        return near - self._echo()

    def _suppressed(self, rest: Floats, power: Floats) -> Floats:
        """Without what the filter's own uncertainty lets pass: by Wiener's gain, over overlapping blocks."""
        spectrum = np.fft.rfft(np.concatenate([self._before, rest]) * self._window)
        self._before = rest
        left = 0.25 * (power * self._unsure).sum(axis=0)
        share = 1 - np.maximum(left, self._rest) / (np.abs(spectrum) ** 2 + 1e-12)
        self._rest = left
        frame = np.fft.irfft(spectrum * np.clip(share, LEFT, 1.0)) * self._window
        whole: Floats = self._overlap + frame[:BLOCK]
        self._overlap = frame[BLOCK:]
        return whole

    def _align(self, far: Floats, near: Floats) -> None:
        """Find the foreseen echo in what is heard, and shift what is played by as much as it lies beside."""
        way = np.fft.irfft(self._way, axis=1)[:, :BLOCK].reshape(-1)
        end = len(far) - (REACH - self._late)
        played = far[end - len(near) - PARTS * BLOCK : end]
        size = 1 << (len(played) + len(way)).bit_length()
        foreseen = np.fft.irfft(np.fft.rfft(played, size) * np.fft.rfft(way, size), size)[
            len(played) - len(near) : len(played)
        ]
        size = 1 << (2 * len(near)).bit_length()
        cross = np.fft.rfft(near, size) * np.conj(np.fft.rfft(foreseen, size))
        # half whitened: strong low frequencies alone would give a peak as broad as their period
        likeness = np.fft.irfft(cross / (np.sqrt(np.abs(cross)) + 1e-9), size)[np.arange(-REACH, REACH + 1)]
        best = int(likeness.argmax())
        if likeness[best] < STANDS_OUT * float(np.sqrt(np.mean(likeness**2))) + 1e-12:
            return
        late = max(-REACH, min(REACH, self._late - (best - REACH)))
        if late != self._late:
            self._late = late
            for part in range(PARTS):
                self._played[part] = self._spectrum(part + 1)
