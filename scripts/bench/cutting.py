"""Numbers cut out of longer recordings of real people: where each word lies, by forced alignment, and the cuts.

A recording is only cut when our Vosk model, held to the known sentence, finds every word of it. The places are kept in
a file, so that a second run need not align again.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scripts.bench.corpus import RATE_HZ, Clip, Sound, load

NUMBER_WORDS = frozenset(
    "zero oh one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen"
    " eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand and point".split()
)
DIGITS = frozenset("zero oh one two three four five six seven eight nine".split())
MARGIN_S = 0.12
SHORTEST_DIGIT_S = 0.15
PAUSE_S = 0.08  # people say long strings in groups
Placed = tuple[str, float, float]  # a word, its start and end in seconds


@dataclass(frozen=True)
class Cut:
    """A stretch of a recording in which `text` is said."""

    clip: Clip
    text: str
    start_s: float
    end_s: float

    def sound(self) -> Sound:
        """The stretch, with short ramps at its ends."""
        x = load(self.clip.path)
        a, b = max(0, int(self.start_s * RATE_HZ)), min(len(x), int(self.end_s * RATE_HZ))
        piece = x[a:b].copy()
        ramp = np.linspace(0, 1, 160, dtype=np.float32)
        piece[:160] *= ramp
        piece[-160:] *= ramp[::-1]
        return piece


def cuts(clips: Sequence[Clip], *, model: Path, memory: Path) -> list[Cut]:
    """All numbers said within these clips: whole runs of number words, short stretches of long strings of figures."""
    places = _places(clips, model, memory)
    made: list[Cut] = []
    for clip in clips:
        words = places.get(clip.path.name)
        if words:
            made += [_cut(clip, words, a, b) for a, b in _stretches(words)]
    return made


def single_digits(clips: Sequence[Clip], *, model: Path, memory: Path) -> list[Cut]:
    """Every single digit said within these clips."""
    places = _places(clips, model, memory)
    return [
        _cut(clip, words, i, i + 1)
        for clip in clips
        if (words := places.get(clip.path.name))
        for i, (word, start, end) in enumerate(words)
        if word in DIGITS and end - start > SHORTEST_DIGIT_S
    ]


def _stretches(words: Sequence[Placed]) -> Iterator[tuple[int, int]]:
    """(first, behind last) of every stretch worth cutting out. Long strings of figures fall apart at their pauses."""
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and words[end][0] in NUMBER_WORDS:
            end += 1
        if end > at and words[at][0] != "and":
            figures = all(word in DIGITS for word, _, _ in words[at:end])
            for a, b in _groups(words, at, end) if figures and end - at > 4 else [(at, end)]:
                if b - a <= 4 or not figures:
                    yield a, b
        at = end + 1


def _groups(words: Sequence[Placed], first: int, behind: int) -> Iterator[tuple[int, int]]:
    start = first
    for i in range(first + 1, behind + 1):
        if i == behind or words[i][1] - words[i - 1][2] >= PAUSE_S:
            yield start, i
            start = i


def _cut(clip: Clip, words: Sequence[Placed], first: int, behind: int) -> Cut:
    """Bounds: a margin around the words, at most half-way to the neighbours; where they touch, the quietest place."""
    start, end = words[first][1], words[behind - 1][2]
    before = words[first - 1][2] if first else 0.0
    after = words[behind][1] if behind < len(words) else len(load(clip.path)) / RATE_HZ
    start = start - min(MARGIN_S, (start - before) / 2) if start - before > 0.05 else _quietest(clip, start)
    end = end + min(MARGIN_S, (after - end) / 2) if after - end > 0.05 else _quietest(clip, end)
    return Cut(clip, " ".join(w for w, _, _ in words[first:behind]), start, end)


def _quietest(clip: Clip, about_s: float, reach_s: float = 0.05) -> float:
    x = load(clip.path)
    a, b = max(0, int((about_s - reach_s) * RATE_HZ)), min(len(x), int((about_s + reach_s) * RATE_HZ))
    if b - a < 80:  # at or behind the end of the recording
        return about_s
    frames = x[a : a + (b - a) // 80 * 80].reshape(-1, 80)
    return (a + int((frames**2).mean(axis=1).argmin()) * 80 + 40) / RATE_HZ


def _places(clips: Sequence[Clip], model: Path, memory: Path) -> dict[str, list[Placed]]:
    """File name -> (word, start, end in seconds) of every word, where all were found."""
    known: dict[str, list[Placed]] = json.loads(memory.read_text()) if memory.is_file() else {}
    vocabulary = {line.split()[0] for line in (model / "graph" / "words.txt").read_text(encoding="utf-8").splitlines()}
    new = [(c, set(c.text.split())) for c in clips if c.path.name not in known]
    todo = [c for c, words in new if words & NUMBER_WORDS and words <= vocabulary]
    if todo:
        import vosk

        vosk.SetLogLevel(-1)
        net = vosk.Model(model_path=str(model))
        for clip in todo:
            known[clip.path.name] = _align(vosk, net, clip)
        memory.parent.mkdir(parents=True, exist_ok=True)
        memory.write_text(json.dumps(known))
    return known


def _align(vosk: object, net: object, clip: Clip) -> list[Placed]:
    pad = 0.3
    x = np.pad(load(clip.path), int(pad * RATE_HZ))
    recogniser = vosk.KaldiRecognizer(net, RATE_HZ, json.dumps([clip.text]))  # type: ignore[attr-defined]
    recogniser.SetWords(True)
    recogniser.AcceptWaveform((x * 32767).astype(np.int16).tobytes())
    answer = json.loads(recogniser.FinalResult())
    if answer["text"] != clip.text:
        return []
    return [(w["word"], w["start"] - pad, w["end"] - pad) for w in answer["result"]]
