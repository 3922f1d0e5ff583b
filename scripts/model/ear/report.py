"""Tables from the files of `evaluate.py`.

usage: python -m scripts.model.ear.report NAME.jsonl ... [--by who]

For each set and SNR: n, best reading right; then right / wrong after the refusal rule of the prototype (margin >= 1.5
nats, fit >= -3), and at the margin where one in a hundred of all noisy values would be wrong. `surprise` is -log of
the probability, normalised over the grammar, that the truth got (capped at 12): small only for a listener that is
right and knows how sure it is.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from pathlib import Path

import numpy as np


def margin(x: dict) -> float:
    """Lead of the best meaning over the next, nats."""
    b = x["best"]
    return -1.0 if not b else 20.0 if len(b) < 2 else b[0][1] - b[1][1]


def threshold(rows: list[dict], share: float) -> float:
    """Smallest margin with which at most `share` of the rows is accepted and wrong."""
    bad = sorted((margin(x) for x in rows if not x["right"] and x["best"] and x["fit"] >= -3), reverse=True)
    allowed = int(share * len(rows))
    return 0.0 if len(bad) <= allowed else bad[allowed] + 1e-3


def line(rows: list[dict], strict: float) -> str:
    """One row of the table."""
    n = len(rows)

    def accepted(x, m):
        return bool(x["best"]) and margin(x) >= m and x["fit"] >= -3

    right = sum(x["right"] for x in rows)
    parts = [f"n {n:4d}  best {100 * right / n:5.1f}"]
    for m in (1.5, strict):
        good = sum(x["right"] and accepted(x, m) for x in rows)
        bad = sum(not x["right"] and accepted(x, m) for x in rows)
        parts.append(f"{100 * good / n:5.1f} / {100 * bad / n:4.1f}")
    surprise = np.mean([12.0 if x["true"] is None else min(12.0, x["total"] - x["true"]) for x in rows])
    return "   ".join([*parts, f"surprise {surprise:.2f}"])


def show(path: Path, by: str | None = None) -> None:
    """Print the tables of one file."""
    with path.open() as f:
        rows = [json.loads(x) for x in f]
    known = [x for x in rows if x["set"] not in ("talk", "noise")]
    values = [x for x in known if x["value"]]
    strict = threshold([x for x in values if x["snr"] < 99], 0.01)
    print(
        f"== {path.stem}: best right; right / wrong at margin 1.5; right / wrong at margin {strict:.2f} "
        "(1 % of noisy values wrong)"
    )
    groups = defaultdict(list)
    for x in values:
        groups["values", x["snr"]].append(x)
        if x["snr"] < 99:
            groups["values", "noisy"].append(x)
    for x in known:
        groups[x["who"] if by else x["set"], x["snr"]].append(x)
    for (name, snr), part in groups.items():
        print(f"{name:12s} {'clean' if snr == 99 else snr!s:>6}  {line(part, strict)}")
    for name in ("talk", "noise"):
        part = [x for x in rows if x["set"] == name]
        got = [x for x in part if x["best"] and margin(x) >= 1.5 and x["fit"] >= -3]
        sure = [x for x in got if margin(x) >= strict]
        told = sum(x["best"][0][0][0] == "value" for x in got), sum(x["best"][0][0][0] == "value" for x in sure)
        print(
            f"{name}: of {len(part)} accepted {len(got)} ({told[0]} as values); "
            f"at the strict margin {len(sure)} ({told[1]})"
        )


if __name__ == "__main__":
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("files", nargs="+", type=Path)
    p.add_argument("--by", choices=["who"])
    a = p.parse_args()
    for file in a.files:
        show(file, a.by)
