"""Slips of a simulated technician: what goes wrong between people and a microphone on an ordinary day."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

SLIPS = {
    "wrong-first": "",
    "out-of-window": "",
    "say-again": "say again",
    "cough": "",
    "mumble": "",
    "chatter": "did you bring the other gasket from the store",
    "stop": "stop",
    "status": "status",
}
"""Name -> the words of it, where it is only words: a wrong value put right in the same breath; a reading that is too
low and then re-tightened; asking to repeat; a cough; a value that cannot be understood; talk to somebody else; stop and
go on; asking where we are."""


def cough(chance: np.random.Generator) -> npt.NDArray[np.float64]:
    """Two short bursts of rough noise, 16 000 Hz, root mean square about 1."""
    bursts = []
    for _ in range(2):
        length = int(chance.uniform(0.12, 0.22) * 16_000)
        shape = np.exp(-np.arange(length) / (0.05 * 16_000))
        bursts += [np.convolve(chance.standard_normal(length), np.ones(6) / 2.5, mode="same") * shape, np.zeros(1600)]
    return np.concatenate(bursts)


def mumbled(sound: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Speech behind a sleeve: dull and 12 dB down."""
    return np.convolve(sound, np.ones(24) / 24, mode="same") * 0.25
