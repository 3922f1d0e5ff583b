"""What becomes of spoken values at a bolt: windows as joints have them are drawn around, and beside, what was said.

For each value that a person said, targets are drawn so that it lies inside the window, and others so that it lies
outside as readings do: 8 to 25 % beyond an edge, at the setting of the pass before, as the figure of another unit,
twice and half. The dialogue's own rule (`procedure.acceptance`) decides. *Harm*: said outside, recorded as inside.
*Slip*: another figure inside the window is recorded. The listeners never learn what was due.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from assistant.bolting.unit_kinds import TORQUE_UNITS
from assistant.events import Alternative, Measured, Pass
from assistant.procedure import acceptance
from assistant.session.hearing import alternative
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.meaning import Value
from scripts.bench import people
from scripts.bench.judging import snr_name
from scripts.bench.material import SNRS_DB, truth
from scripts.bench.mixes import Mix

WINDOWS = (0.03, 0.04, 0.05, 0.06, 0.08, 0.10)
"""Half widths of windows, as shares of the setting (those of the demo joints lie between 3 and 10 %)."""
PASSES = ((0.3, 0.6), (0.3, 0.7), (0.5, 1.0), (0.6, 1.0), (0.7, 1.0))
"""Shares of the target in two passes that follow each other (ASME PCC-1 has 30, 70, 100 %; from memory)."""
DRAWS = 30
LEAST = 10  # values below are no torque of such a joint
REALISTIC = {"8-25 % beyond": 0.03, "pass before": 0.01, "other unit": 0.005, "twice or half": 0.005}
"""How often readings lie outside, of all readings; an assumption, no source."""
RULES: dict[str, tuple[float, float, float]] = {
    "thresholds alone": (1.0, acceptance.ODDS, acceptance.LEAD),
    "lift 5": (5.0, acceptance.ODDS, acceptance.LEAD),
    "lift 20 (the rule)": (acceptance.LIFT, acceptance.ODDS, acceptance.LEAD),
    "lift 100": (100.0, acceptance.ODDS, acceptance.LEAD),
    "lift 20, lead 0.9": (acceptance.LIFT, acceptance.ODDS, 0.9),
}
"""Lift, odds and lead of each rule that is compared; the dialogue has the third."""


@dataclass(frozen=True)
class Said:
    """A value that was said, and what was heard: where it lies, whose it was."""

    truth: Value
    heard: Heard
    snr_db: float
    speaker: str
    key: str
    real: bool = True


def window(setting: float, half: float, unit: str) -> Pass:
    """A pass with that setting, in whole units as a wrench is set, and the exact window around it, as plans have it."""
    setting = round(setting, 0 if setting >= 20 else 1)

    def measured(figure: float) -> Measured:
        return Measured(Decimal(f"{figure:.4f}").normalize(), unit)

    return Pass(
        group="",
        kind="pattern",
        number=2,
        bolts=(1,),
        setting=measured(setting),
        low=measured(setting * (1 - half)),
        high=measured(setting * (1 + half)),
    )


def inside(said: Said, r: random.Random) -> Pass:
    """A window that holds what was said; most are tightened near the setting."""
    half, v = r.choice(WINDOWS), float(said.truth.number)
    while True:
        due = window(v / (1 + r.triangular(-half, half, 0)), half, said.truth.unit or "N*m")
        if acceptance.is_inside(v, due):
            return due


def beyond(said: Said, r: random.Random) -> Pass:
    """A window of which an edge lies 8 to 25 % from what was said."""
    half, v, far = r.choice(WINDOWS), float(said.truth.number), r.uniform(0.08, 0.25)
    setting = v / (1 + half) / (1 + far) if r.random() < 0.5 else v / (1 - half) / (1 - far)
    return window(setting, half, said.truth.unit or "N*m")


def pass_before(said: Said, r: random.Random) -> Pass:
    """The wrench was left at the pass before, and its setting was read out."""
    before, now = r.choice(PASSES)
    return window(float(said.truth.number) * now / before, r.choice(WINDOWS), said.truth.unit or "N*m")


def other_unit(said: Said, r: random.Random) -> Pass:
    """The figure is that of another scale of the same wrench, without its unit."""
    unit = said.truth.unit or "N*m"
    other = r.choice([u for u in ("N*m", "lbf*ft", "lbf*in", "kgf*m") if u != unit])
    setting = float(said.truth.number) * float(TORQUE_UNITS[other] / TORQUE_UNITS[unit])
    return window(max(setting, 1.0), r.choice(WINDOWS), unit)


def twice_or_half(said: Said, r: random.Random) -> Pass:
    """Twice or half of what is due."""
    return window(float(said.truth.number) * r.choice((0.5, 2.0)), r.choice(WINDOWS), said.truth.unit or "N*m")


OUTSIDE: dict[str, Callable[[Said, random.Random], Pass]] = {
    "8-25 % beyond": beyond,
    "pass before": pass_before,
    "other unit": other_unit,
    "twice or half": twice_or_half,
}


def of_values(mixes: Sequence[Mix], heards: Sequence[Heard], grammar: Grammar) -> list[Said]:
    """The values among these utterances."""
    found = []
    for mix, heard in zip(mixes, heards, strict=True):
        true = truth(mix, grammar)
        if mix.spoken is not None and isinstance(true, Value):
            found.append(Said(true, heard, mix.snr_db, mix.spoken.speaker, mix.key, mix.spoken.real))
    return found


def fit(said: Iterable[Said]) -> list[Said]:
    """Those that may be a reading of a torque."""
    return [s for s in said if s.truth.number >= LEAST and not s.truth.corrected]


@dataclass(frozen=True)
class Outcome:
    """Of one value at one bolt: "right", "slip", "harm", "asked" (or refused); whose, and at which noise."""

    what: str
    said: Said


def outcomes(
    said: Sequence[Said], draw: Callable[[Said, random.Random], Pass], *, draws: int, rule: str = "lift 20 (the rule)"
) -> Iterator[Outcome]:
    """Each value at `draws` bolts."""
    lift, odds, lead = RULES[rule]
    for s in said:
        r = random.Random(int.from_bytes(hashlib.sha256(f"{draw.__name__} {s.key}".encode()).digest()[:8], "big"))
        alternatives = [replace(alternative(x), bolt=None) for x in s.heard.ranked]
        for _ in range(draws):
            due = draw(s, r)
            really_inside = acceptance.is_inside(float(s.truth.number), due)
            if draw is not inside and really_inside:
                continue
            taken = recorded(alternatives, s.heard, due, lift=lift, odds=odds, lead=lead)
            what = "asked"
            if taken is not None:
                same = taken.value == s.truth.number and (taken.unit or s.truth.unit) == (s.truth.unit or taken.unit)
                what = "right" if same and really_inside else "slip" if really_inside else "harm"
            yield Outcome(what, s)


def recorded(
    alternatives: Sequence[Alternative], heard: Heard, due: Pass, *, lift: float, odds: float, lead: float
) -> Alternative | None:
    """What the dialogue would record at once; None for nothing. The figures of the rule may be others than its own."""
    if not alternatives or heard.decision == "reject" or alternatives[0].value is None:
        return None
    best, decision = alternatives[0], heard.decision
    found = acceptance.in_context(alternatives, due=due, bolt=None)
    if decision == "ask" and heard.accept_at < 1 and found.lift > 1:
        sure = lift * found.inside >= odds * (1 - found.inside) and found.p >= lead * found.inside
        decision = "accept" if lift > 1 and sure and found.best is best else "ask"
    verdict = acceptance.judge(best, decision, due=due, last_setting=None)
    return best if verdict.kind == "accept" else None


def report(said: Sequence[Said], *, title: str) -> dict[str, Any]:
    """Print and return the table: accepted right by SNR, harm and slip with intervals over people, by person."""
    values = fit(said)
    print(f"\n{title}: {len(values)} values by {len({s.speaker for s in values})} people and voices")
    if not values:
        return {}
    told: dict[str, Any] = {"values": len(values), "rules": {}}
    columns = [snr for snr in SNRS_DB if any(s.snr_db == snr for s in values)]
    head = " ".join(f"{snr_name(s):>7}" for s in columns)
    print(f"  accepted right, %            {head}   slip, all: [95 %, people drawn]")
    for rule in RULES:
        found = list(outcomes(values, inside, draws=1 if rule == "thresholds alone" else DRAWS, rule=rule))
        by = {s: [o for o in found if o.said.snr_db == s] for s in columns}
        right = [sum(o.what == "right" for o in by[s]) / len(by[s]) for s in columns]
        slip = people.share([o.what == "slip" for o in found], [o.said.speaker for o in found], bad=True)
        cells = " ".join(f"{100 * x:7.1f}" for x in right)
        print(f"  {rule:28} {cells}   {100 * slip.share:.2f} [{100 * slip.low:.2f}-{100 * slip.high:.2f}]")
        told["rules"][rule] = {"right": dict(zip(map(snr_name, columns), right, strict=True)), "slip": vars(slip)}
    told["harm"] = _harm(values)
    found = list(outcomes(values, inside, draws=DRAWS))
    print("  in context by person, accepted right, %: SNR, worst, worst tenth, median")
    for snr in columns:
        own = [o for o in found if o.said.snr_db == snr]
        s = people.share([o.what == "right" for o in own], [o.said.speaker for o in own])
        print(f"    {snr_name(snr):>6} {100 * s.worst:6.1f} {100 * s.tenth:6.1f} {100 * s.median:6.1f}  all {s}")
    return told


def _harm(values: Sequence[Said]) -> dict[str, Any]:
    """Harm for each way of lying outside, and for each rule over all of them."""
    told: dict[str, Any] = {}
    for rule in RULES:
        parts = {name: list(outcomes(values, draw, draws=6, rule=rule)) for name, draw in OUTSIDE.items()}
        together = [o for part in parts.values() for o in part]
        shares = {
            name: people.share([o.what == "harm" for o in part], [o.said.speaker for o in part], bad=True)
            for name, part in (*parts.items(), ("all", together))
        }
        told[rule] = {name: vars(s) for name, s in shares.items()}
        cells = ", ".join(f"{name} {s.hits} of {s.count}" for name, s in shares.items())
        whole = shares["all"]
        real = sum(rate * shares[name].share for name, rate in REALISTIC.items())
        print(f"  harm, {rule}: {cells}")
        print(
            f"    = {100 * whole.share:.3f} % of readings outside [{100 * whole.low:.3f}-{100 * whole.high:.3f}];"
            f" of all readings, one in twenty outside: {100 * real:.4f} %"
        )
    return told
