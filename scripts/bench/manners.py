"""How people speak besides calmly: `scripts/bench/manners CORPUS` prints what the pair makes of the same values said in
other manners, of people of the dev split.

No corpus of ours holds whispering or shouting people, so the manners are imitated from calm recordings: whispering
with noise in place of the voice, raised voices with another pitch and spectrum, haste and drawl by stretched time,
mumbling, a far microphone in a hard room, a hand radio. Imitations tell whether the listeners stay honest (no wrong
value), not exactly how much they understand.
"""

from __future__ import annotations

import argparse
import json
import random
from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np

from assistant.devices.calibration_file import read_calibration
from assistant.speech.grammar import Grammar
from assistant.speech.meaning import Value
from assistant.speech.vocabulary import everything
from scripts.bench import spoken
from scripts.bench.corpus import read_corpus
from scripts.bench.hearing import MEMORY, ROOT, hear
from scripts.bench.imitated import MANNERS
from scripts.bench.judging import Outcome, Shares, judge, snr_name, wilson
from scripts.bench.material import Source, is_value
from scripts.bench.mixes import CLEAN
from scripts.bench.spoken import Spoken

SNRS_DB = (CLEAN, 10.0)
SYSTEM = "the pair"


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="manners", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("corpus", type=Path, help="folder of recordings with manifest.tsv")
    p.add_argument("--values", type=int, default=100, help="values said in every manner")
    p.add_argument("--json", type=Path, help="file for all figures")
    p.add_argument("--models", type=Path, default=ROOT / "models")
    a = p.parse_args(arguments)
    source = Source(read_corpus(a.corpus), a.models, MEMORY, {})
    grammar, calibration = everything(), read_calibration(a.models / "calibration.json")
    values = _values(source, grammar, a.values)
    mixer = source.mixer("dev", plain=True)
    mixes = {
        (manner, snr): [mixer.mix(said_so(s, manner), snr, seed="manners", kind="recorded") for s in values]
        for manner in MANNERS
        for snr in SNRS_DB
    }
    listened = iter(hear([m for ms in mixes.values() for m in ms], ("ear", "vosk"), grammar, models=a.models))
    print(f"{len(values)} values of {len({s.speaker for s in values})} people, recorded noise; {SYSTEM}, %")
    head = ("manner", "SNR", "n", "best right", "RIGHT accepted", "asked", "reject", "WRONG")
    print("{:16} {:>6} {:>4} {:>11} {:>15} {:>6} {:>7} {:>5}".format(*head))
    told: dict[str, Any] = {}
    wrong = count = 0
    for (manner, snr), ms in mixes.items():
        own = [judge(SYSTEM, m, next(listened), grammar, calibration) for m in ms]
        told[f"{manner}, {snr_name(snr)}"] = asdict(Shares.of(own))
        print(f"{manner:16} {snr_name(snr):>6} {_row(own)}")
        wrong, count = wrong + sum(o.wrong_accepted for o in own), count + len(own)
    low, high = wilson(wrong, count)
    print(f"Wrong values accepted: {wrong} of {count} ({100 * low:.2f} to {100 * high:.2f} %)")
    if a.json:
        a.json.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def said_so(s: Spoken, manner: str) -> Spoken:
    """The same in one of `MANNERS`."""
    seed = np.random.default_rng(int.from_bytes(f"{manner}{s.key}".encode()[-8:], "little"))
    sound = MANNERS[manner](s.sound, seed)
    made = spoken.said(s.key, s.text, s.speaker, s.group, sound)
    return s if manner == "as recorded" else replace(made, key=f"{manner}-{s.key}")


def _values(source: Source, grammar: Grammar, count: int) -> list[Spoken]:
    """Half of them strings of figures, half numbers cut out of whole sentences."""
    strings = spoken.digit_strings(source.corpus, "dev", count // 2)
    numbers = [s for s in source.numbers("dev") if isinstance(grammar.parse(s.text), Value)]
    chosen = random.Random("manners").sample(numbers, min(len(numbers), count - len(strings)))
    return [s for s in strings + chosen if is_value(s, grammar)]


def _row(own: Sequence[Outcome]) -> str:
    s = Shares.of(own)
    shares = (s.best_right, s.accepted_right, s.asked, s.rejected)
    best, right, asked, rejected = (f"{100 * k / s.count:.0f}" for k in shares)
    return f"{s.count:>4} {best:>11} {right:>15} {asked:>6} {rejected:>7} {s.accepted_wrong:>5}"


if __name__ == "__main__":
    main()
