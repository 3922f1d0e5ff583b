"""Values by what surrounds and what carries them: background, form of the number; every engine side by side."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assistant.speech.meaning import Value
from scripts.bench.judging import Outcome, Shares

FIGURES = frozenset("zero oh nought one two three four five six seven eight nine niner fife double".split())
UNITS = frozenset("newton foot inch pound kilogram".split())


def form_of(text: str) -> str:
    """Which form a spoken number has: the first of 'with bolt', 'decimal', 'with unit', 'one word', 'figure by figure',
    'hundred or thousand', 'in groups' that fits.
    """
    words = text.split()
    if "bolt" in words:
        return "with bolt"
    if "point" in words:
        return "decimal"
    if UNITS & set(words):
        return "with unit"
    if len(words) == 1:
        return "one word"
    if all(w in FIGURES for w in words):
        return "figure by figure"
    return "hundred or thousand" if {"hundred", "thousand"} & set(words) else "in groups"


def background_of(outcome: Outcome) -> str:
    """Kind of noise, 'quiet' for none."""
    return outcome.mix.noise


def breakdowns(outcomes: dict[str, list[Outcome]]) -> dict[str, Any]:
    """Print and return the shares of every engine by background and by form, all SNRs together."""
    titles: dict[str, Callable[[Outcome], str]] = {
        "background": background_of,
        "form of the number": lambda o: form_of(o.mix.spoken.text if o.mix.spoken else ""),
    }
    return {title: _one(title, of, outcomes) for title, of in titles.items()}


def _one(title: str, of: Callable[[Outcome], str], outcomes: dict[str, list[Outcome]]) -> dict[str, Any]:
    print(f"\nValues by {title}, all SNRs, people and voices, %: best reading right / accepted right / accepted wrong")
    parts: dict[str, dict[str, list[Outcome]]] = {}
    for system, own in outcomes.items():
        for o in own:
            if isinstance(o.truth, Value) and o.mix.spoken is not None:
                parts.setdefault(of(o), {}).setdefault(system, []).append(o)
    width = max(map(len, parts), default=0)
    told: dict[str, Any] = {}
    for name in sorted(parts):
        told[name] = {}
        for system, own in parts[name].items():
            s = Shares.of(own)
            told[name][system] = {"count": s.count, **_shares(s)}
            print(f"{name:{width}} {s.count:5} {system:26} {_cell(s)}")
    return told


def _shares(s: Shares) -> dict[str, float]:
    counts = {"best right": s.best_right, "accepted right": s.accepted_right, "accepted wrong": s.accepted_wrong}
    return {k: n / s.count for k, n in counts.items()}


def _cell(s: Shares) -> str:
    best, right, wrong = (100 * x for x in _shares(s).values())
    return f"{best:5.1f} / {right:5.1f} / {wrong:5.2f}"
