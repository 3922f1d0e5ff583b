"""Short answers of strangers at checks, hold points and read-backs: `scripts/bench/answers CORPUS [options]`.

Every recording of the words is heard in quiet, and over noises at each SNR, as the session would hear it where such an
answer is due; what would be decided is counted. The gravest is a 'no' that is taken as 'yes': each 'no' in which 'yes'
was the likeliest is listed. Ends with 1 where one of them was accepted. With `--dialogue` each answer is given to the
core at a question that the assistant asked, and told is what became of the question.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

from assistant.cli import house
from assistant.config.settings import Settings
from assistant.session.hearing import Hearing
from assistant.speech.heard import Heard
from assistant.speech.vocabulary import Expecting, grammar_for
from scripts.bench.answer_dialogue import MOST, Settled, questions, rows, settled
from scripts.bench.answer_sounds import QUIET, Presented, best, clips_of, mixed
from scripts.bench.corpus import Clip, Corpus, read_corpus
from scripts.bench.judging import wilson

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


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("corpus", type=Path, help="folder of recordings with manifest.tsv")
    p.add_argument("--words", nargs="*", default=["no", "yes"])
    p.add_argument("--split", default="dev")
    p.add_argument(
        "--dialogue", nargs="+", choices=list(questions()), default=[], help="questions to answer, to their end"
    )
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
        if a.dialogue:
            return _dialogues(corpus, hearing, a)
        for word in a.words:
            clips = clips_of(corpus, word, a.split)
            for state in a.states:
                grammar = grammar_for(STATES[state])
                for shown in _presented(corpus, clips[a.skip : a.skip + a.most], a):
                    heard = hearing.listen(shown.samples, grammar).heard
                    counts = told.setdefault(f"{word} / {state} / {shown.snr}", Counter())
                    counts[f"{heard.decision} {best(heard)}"] += 1
                    if word == "no" and best(heard) == "yes":
                        taken.append(_taken(shown, state, heard))
                        print(f"  {taken[-1]}", flush=True)
    _print(told)
    if a.json:
        a.json.write_text(json.dumps({"counts": told, "no as yes": taken}, indent=1) + "\n", encoding="utf-8")
    return 1 if any(each["decision"] == "accept" for each in taken) else 0


def _dialogues(corpus: Corpus, hearing: Hearing, a: argparse.Namespace) -> int:
    """Every answer through the dialogue; 1 where a 'no' was taken for a 'yes'."""
    asked = {name: state for name, state in questions().items() if name in a.dialogue}
    found: dict[str, list[Settled]] = {}
    wrong = 0
    for word in a.words:
        clips = clips_of(corpus, word, a.split)
        for clip in clips[a.skip : a.skip + a.most]:
            own = [clip, *(c for c in clips if c.speaker == clip.speaker and c is not clip)]
            for snr in a.snr:
                shown = list(_again(corpus, own, snr, a))
                for name, state in asked.items():
                    became = settled(state, shown, hearing)
                    found.setdefault(f"{word} / {name} / {snr}", []).append(became)
                    if became.outcome == "other" or (became.outcome == "taken") != (word == "yes"):
                        print(f"  {word} {name} {snr} {clip.path.name}: {became.outcome}, {became.heard}", flush=True)
                    wrong += word == "no" and became.outcome == "taken"
    for line in rows(found):
        print(line)
    for word in a.words:
        n = sum(len(each) for name, each in found.items() if name.startswith(word))
        print(f"{word}: {n} questions" + (f", {wrong} taken for yes" if word == "no" else ""))
    if a.json:
        counts = {name: Counter(f"{s.outcome} {s.times}" for s in each) for name, each in found.items()}
        a.json.write_text(json.dumps(counts, indent=1) + "\n", encoding="utf-8")
    return int(wrong > 0)


def _again(corpus: Corpus, own: Sequence[Clip], snr: str, a: argparse.Namespace) -> Iterator[Presented]:
    """One person's word, as often as it may be asked for: another recording each time where there is one, another
    noise in any case.
    """
    chance = random.Random(f"{a.seed} {own[0].path.name} {snr}")
    noises = chance.sample(corpus.noise(a.split), MOST)
    for at in range(MOST):
        noise = None if snr == QUIET else noises[at]
        clip = own[at % len(own)]
        yield Presented(clip, noise.path.stem if noise else "", snr, mixed(clip, noise, snr, chance))


def _presented(corpus: Corpus, clips: Sequence[Clip], a: argparse.Namespace) -> Iterator[Presented]:
    """A recording gets the same noises in every run with the same seed."""
    noises = corpus.noise(a.split)
    for clip in clips:
        chance = random.Random(f"{a.seed} {clip.path.name}")
        for snr in a.snr:
            for noise in [None] if snr == QUIET else chance.sample(noises, a.times):
                yield Presented(clip, noise.path.stem if noise else "", snr, mixed(clip, noise, snr, chance))


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
