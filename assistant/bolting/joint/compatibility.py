"""Whether grade, finish, lubricant, nut and thread suit each other: what a standard or the metal itself rules out."""

from __future__ import annotations

import re
from collections.abc import Iterator

from assistant.bolting.friction_and_torque.friction import ThreadCondition
from assistant.bolting.remark import Remark
from assistant.bolting.threads_and_strength import nuts
from assistant.bolting.threads_and_strength.strength import Strength
from assistant.bolting.threads_and_strength.threads import Thread

_AUSTENITIC = re.compile(r"A[1-5]-|A8-|D[2468]-|A193 B8|A320 B8|A453 660|F593|X6NiCrTiMoVB25-15-2")
_COATED = ("zinc", "cadmium", "galvanised", "phosphate", "black", "zinc flake")
_HARDEST = ("12.9", "A574", "A490", "F3125 A490", "A490M", "A354 BD", "A540 B23 class 1", "A540 B24 class 1")
_HARD = ("10.9", "SAE 8", "SAE 8.2")
_HYDROGEN = "ISO 4042: electroplating and hydrogen embrittlement of hard bolts (from memory)"
_GALVANISED = "ISO 10684 galvanises up to class 10.9; RCSC does not galvanise A490 (from memory)"
_GALLING = "stainless threads gall when dry, and the dry steel nut factor is not theirs (common practice, no source)"


def is_stainless(grade: str) -> bool:
    """Whether a grade is an austenitic, duplex or like steel whose threads gall."""
    return _AUSTENITIC.match(grade) is not None


def compatibility(strength: Strength, condition: ThreadCondition, thread: Thread, nut: str | None) -> Iterator[Remark]:
    """Combinations that a standard or the metal rules out, as remarks of grade stop or caution.

    Args:
        strength: of the bolt.
        condition: thread condition, with its finish.
        thread: of the bolt.
        nut: nut class or grade as written, None where none is named.

    Source: each remark carries its own.
    """
    yield from _condition(strength, condition)
    yield from _finish(strength, condition)
    if nut is not None:
        yield from _nut(strength, thread, nuts.nut(nut))


def _condition(strength: Strength, condition: ThreadCondition) -> Iterator[Remark]:
    stainless = is_stainless(strength.grade)
    if condition.name == "unknown":
        text = "The thread condition is unknown: find out what is on the threads before the first bolt is tightened."
        yield Remark("stop", "thread condition unknown", text, "the same torque gives very different preloads")
    if condition.finish == "rust":
        text = "The threads are rusty: clean or replace them, then write the condition that they are in."
        yield Remark("stop", "rusty threads", text, "common practice, no source")
    if condition.name == "stainless dry" and not stainless:
        text = f"The condition is dry stainless and {strength.grade} is no stainless grade: correct one of the two."
        yield Remark("stop", "condition of another steel", text, _GALLING)
    if stainless and condition.finish == "" and not condition.lubricated and condition.name != "unknown":
        text = f"{strength.grade} threads are {condition.name}: dry stainless threads gall and seize; lubricate them."
        yield Remark("stop", "dry stainless threads", text, _GALLING)


def _finish(strength: Strength, condition: ThreadCondition) -> Iterator[Remark]:
    grade, finish = strength.grade, condition.finish
    if is_stainless(grade) and finish in _COATED:
        text = (
            f"{grade} with {condition.name} threads: stainless bolts carry no such coating; correct grade or condition."
        )
        if finish in ("zinc", "galvanised"):
            text += " Zinc on stainless cracks it when it gets hot."
        yield Remark("stop", "coating on stainless", text, "common practice, no source")
        return
    if finish in ("zinc", "cadmium"):
        text = (
            f"{grade} electroplated with {finish}: hydrogen may embrittle the bolt and break it days after tightening."
        )
        if grade in _HARDEST:
            yield Remark("stop", "hydrogen embrittlement", text, _HYDROGEN)
        elif grade in _HARD:
            yield Remark("caution", "hydrogen embrittlement", f"{text} Ask for proof of baking.", _HYDROGEN)
    if finish == "galvanised" and grade in _HARDEST:
        text = f"{grade} hot-dip galvanised: no standard allows it for so hard a bolt."
        yield Remark("stop", "galvanised hard bolt", text, _GALVANISED)


def _nut(strength: Strength, thread: Thread, nut: nuts.Nut) -> Iterator[Remark]:
    metric_nut, inch_nut = nut.standard.startswith("ISO"), nut.standard == "ASTM A563"
    if (metric_nut and thread.system == "UN") or (inch_nut and thread.system == "metric"):
        system = "metric" if metric_nut else "inch"
        text = f"Nut {nut.name} is of {nut.standard}, for {system} threads; the bolt is {thread.name}."
        yield Remark("stop", "nut of another thread", text, nut.standard)
    if is_stainless(strength.grade) != nut.stainless:
        one, other = ("stainless", "carbon steel") if not nut.stainless else ("carbon steel", "stainless")
        text = f"Bolt {strength.grade} is {one}, nut {nut.name} is {other}: other strength, expansion and corrosion."
        yield Remark("caution", "nut of another steel", text, "common practice, no source")
    for text in nuts.check_nut(nut, strength):
        source = "ISO 898-2 (from memory), or tensile rule: no source"
        yield Remark("stop", "nut too weak", f"{text[0].upper()}{text[1:]}.", source)
