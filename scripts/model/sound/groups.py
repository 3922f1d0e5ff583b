"""Cut long strings of figures into groups of two to five, as clips for training.

usage: python -m scripts.model.sound.groups SPEECH ENCODER.onnx OUT [--source NAME] [--split train]

A telephone number takes up to twelve seconds, a row of a training batch six at the most, and the text of a clip that
is cut anywhere is of no use. The letters of an ear that is there already say where each figure lies (best alignment of
the letters of the text, Graves et al. 2006); the cut is where it is quietest between two figures. Zero is written as it
was said, zero or oh, whichever fits better. Writes Ogg Opus, and `list.tsv` with file, text, SOURCE:SPEAKER.
"""

from __future__ import annotations

import argparse
import random
from pathlib import Path

import numpy as np
import onnxruntime as ort
import soundfile as sf

from assistant.speech.letters import BLANK, log_probabilities, spelt
from scripts.model.sound.bank import RATE, read_sound
from scripts.model.sound.manifest import read_manifest

PAD, HOP, FIELD = 4800, 384, 895  # samples
SINGLE = "telephone figures"
DOUBTFUL = -1.9  # nats a letter; below it the words are others than those of the text (a figure more, 'triple')


def letters(session: ort.InferenceSession, x: np.ndarray) -> np.ndarray:
    """(frames, COUNT) of the sound with quiet around it."""
    r = np.random.default_rng(0)
    y = np.pad(x / (np.abs(x).max() + 1e-9) * 0.4, PAD) + 1e-4 * r.standard_normal(len(x) + 2 * PAD)
    return session.run(None, {"audio": y.astype(np.float32)[None]})[1][0]


def spans(scores: np.ndarray, ids: tuple[int, ...]) -> list[tuple[int, int]]:
    """First and last frame of each letter on the best alignment."""
    label = np.full(2 * len(ids) + 1, BLANK)
    label[1::2] = ids
    n, s = len(scores), len(label)
    best, back = np.full((n, s), -np.inf), np.zeros((n, s), np.int64)
    best[0, :2] = scores[0, label[:2]]
    leap = np.zeros(s, bool)
    leap[3::2] = label[3::2] != label[1:-2:2]
    for t in range(1, n):
        ways = np.stack([best[t - 1], np.r_[-np.inf, best[t - 1, :-1]], np.r_[-np.inf, -np.inf, best[t - 1, :-2]]])
        ways[2, ~leap] = -np.inf
        back[t] = ways.argmax(0)
        best[t] = ways.max(0) + scores[t, label]
    at, path = (s - 1 if best[-1, -1] > best[-1, -2] else s - 2), []
    for t in range(n - 1, -1, -1):
        path.append(at)
        at -= back[t, at]
    path.reverse()
    where = np.array(path)
    return [
        (int(np.flatnonzero(where == 2 * i + 1)[0]), int(np.flatnonzero(where == 2 * i + 1)[-1]))
        for i in range(len(ids))
    ]


def as_said(scores: np.ndarray, words: list[str]) -> list[str]:
    """The words with each zero written as it sounds, and two alike with 'double' where that was said."""
    for i, w in enumerate(words):
        if w in ("zero", "oh"):
            ways = [[*words[:i], z, *words[i + 1 :]] for z in ("zero", "oh")]
            words = ways[int(log_probabilities(scores, [spelt(" ".join(x)) for x in ways]).argmax())]
    i = 0
    while i + 1 < len(words):
        if words[i] == words[i + 1]:
            ways = [words, [*words[:i], "double", *words[i + 1 :]]]
            words = ways[int(log_probabilities(scores, [spelt(" ".join(x)) for x in ways]).argmax())]
        i += 1
    return words


def cuts(x: np.ndarray, scores: np.ndarray, words: list[str]) -> list[int]:
    """Samples between which the words lie, one more than words; the outer ones are the ends of the sound."""
    ids = spelt(" ".join(words))
    found, places, k = spans(scores, ids), [0], 0
    for w in words[:-1]:
        k += len(w)
        low = found[k - 1][1] * HOP + FIELD // 2 - PAD
        high = found[k + 1][0] * HOP + FIELD // 2 - PAD
        low, high = max(0, low), min(len(x), max(high, low + 320))
        window = np.convolve(x[max(0, low - 160) : high + 160] ** 2, np.ones(320) / 320, "same")
        inner = window[160 : 160 + high - low] if low >= 160 else window[: high - low]
        quiet = np.flatnonzero(inner <= inner.min() * 1.5 + 1e-9)
        places.append(low + int(quiet[len(quiet) // 2]))
        k += 1
    return [*places, len(x)]


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("speech", type=Path)
    p.add_argument("encoder", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--source", default="alphanumeric phone numbers")
    p.add_argument("--split", default="train")
    p.add_argument("--passes", type=int, default=2, help="how often each number is cut, each time elsewhere")
    p.add_argument("--single", action="store_true", help="cut single figures, under the source 'telephone figures'")
    a = p.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    options = ort.SessionOptions()
    options.intra_op_num_threads = 1
    session, r = ort.InferenceSession(str(a.encoder), options), random.Random(1)
    n = doubtful = 0
    with (a.out / "list.tsv").open("w", encoding="utf-8") as listed:
        for row in read_manifest(a.speech):
            if row.source != a.source or row.split != a.split:
                continue
            x = read_sound(row.path)
            scores = letters(session, x)
            words = as_said(scores, row.text.split())
            places = cuts(x, scores, words)
            for _ in range(a.passes):
                i = 0
                while i < len(words):
                    size = 1 if a.single else r.choice([2, 3, 3, 3, 4, 4, 5])
                    j = len(words) if not a.single and len(words) - i - size < 2 else i + size
                    while j - i > 2 and places[j] - places[i] > 5.2 * RATE:
                        j -= 1
                    while words[j - 1] == "double" and j < len(words):
                        j += 1
                    piece, text = x[places[i] : places[j]], " ".join(words[i:j])
                    i = j
                    if len(piece) < (0.2 if a.single else 0.3) * RATE or (a.single and " " in text):
                        continue
                    fit = log_probabilities(letters(session, piece), [spelt(text)])[0] / len(spelt(text))
                    if fit < DOUBTFUL:
                        doubtful += 1
                        continue
                    name = f"{n:04d}.ogg"
                    sf.write(a.out / name, piece, RATE, format="OGG", subtype="OPUS", compression_level=0.9)
                    listed.write(f"{name}\t{text}\t{SINGLE if a.single else a.source}:{row.speaker}\n")
                    n += 1
    print(f"{n} clips, {doubtful} left out as doubtful")


if __name__ == "__main__":
    main()
