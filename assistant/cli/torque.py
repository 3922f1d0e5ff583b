"""`assistant torque`: the engineering core as a calculator for one bolt, with the explanation of every figure."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from typing import Any

from assistant.bolting.friction_and_torque.friction import (
    CONDITIONS,
    ThreadCondition,
    stated_condition,
    thread_condition,
)
from assistant.bolting.friction_and_torque.torque import NUT_FACTORS
from assistant.bolting.planning.plan import SAFETY
from assistant.bolting.planning.single_bolt import SingleBolt, from_preload, from_published, from_torque
from assistant.bolting.remark import Remark
from assistant.bolting.threads_and_strength import strength as strengths
from assistant.bolting.threads_and_strength.threads import Thread, thread
from assistant.bolting.unit_kinds import TORQUE_UNITS
from assistant.bolting.units import Quantity, magnitude, of, quantity, read_as, rounded, show
from assistant.errors import BadSettings

_UNKNOWN_SCATTER = 0.25  # of a nut factor given without a range
DESCRIPTION = "Torque for a preload, preload of a torque, or a published torque for other threads."
EPILOG = """\
Quantities are written with their unit, in quotes: "310 N*m" (or "310 Nm"), "90 kN", "500 lbf*ft", "75 %".

examples:
  assistant torque M20 8.8 --preload "90 kN" --condition dry
  assistant torque M20 8.8 --published "310 N*m" --from dry --to anti-seize
  assistant torque M20 8.8 --published "310 N*m" --from dry --to anti-seize --change "-45 %"
  assistant torque M20 8.8 --torque "170 N*m" --condition anti-seize
  assistant torque "3/4-10 UNC" "SAE 5" --percent-of-proof "75 %" --condition oiled --unit "lbf*ft"

exit codes: 0 done, 2 bad input
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("thread", metavar="THREAD", help="M20, M20x1.5, '3/4-10 UNC' ...")
    parser.add_argument("grade", metavar="GRADE", help="property class or material grade: 8.8, 'A193 B7' ...")
    given = parser.add_mutually_exclusive_group(required=True)
    given.add_argument("--preload", metavar="FORCE", help="wanted tension of the bolt")
    given.add_argument("--stress", metavar="STRESS", help="wanted stress on the tensile stress area")
    given.add_argument("--percent-of-proof", metavar="SHARE", help="wanted share of the proof load")
    given.add_argument("--percent-of-yield", metavar="SHARE", help="wanted share of the minimum yield")
    given.add_argument("--torque", metavar="TORQUE", help="what preload does this torque give?")
    given.add_argument("--published", metavar="TORQUE", help="published torque, needs --from and --to")
    parser.add_argument("--condition", help="thread condition: dry, oiled, anti-seize ...")
    parser.add_argument("--from", dest="from_", metavar="CONDITION", help="condition the torque was published for")
    parser.add_argument("--to", metavar="CONDITION", help="condition of the threads at hand")
    parser.add_argument("--change", metavar="PERCENT", help="change that the governing instruction states: '-45 %%'")
    parser.add_argument("--nut-factor", metavar="K", help="own K of the threads at hand; needs --source")
    parser.add_argument("--source", metavar="TEXT", help="where that K comes from")
    parser.add_argument("--unit", choices=sorted(TORQUE_UNITS), default="N*m", help="unit of torques in the answer")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Compute and print.

    Returns:
        0. Bad input and unsafe figures are raised.
    """
    found = _computed(args)
    shown = [(text, read_as(text, "torque")) for text in (args.torque, args.published) if text is not None]
    for text, ours in shown:
        if ours is not None:
            read = Remark("note", "units as wrenches show them", f"'{text}' is read as {ours}.")
            found = replace(found, remarks=(*found.remarks, read))
    if args.json:
        print(json.dumps(_document(found), indent=2, allow_nan=False))
        return 0
    print(
        f"{found.thread.name} {found.strength.grade}, {found.condition.name}: "
        f"torque {show(found.torque, found.unit)}, preload {show(found.preload.preload, 'kN')}, "
        f"{found.percent_of_proof:.0f} % of proof"
    )
    for reason in found.reasons:
        print(f"  {reason.title}: {reason.formula}")
        for term in reason.terms:
            print(f"    {term.text} [{term.source}]")
        print(f"    -> {reason.result}\n       [{reason.source}]")
    for remark in found.remarks:
        print(f"  {remark.grade}: {remark.text}")
    print(f"  {SAFETY[0].replace('this sheet', 'this answer')}")
    return 0


def _computed(args: argparse.Namespace) -> SingleBolt:
    bolt = thread(args.thread)
    strength = strengths.material(args.grade, bolt)
    if args.published is not None:
        return _published(args, bolt, strength)
    for option in ("from_", "to", "change"):
        if getattr(args, option) is not None:
            name = option.strip("_")
            raise BadSettings(f"--{name} is {getattr(args, option)!r}", remedy="It goes with --published only.")
    if args.condition is None:
        raise BadSettings("torque: no thread condition", remedy="Add --condition dry, oiled, anti-seize ...")
    at_hand = _condition(args, args.condition)
    if args.torque is not None:
        torque = quantity(args.torque, "torque", field="--torque")
        return from_torque(torque, bolt, strength, condition=at_hand, unit=args.unit)
    return from_preload(_preload(args, bolt, strength), bolt, strength, condition=at_hand, unit=args.unit)


def _published(args: argparse.Namespace, bolt: Thread, strength: strengths.Strength) -> SingleBolt:
    if args.condition is not None:
        raise BadSettings(f"--condition is {args.condition!r}", remedy="With --published use --from and --to.")
    if args.from_ is None or args.to is None:
        raise BadSettings("--published without --from and --to", remedy="Name both thread conditions.")
    change = None if args.change is None else float(quantity(args.change, "percent", field="--change").magnitude)
    return from_published(
        quantity(args.published, "torque", field="--published"),
        bolt,
        strength,
        published_for=thread_condition(args.from_),
        condition=_condition(args, args.to),
        change_percent=change,
        unit=args.unit,
    )


def _condition(args: argparse.Namespace, name: str) -> ThreadCondition:
    """The published condition, or one with the user's own nut factor."""
    if args.nut_factor is None:
        if args.source is not None:
            raise BadSettings(f"--source is {args.source!r}", remedy="It goes with --nut-factor only.")
        return thread_condition(name)
    if args.source is None:
        raise BadSettings("--nut-factor without --source", remedy="Say where that K comes from: test, size, lubricant.")
    value = float(quantity(args.nut_factor, "friction", field="--nut-factor").magnitude)
    least, most = NUT_FACTORS
    known = next((each for each in CONDITIONS.values() if name.casefold() == each.name.casefold()), None)
    return stated_condition(
        name,
        nut_factor=value,
        low=max(value * (1 - _UNKNOWN_SCATTER), min(least, value)),
        high=min(value * (1 + _UNKNOWN_SCATTER), max(most, value)),
        source=f"{args.source}; +/- 25 % assumed for single bolts (Machinery's Handbook, read)",
        lubricated=known is None or known.lubricated,
    )


def _preload(args: argparse.Namespace, bolt: Thread, strength: strengths.Strength) -> Quantity:
    if args.preload is not None:
        return quantity(args.preload, "force", field="--preload")
    if args.stress is not None:
        return strengths.preload_at(quantity(args.stress, "stress", field="--stress"), bolt)
    of_yield = args.percent_of_yield is not None
    option, text = ("--percent-of-yield", args.percent_of_yield) if of_yield else ("--percent-of-proof", "")
    text = text or args.percent_of_proof
    share = magnitude(quantity(text, "percent", field=option), "", name="share")
    if not 0 < share <= 1:
        raise BadSettings(f"{option} is {text!r}", remedy="Above 0 % and up to 100 %.")
    load = strengths.yield_load(strength, bolt) if of_yield else strengths.proof_load(strength, bolt)
    return of(magnitude(load, "kN", name="load") * share, "kN")


def _document(found: SingleBolt) -> dict[str, Any]:
    band = found.preload
    return {
        "thread": found.thread.name,
        "grade": found.strength.grade,
        "condition": found.condition.name,
        "nut_factor": found.condition.nut_factor,
        "torque": _number(found.torque, found.unit),
        "unit": found.unit,
        "rule": found.rule,
        "preload_kN": _number(band.preload, "kN"),
        "preload_low_kN": _number(band.low, "kN"),
        "preload_high_kN": _number(band.high, "kN"),
        "stress_MPa": _number(found.stress, "MPa"),
        "percent_of_proof": round(found.percent_of_proof, 2),
        "reasons": [reason.line for reason in found.reasons],
        "calculation": [reason.document for reason in found.reasons],
        "remarks": [{"grade": each.grade, "text": each.text} for each in found.remarks],
    }


def _number(value: Quantity, unit: str) -> float:
    return float(rounded(magnitude(value, unit, name="result"), 4))
