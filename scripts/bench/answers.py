"""Short answers of strangers at checks, hold points and read-backs: `scripts/bench/answers CORPUS [options]`.

Every recording of the words is heard in quiet, and over noises at each SNR, as the session would hear it where such an
answer is due; what would be decided is counted. The gravest is a 'no' that is taken as 'yes': each 'no' in which 'yes'
was the likeliest is listed. Ends with 1 where one of them was accepted.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.cli import house
from assistant.config.settings import Settings
from assistant.speech.heard import Heard
from assistant.speech.meaning import Command
from assistant.speech.vocabulary import Expecting, grammar_for
from scripts.bench.corpus import Clip, Corpus, load, read_corpus
from scripts.bench.judging import wilson

MARGIN = 8000  # samples of hush before and behind the word
QUIET = "quiet"
STATES = {
    "read-back": Expecting(values=True, yes_no=True),
    "check": Expecting(
        values=False, yes_no=False, bare=("yes", "no"), phrases=("locked out and tried", "close the joint")
    ),
    "hold point": Expecting(
        values=False,
        yes_no=False,
        bare=("yes", "no"),
        phrases=("locked out and tried", "not locked out and tried", "not locked out", "not tried", "close the joint"),
    ),
    "in a pass": Expecting(values=True, yes_no=False, bare=("no",)),
}


@dataclass(frozen=True)
class Presented:
    """One recording as it was played: `snr` is QUIET or dB."""

    clip: Clip
    noise: str
    snr: str
    samples: npt.NDArray[np.int16]


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("corpus", type=Path, help="folder of recordings with manifest.tsv")
    p.add_argument("--words", nargs="*", default=["no", "yes"])
    p.add_argument("--split", default="dev")
    p.add_argument(
        "--snr", nargs="*", default=[QUIET, "10", "5", "0"], help=f"dB of the word over the noise, or {QUIET}"
    )
    p.add_argument("--times", type=int, default=2, help="noises for each recording and SNR")
    p.add_argument("--skip", type=int, default=0, help="recordings of each word to leave out, from the first on")
    p.add_argument("--most", type=int, default=100_000, help="recordings of each word")
    p.add_argument("--states", nargs="*", choices=list(STATES), default=list(STATES))
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--json", type=Path, help="file for all figures and every 'no' that sounded like 'yes'")
    a = p.parse_args(arguments)
    corpus = read_corpus(a.corpus)
    told: dict[str, dict[str, int]] = {}
    taken: list[dict[str, object]] = []
    with closing(house.Parts(Settings())) as parts:
        hearing = parts.hearing()
        for word in a.words:
            clips = [c for c in corpus.speech(a.split) if c.text == word and not corpus.mislabelled(c.path)]
            for state in a.states:
                grammar = grammar_for(STATES[state])
                for shown in _presented(corpus, clips[a.skip : a.skip + a.most], a):
                    heard = hearing.listen(shown.samples, grammar).heard
                    counts = told.setdefault(f"{word} / {state} / {shown.snr}", Counter())
                    counts[f"{heard.decision} {_best(heard)}"] += 1
                    if word == "no" and _best(heard) == "yes":
                        taken.append(_taken(shown, state, heard))
                        print(f"  {taken[-1]}", flush=True)
    _print(told)
    if a.json:
        a.json.write_text(json.dumps({"counts": told, "no as yes": taken}, indent=1) + "\n", encoding="utf-8")
    return 1 if any(each["decision"] == "accept" for each in taken) else 0


def _presented(corpus: Corpus, clips: Sequence[Clip], a: argparse.Namespace) -> Iterator[Presented]:
    """A recording gets the same noises in every run with the same seed."""
    noises = corpus.noise(a.split)
    for clip in clips:
        chance = random.Random(f"{a.seed} {clip.path.name}")
        for snr in a.snr:
            for noise in [None] if snr == QUIET else chance.sample(noises, a.times):
                yield Presented(clip, noise.path.stem if noise else "", snr, _mixed(clip, noise, snr, chance))


def _mixed(clip: Clip, noise: Clip | None, snr: str, chance: random.Random) -> npt.NDArray[np.int16]:
    word = np.pad(load(clip.path).astype(np.float64), MARGIN)
    if noise is not None:
        around = load(noise.path).astype(np.float64)
        around = np.resize(np.roll(around, -chance.randrange(max(1, len(around)))), len(word))
        loud = np.sort(np.square(word))[-len(word) // 4 :].mean()
        word = word + around * np.sqrt(loud / max(np.square(around).mean(), 1e-9) * 10 ** (-float(snr) / 10))
    peak = max(1.0, float(np.abs(word).max()) / 0.99)
    return np.rint(word / peak * 32767).astype(np.int16)


def _best(heard: Heard) -> str:
    if not heard.ranked:
        return "nothing"
    meaning = heard.ranked[0].meaning
    return meaning.name if isinstance(meaning, Command) else type(meaning).__name__.lower()


def _taken(shown: Presented, state: str, heard: Heard) -> dict[str, object]:
    return {
        "clip": shown.clip.path.name,
        "noise": shown.noise,
        "snr": shown.snr,
        "state": state,
        "decision": heard.decision,
        "probability": round(heard.ranked[0].probability, 4),
        "agreed": heard.agreed,
        "listeners": heard.by_listener,
    }


def _print(told: dict[str, dict[str, int]]) -> None:
    """Shares of what was said: taken, asked about, not understood, and taken as the other word."""
    print(f"{'word / state / dB':28} {'n':>5} {'taken':>6} {'asked':>6} {'none':>6} {'other':>6}  taken as the other")
    for name, counts in told.items():
        word, n = name.split(" / ")[0], sum(counts.values())
        right, other = counts.get(f"accept {word}", 0), counts.get(f"accept {'yes' if word == 'no' else 'no'}", 0)
        asked = sum(count for what, count in counts.items() if what.startswith("ask"))
        missed = sum(count for what, count in counts.items() if what.startswith("reject"))
        rest = n - right - asked - missed - other
        shares = " ".join(f"{100 * count / n:6.1f}" for count in (right, asked, missed, rest))
        print(f"{name:28} {n:5} {shares}  {other} (at most {100 * wilson(other, n)[1]:.2f} %)")


if __name__ == "__main__":
    sys.exit(main())
