"""The utterances of calibration and bench: which things are said, in which noise, at which SNR, for each split."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from assistant.speech.grammar import Grammar
from assistant.speech.meaning import Meaning, Note, Value
from scripts.bench import spoken
from scripts.bench.corpus import Corpus
from scripts.bench.mixes import CLEAN, Mix, Mixer
from scripts.bench.noises import KINDS
from scripts.bench.spoken import Spoken

T = TypeVar("T")
ALONE = 400  # three seconds of noise alone each: five minutes of every kind
AGAIN = ("again", "third")  # further noises for what people say
SNRS_DB = (CLEAN, 15.0, 10.0, 5.0, 0.0)
TALKERS = ("AN4", "speech-to-intent orders", "speechocean762", "telephone prompts", "wake-word recordings")


@dataclass(frozen=True)
class Source:
    """Where everything comes from: corpus, model for cutting, memory for places, folders of further clips by split."""

    corpus: Corpus
    models: Path
    memory: Path
    further: dict[str, tuple[Path, ...]]

    def numbers(self, split: str) -> list[Spoken]:
        """Real numbers of the corpus."""
        return spoken.numbers(self.corpus, split, model=self.models / "vosk", memory=self.memory / "places.json")

    def regrouped(self, split: str, each: int) -> list[Spoken]:
        """See `spoken.regrouped`."""
        folder, memory = self.models / "vosk", self.memory / "places.json"
        return spoken.regrouped(self.corpus, split, each=each, model=folder, memory=memory)

    def mixer(self, split: str, *, plain: bool) -> Mixer:
        """Mixes with noise and talkers of one split."""
        return Mixer(self.corpus.noise(split), self.corpus.speech(split, *TALKERS), plain=plain)


def truth(mix: Mix, grammar: Grammar) -> Meaning | None:
    """What the utterance means, None for noise and for talk that is no sentence of the grammar."""
    if mix.spoken is None:
        return None
    meaning = grammar.parse(mix.spoken.text)
    return Note(meaning.opening) if isinstance(meaning, Note) else meaning


def is_value(s: Spoken, grammar: Grammar) -> bool:
    """Whether a value is said."""
    return isinstance(grammar.parse(s.text), Value)


def training(source: Source, grammar: Grammar, *, size: float = 1.0, split: str = "train") -> Iterator[Mix]:
    """Utterances to learn from: each value at three or four SNRs, the rest at one, -3 to 30 dB; then noise alone.

    Args:
        source: see `Source`.
        grammar: to tell values from the rest.
        size: 1 for the full number of utterances.
        split: of speakers, voices and noises.
    """
    r = random.Random(f"training-{split}")
    mixer = source.mixer(split, plain=False)
    wanted = {"digits": 150, "numbers": 700, "regrouped": 300, "strangers": 420, "words": 1200}
    wanted |= {"commands": 150, "talk": 350, "synthetic": 220, "natural": 400}
    things = {
        "digits": spoken.digit_strings(source.corpus, split, int(wanted["digits"] * size)),
        "numbers": source.numbers(split),
        "regrouped": source.regrouped(split, 2),
        "strangers": spoken.strangers(source.corpus, split, 150),
        "words": spoken.words(source.corpus, split, int(wanted["words"] * size)),
        "commands": spoken.recordings(source.corpus, split, "commands"),
        "talk": spoken.recordings(source.corpus, split, "talk"),
        "synthetic": spoken.synthetic(split, int(wanted["synthetic"] * size)),
        "natural": spoken.further(source.further.get(split, ())),
    }
    for group, found in things.items():
        for s in filter(spoken.trusted, _some(found, int(wanted[group] * size), r)):
            value = is_value(s, grammar)
            for i in range(2 if value and group != "synthetic" else 1):
                snr = (
                    CLEAN if r.random() < 1 / 6 else float(round(r.uniform(-3, 20) if i == 0 else r.uniform(0, 30), 1))
                )
                yield mixer.mix(s, snr, seed=f"train{i}")
            again = random.Random(f"training-{s.key}")
            for i in range(2, 4) if value else ():
                yield mixer.mix(s, float(round(again.uniform(-2, 18), 1)), seed=f"train{i}")
    for i in range(int(300 * size)):
        kind = KINDS[i % len(KINDS)]
        yield mixer.mix(None, 0.0, seed=f"alone{i}", seconds=r.uniform(0.7, 4.0), kind=kind)


def judging(source: Source, grammar: Grammar, *, limit: int | None = None, split: str = "dev") -> Iterator[Mix]:
    """Utterances to judge by, of speakers, voices and noises not learnt from: every value at every SNR of SNRS_DB,
    those of people in three noises each; commands and talk at one each; noise alone.

    Args:
        source: see `Source`.
        grammar: to tell values from the rest.
        limit: roughly how many utterances; None for all.
        split: of speakers, voices and noises.
    """
    r = random.Random(f"judging-{split}")
    mixer = source.mixer(split, plain=True)
    people = spoken.digit_strings(source.corpus, split, 60) + source.numbers(split) + source.regrouped(split, 6)
    people += spoken.strangers(source.corpus, split, 60)
    people = [s for s in people if is_value(s, grammar)]
    made = spoken.further(source.further.get(split, ())) + spoken.synthetic(split, 160)
    values = [s for s in made if is_value(s, grammar)]
    others = [s for s in made if not is_value(s, grammar)]
    others += spoken.recordings(source.corpus, split, "commands") + spoken.recordings(source.corpus, split, "talk")
    words = spoken.words(source.corpus, split)
    groups = [
        [mixer.mix(s, snr, seed="judge") for s in people for snr in SNRS_DB],
        [mixer.mix(s, snr, seed=f"judge {t}") for t in AGAIN for s in people for snr in SNRS_DB if snr < CLEAN],
        [mixer.mix(s, snr, seed="judge") for s in values for snr in SNRS_DB],
        [mixer.mix(s, SNRS_DB[i % 5], seed="judge") for i, s in enumerate(others) if spoken.trusted(s)],
        [mixer.mix(s, snr, seed=seed) for s in words for seed, snr in _of_word(s.text)],
        [mixer.mix(None, 0.0, seed=f"alone{i}", seconds=3.0, kind=KINDS[i % len(KINDS)]) for i in range(ALONE)],
    ]
    whole = sum(map(len, groups))
    for group in groups:
        yield from _some(group, len(group) if limit is None else max(1, limit * len(group) // whole), r)


def _of_word(word: str) -> list[tuple[str, float]]:
    """(seed, SNR) of every presentation of a single word: those that carry safety come oftener."""
    again = [(f"judge {i}", snr) for i in range(2) for snr in (10.0, 5.0)]
    several = {
        "no": [("judge", CLEAN), *again, ("judge", 0.0)],
        "stop": [("judge", CLEAN), *again, ("judge", 0.0)],
        "yes": [("judge", CLEAN), *again[:2]],
    }
    return several.get(word) or [("judge", SNRS_DB[len(word) % 5])]


def _some(things: Sequence[T], count: int, r: random.Random) -> list[T]:
    return list(things) if count >= len(things) else r.sample(list(things), count)
