"""eSpeak NG of the pip loader as a child process: many sentences in, their sound out.

The library may end the whole process on a bad voice, so it never runs in ours. Run as a module it is the child: JSON
lines on stdin ({"text", "voice", "rate", "pitch"}), on stdout a line with the count of samples and their rate, then the
samples as raw int16.
"""

from __future__ import annotations

import ctypes
import json
import os
import subprocess
import sys
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
import soxr

from scripts.bench.corpus import RATE_HZ, Sound


@dataclass(frozen=True)
class Wish:
    """One sentence: the voice as eSpeak names it, words per minute, pitch 0..99."""

    text: str
    voice: str = "en-us"
    rate: int = 150
    pitch: int = 50


def speak(wishes: Iterable[Wish]) -> Iterator[Sound]:
    """Sound of each sentence, float32 (n,) at 16 kHz.

    Raises:
        RuntimeError: the child ended early.
    """
    root = Path(__file__).resolve().parents[2]
    with subprocess.Popen(
        [sys.executable, "-m", "scripts.bench.espeak"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=root
    ) as child:
        assert child.stdin is not None and child.stdout is not None
        for wish in wishes:
            child.stdin.write(json.dumps(asdict(wish)).encode() + b"\n")
            child.stdin.flush()
            head = child.stdout.readline().split()
            if len(head) != 2:
                raise RuntimeError(f"the eSpeak child ended at {wish}")
            count, rate = int(head[0]), int(head[1])
            samples = np.frombuffer(child.stdout.read(2 * count), np.int16)
            yield soxr.resample(samples.astype(np.float32) / 32768, rate, RATE_HZ).astype(np.float32)
        child.stdin.close()


def _serve() -> None:
    import espeakng_loader

    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing but sound may reach the pipe
    os.environ["ESPEAK_DATA_PATH"] = str(espeakng_loader.get_data_path())
    library = ctypes.CDLL(str(espeakng_loader.get_library_path()))
    pieces: list[bytes] = []

    @ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)
    def collect(samples: object, count: int, _: object) -> int:
        if samples and count > 0:
            pieces.append(ctypes.string_at(samples, 2 * count))
        return 0

    synchronous, utf8, rate_parameter, pitch_parameter = 2, 1, 1, 3  # constants of speak_lib.h
    rate_hz = library.espeak_Initialize(synchronous, 0, os.environ["ESPEAK_DATA_PATH"].encode(), 0)
    library.espeak_SetSynthCallback(collect)
    for line in sys.stdin.buffer:
        wish = Wish(**json.loads(line))
        if library.espeak_SetVoiceByName(wish.voice.encode()) != 0:
            raise SystemExit(f"eSpeak has no voice {wish.voice}")
        library.espeak_SetParameter(rate_parameter, wish.rate, 0)
        library.espeak_SetParameter(pitch_parameter, wish.pitch, 0)
        pieces.clear()
        text = wish.text.encode() + b"\0"
        library.espeak_Synth(text, len(text), 0, 0, 0, utf8, None, None)
        sound = b"".join(pieces)
        out.write(f"{len(sound) // 2} {rate_hz}\n".encode() + sound)
        out.flush()


if __name__ == "__main__":
    _serve()
