"""When each phone of the training clips is said, found with the package pocketsphinx and the model that it carries.

Only a start: the network that learns from it may align anew (`sequence.align`).
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator, Sequence

import numpy as np

from scripts.model.sound.bank import UNIT, Bank
from scripts.model.vosk.labels import Alignment
from scripts.model.vosk.lexicon import OWN, read_dictionary
from scripts.model.vosk.phones import PHONES, unit_of

FRAME_S = 0.01
QUIET = 20  # frames of quiet put before and after a clip
LEVEL = 4000.0  # speaking level that the aligner hears, steps of 16 bits


def align(bank: Bank, clips: Sequence[int], jobs: int) -> list[Alignment | None]:
    """Alignment of each of these clips, None for the others and for what the aligner refuses; shape (clips of the
    bank,).
    """
    out: list[Alignment | None] = [None] * len(bank.text)
    with multiprocessing.get_context("fork").Pool(jobs, _open, (bank,)) as pool:
        for clip, found in zip(clips, pool.imap(_one, clips, chunksize=16), strict=True):
            out[clip] = found
    return out


def phones_of(entries: Iterator[tuple[str, int, int]]) -> Alignment:
    """Phones (name, first frame, frames, counted with the quiet in front) as units in seconds of the clip; fillers
    left out.
    """
    kept = [(name, max(0, first - QUIET), first - QUIET + frames) for name, first, frames in entries if name in PHONES]
    return [(unit_of(name), a * FRAME_S, b * FRAME_S) for name, a, b in kept if b > a]


def _open(bank: Bank) -> None:
    """Load the aligner into a worker process."""
    global BANK, DECODER
    from pocketsphinx import Decoder

    BANK = bank
    DECODER = Decoder(samprate=16000, lm=None, bestpath=False, loglevel="FATAL", beam=1e-80, wbeam=1e-60, pbeam=1e-80)
    for word, ways in read_dictionary(OWN).items():
        for number, way in enumerate(ways, 1):
            name = word if number == 1 else f"{word}({number})"
            if DECODER.lookup_word(name) is None:
                DECODER.add_word(name, " ".join(way), True)


def _one(clip: int) -> Alignment | None:
    start, length = BANK.speech.start[clip], BANK.speech.length[clip]
    quiet = np.zeros(QUIET * 160, np.float32)
    x = np.concatenate([quiet, BANK.speech.sound[start : start + length] * (LEVEL / UNIT), quiet])
    x = x + np.random.default_rng(clip).normal(0, 3, len(x))  # digital silence upsets the aligner
    pcm = x.clip(-32768, 32767).astype(np.int16).tobytes()
    try:
        DECODER.set_align_text(BANK.text[clip])
        for again in (False, True):
            if again:
                DECODER.set_alignment()
            DECODER.start_utt()
            DECODER.process_raw(pcm, full_utt=True)
            DECODER.end_utt()
        return phones_of((p.name, p.start, p.duration) for word in DECODER.get_alignment() for p in word)
    except RuntimeError:
        return None
