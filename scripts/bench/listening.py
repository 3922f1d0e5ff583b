"""How well the listeners understand: `scripts/bench/listening CORPUS` prints one table on the dev split of a corpus.

Engines side by side on the same utterances: free wording of the packaged and of our encoder, both in the grammar, Vosk,
the pair; by SNR; right accepted / asked / rejected / WRONG accepted, with 95 % intervals; real people apart from
synthetic voices; by background, form of the number and speaker; the worst, the worst tenth and the median of the
people, out of context and in it (`context`); words that carry safety; figures taken for others; what would survive the
read-back; how reliable the probabilities are; false entries an hour in noise and talk; processor time and memory.
The combiner has met these people: what `scripts/bench/calibrate` prints as left out is what a stranger can expect.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from assistant.devices.calibration_file import other_weights, read_calibration
from assistant.speech.meaning import Value
from assistant.speech.vocabulary import everything
from assistant.speech.voting import combine
from scripts.bench import context, figures, people, safety
from scripts.bench.breakdown import breakdowns
from scripts.bench.corpus import read_corpus
from scripts.bench.fitting import Verdict, reliability
from scripts.bench.footprint import measured
from scripts.bench.hearing import MEMORY, ROOT, Listened, hear, remembered
from scripts.bench.judging import CONTESTED, SYSTEMS, Outcome, Shares, confusions, judge, numbers, snr_name, wilson
from scripts.bench.material import SNRS_DB, Source, judging
from scripts.bench.mixes import CLEAN
from scripts.bench.pictures import Line, accuracy_picture, reliability_picture

GROUPS = {"real people": ("digits", "numbers", "strangers"), "synthetic voices": ("synthetic", "natural")}
COLUMNS = f"{'SNR':>6} {'n':>5} {'best right':>11} {'RIGHT accepted':>18} {'asked':>6} {'reject':>7} {'WRONG acc.':>16}"
BUDGET = (0.99, 0.97, 0.95, 0.88, 0.60)  # accepted right at first try, at each of SNRS_DB
HEAD = f"{'engine':26} {COLUMNS}"


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="listening", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("corpus", type=Path, help="folder of recordings with manifest.tsv")
    p.add_argument("--json", type=Path, help="file for all figures")
    p.add_argument("--limit", type=int, help="roughly how many utterances, for a quick look")
    p.add_argument("--models", type=Path, default=ROOT / "models")
    p.add_argument("--clips", type=Path, nargs="*", default=[], help="folders of further voices with list.tsv")
    p.add_argument("--pictures", type=Path, help="folder for reliability.svg and accuracy.svg")
    p.add_argument("--without-packaged", action="store_true", help="leave out the packaged encoder")
    p.add_argument(
        "--heard-only", action="store_true", help="use only what the listeners have heard before; hear nothing new"
    )
    a = p.parse_args(arguments)
    source = Source(read_corpus(a.corpus), a.models, MEMORY, {"dev": tuple(a.clips)})
    calibration = read_calibration(a.models / "calibration.json")
    for name in other_weights(calibration, encoder=a.models / "ear" / "encoder.onnx", vosk_model=a.models / "vosk"):
        print(f"warning: {name} is not the file that was calibrated; run scripts/bench/calibrate", file=sys.stderr)
    grammar = everything()
    mixes = list(judging(source, grammar, limit=a.limit))
    names = ("ear", "vosk") if a.without_packaged else ("packaged", "ear", "vosk")
    if a.heard_only:
        known = set.intersection(*(remembered(name, grammar, a.models) for name in names))
        mixes = [m for m in mixes if m.key in known]
    listened = hear(mixes, names, grammar, models=a.models)
    systems = [s for s, ears in SYSTEMS.items() if set(ears) <= set(names)]
    outcomes = {
        s: [judge(s, m, h, grammar, calibration) for m, h in zip(mixes, listened, strict=True)] for s in systems
    }
    told: dict[str, Any] = {"utterances": len(mixes), "values": {}, "speakers": {}, "false": {}, "cost": {}}
    for title, groups in GROUPS.items():
        told["values"][title] = _values(title, outcomes, groups)
    told["ratio"] = _ratio(outcomes)
    told["breakdowns"] = breakdowns(outcomes)
    told["speakers"] = _speakers(outcomes["the pair"])
    told["people"] = _people(outcomes["the pair"])
    told["safety"] = safety.words(outcomes["the pair"])
    heards = [combine(list(h.readings.values()), calibration, quality=h.quality) for h in pairs_only(listened)]
    told["context"] = context.report(context.of_values(mixes, heards, grammar), title="In context, the pair")
    told["false"] = _false_entries(outcomes)
    told["confusions"] = _confusions(outcomes["the pair"])
    told["reliability"] = _reliability(outcomes["the pair"], a.pictures)
    if a.pictures:
        _draw_accuracy(outcomes["the pair"], a.pictures)
    told["cost"] = _cost(listened, mixes, names, a.models)
    if a.json:
        a.json.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def _values(title: str, outcomes: dict[str, list[Outcome]], groups: Sequence[str]) -> dict[str, Any]:
    print(f"\nValues said by {title}, %\n{HEAD}")
    told: dict[str, Any] = {}
    for system, all_of_it in outcomes.items():
        own = [o for o in all_of_it if isinstance(o.truth, Value) and o.mix.spoken and o.mix.spoken.group in groups]
        columns = {snr_name(s): [o for o in own if o.mix.snr_db == s] for s in SNRS_DB}
        columns["noisy"] = [o for o in own if o.mix.snr_db < CLEAN]
        told[system] = {}
        for name, cell in columns.items():
            if cell:
                shares = Shares.of(cell)
                told[system][name] = asdict(shares)
                print(f"{system:26} {name:>6} {_row(shares)}")
    return told


def _row(s: Shares) -> str:
    def share(k: int) -> str:
        return f"{100 * k / s.count:.1f}"

    def within(k: int) -> str:
        low, high = wilson(k, s.count)
        return f"{share(k)} [{100 * low:.1f}-{100 * high:.1f}]"

    right, wrong = within(s.accepted_right), within(s.accepted_wrong)
    shares = f"{share(s.best_right):>11} {right:>18} {share(s.asked):>6} {share(s.rejected):>7}"
    return f"{s.count:5} {shares} {wrong:>16}"


def _ratio(outcomes: dict[str, list[Outcome]]) -> dict[str, float]:
    """Values taken rightly by the pair for each one that plain free wording gives, by SNR."""
    told: dict[str, float] = {}
    plain = "free wording, packaged" if "free wording, packaged" in outcomes else "free wording, our ear"

    def taken(system: str, snr_db: float) -> int:
        own = (o for o in outcomes[system] if isinstance(o.truth, Value) and o.mix.snr_db == snr_db)
        return sum(o.right and o.decision == "accept" for o in own)

    for snr in SNRS_DB:
        told[snr_name(snr)] = round(taken("the pair", snr) / max(1, taken(plain, snr)), 2)
    print(
        f"\nValues taken rightly by the pair for each one by {plain}: " + ", ".join(f"{k} {v}" for k, v in told.items())
    )
    return told


def _speakers(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    print("\nThe pair by speaker, all SNRs, %: n, best right, right accepted, asked, rejected, wrong accepted")
    told: dict[str, Any] = {}
    by: dict[str, list[Outcome]] = {}
    for o in outcomes:
        if isinstance(o.truth, Value) and o.mix.spoken:
            by.setdefault(o.mix.spoken.speaker, []).append(o)
    for speaker, own in sorted(by.items()):
        told[speaker] = asdict(Shares.of(own))
        print(f"{speaker:26}        {_row(Shares.of(own))}")
    return told


def _people(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Values accepted right and wrong, by person: intervals and spread over people."""
    print("\nThe pair, values by person out of context, %: accepted right [95 %, people drawn], worst, tenth, median")
    told: dict[str, Any] = {}
    for snr in SNRS_DB:
        own = [o for o in outcomes if isinstance(o.truth, Value) and o.mix.spoken and o.mix.snr_db == snr]
        if own:
            who = [o.mix.spoken.speaker for o in own if o.mix.spoken]
            right = people.share([o.right and o.decision == "accept" for o in own], who)
            wrong = people.share([o.wrong_accepted for o in own], who, bad=True)
            told[snr_name(snr)] = {"right": vars(right), "wrong": vars(wrong)}
            spread = f"{100 * right.worst:.0f}, {100 * right.tenth:.0f}, {100 * right.median:.0f}"
            counts = f"{right.people} people, n {right.count}"
            print(f"  {snr_name(snr):>6} {right}  {spread}   wrong {wrong.hits} = {wrong} ({counts})")
    return told


def pairs_only(listened: Sequence[Listened]) -> list[Listened]:
    """What ear and Vosk made of it, without the packaged encoder."""
    return [replace(h, readings={n: r for n, r in h.readings.items() if n in ("ear", "vosk")}) for h in listened]


def _false_entries(outcomes: dict[str, list[Outcome]]) -> dict[str, Any]:
    """Accepted and asked an hour where nothing was meant: noise alone, and talk that is no sentence of the grammar."""
    print("\nWhere nothing was meant: accepted (questions) an hour of sound that reached the listeners")
    told: dict[str, Any] = {}
    for system, all_of_it in outcomes.items():
        noise = [o for o in all_of_it if o.mix.spoken is None]
        parts = {"noise": noise, "talk": [o for o in all_of_it if o.mix.spoken is not None and o.truth is None]}
        if system == "the pair":
            parts |= {kind: [o for o in noise if o.mix.noise == kind] for kind in sorted({o.mix.noise for o in noise})}
        told[system] = {title: _false_part(f"{system:26} {title:9}", own) for title, own in parts.items()}
    return told


def _false_part(title: str, own: Sequence[Outcome]) -> dict[str, float]:
    hours = sum(o.mix.seconds for o in own) / 3600
    accepted, asked = sum(o.wrong_accepted for o in own), sum(o.decision == "ask" for o in own)
    rates = f"{accepted / max(hours, 1e-9):.0f} ({asked / max(hours, 1e-9):.0f})"
    print(
        f"{title} {len(own):4} utterances, {hours * 60:.0f} min: {accepted} accepted, {asked} asked = {rates} an hour"
    )
    return {"utterances": len(own), "hours": hours, "accepted": accepted, "asked": asked}


def _confusions(outcomes: Sequence[Outcome]) -> list[list[Any]]:
    """The pair's mistakes on values: which part of the number was taken for which."""
    found = confusions(outcomes)
    print("\nThe pair's best reading wrong, said > heard (times, of them accepted): ")
    print("  " + ", ".join(f"{a} > {b} ({n}, {k})" for a, b, n, k in found))
    print("\nFigures said and heard, best reading of the pair, all SNRs:")
    print(figures.table(figures.counted(numbers(outcomes))))
    values = [o for o in outcomes if isinstance(o.truth, Value)]
    wrong = sum(o.wrong_accepted for o in values)
    left = (1 - CONTESTED) * wrong
    print(f"\nOf {len(values)} values {wrong} accepted wrong = {100 * wrong / len(values):.3f} %. Each is read back: a")
    print(f"technician who contests {CONTESTED:.0%} of wrong read-backs leaves {left:.2f} = {left / len(values):.4%}")
    for o in outcomes:
        if o.wrong_accepted and o.mix.spoken is not None:
            where = f"{snr_name(o.mix.snr_db)}, {o.mix.noise}, {o.mix.spoken.speaker}"
            print(f"  WRONG accepted: '{o.mix.spoken.text}' as {o.heard} at {where}")
    return [list(f) for f in found]


def _reliability(outcomes: Sequence[Outcome], folder: Path | None) -> dict[str, Any]:
    """How far the probability of the best meaning can be taken at its word."""
    found = [Verdict("", o.probability, o.right) for o in outcomes if o.probability is not None]
    rows, error = reliability(found)
    print(f"\nThe pair's probabilities, {len(found)} utterances: expected calibration error {100 * error:.1f} %")
    print("  probability  mean   right  count")
    for low, mean, share, count in rows:
        print(f"  from {low:.1f}     {mean:.3f}  {share:.3f}  {count}")
    if folder:
        title = f"How far a probability can be believed ({len(found)} utterances)"
        (folder / "reliability.svg").write_text(reliability_picture(rows, error, title), encoding="utf-8")
    return {"expected_calibration_error": error, "rows": rows}


def _draw_accuracy(outcomes: Sequence[Outcome], folder: Path) -> None:
    lines = []
    for title, groups in GROUPS.items():
        own = [o for o in outcomes if isinstance(o.truth, Value) and o.mix.spoken and o.mix.spoken.group in groups]
        cells = [[o for o in own if o.mix.snr_db == s] for s in SNRS_DB]
        hits = [sum(o.right and o.decision == "accept" for o in cell) for cell in cells]
        best = [sum(o.right for o in cell) for cell in cells]
        for name, counts in ((f"{title}: accepted right", hits), (f"{title}: best reading right", best)):
            points = ((i, k, len(c)) for i, (k, c) in enumerate(zip(counts, cells, strict=True)) if c)
            lines.append(Line(name, tuple((i, k / n, *wilson(k, n)) for i, k, n in points)))
    names = [snr_name(s) for s in SNRS_DB]
    wrong = sum(o.wrong_accepted for o in outcomes if isinstance(o.truth, Value))
    count = sum(isinstance(o.truth, Value) for o in outcomes)
    drawn = accuracy_picture(names, lines, BUDGET, f"Values heard ({count} utterances, {wrong} wrong accepted)")
    (folder / "accuracy.svg").write_text(drawn, encoding="utf-8")


def _cost(listened: Sequence[Listened], mixes: Sequence[Any], names: Sequence[str], models: Path) -> dict[str, Any]:
    print("\nProcessor seconds a second of sound when these readings were made, and now in a process of its own:")
    seconds = sum(m.seconds for m in mixes)
    told: dict[str, Any] = {}
    for name in names:
        factor = sum(h.readings[name].seconds for h in listened) / seconds
        alone = measured(models, name)
        told[name] = {"real_time_factor": round(factor, 4), **alone}
        two = f"2 s utterance {1000 * alone[name]['two_seconds_s']:.0f} ms"
        print(f"{name:10} {factor:.3f}; {two}, peak {alone['peak_mb']} MB")
    both = measured(models, "ear", "vosk")
    total = sum(both[n]["two_seconds_s"] for n in ("ear", "vosk"))
    told["pair"] = both
    base = f"Python, numpy and grammar alone {both['base_mb']} MB"
    print(f"the pair   2 s utterance {1000 * total:.0f} ms, peak {both['peak_mb']} MB ({base})")
    return told


if __name__ == "__main__":
    main()
