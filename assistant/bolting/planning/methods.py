"""Ways other than torque to reach the target: what is done after the torque passes, with its reading and window.

Each step has its own reading: degrees, millimetres or bar. `procedure.stage_passes` makes the stages of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.bolting.friction_and_torque.turn_of_nut import (
    SNUG_HIGHEST_PERCENT,
    SNUG_KIP,
    snug_tension,
    turn_from_snug,
)
from assistant.bolting.joint import interaction, stiffness
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_parts import Method
from assistant.bolting.planning.group_figures import GroupFigures, minimum_pretension
from assistant.bolting.planning.load_budget import STEEL, bolt_stiffness_of, joint_gives, stretched_length
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark, figure, percent
from assistant.bolting.threads_and_strength.strength import tensile_load, yield_load
from assistant.bolting.tightening.passes import Pass
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

# Combined method of EN 1090-2: grip in diameters below which the further turn in degrees holds (from memory).
_COMBINED: tuple[tuple[float, float], ...] = ((2.0, 60.0), (6.0, 90.0), (10.0, 120.0))
_FEELER_MM = 0.4
"""Feeler that no longer enters half of the gaps of a direct tension washer. Source: ASTM F959, from memory."""
_TURN_WINDOW = ((0.5, 30.0), (2.0, 45.0))
"""Turns up to which the nut may be off by so many degrees. Source: RCSC specification, from memory."""
_ANGLE_WINDOW = (-5.0, 10.0)  # degrees, common practice, no source
_STRETCH_PERCENT = 5.0  # of the elongation: NASA and Machinery's Handbook for the method (read)
_PRESSURE_PERCENT = 2.0  # of the gauge reading, common practice, no source
FINEST = {"deg": 1.0, "mm": 0.001, "bar": 1.0}
"""Finest step to which a dial or gauge of each unit is read (common practice, no source)."""
_LEAST_TRANSFER = 1.1
"""Load pulled over load kept by a tensioner, at the least; else 1.01 + d/L.

Source: public pages of tool makers (read)."""
_TENSIONER_YIELD = 0.95
"""Share of yield that a bolt may see while it is stretched. Source: a public page of a tool maker (read)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodStep:
    """One step after the torque passes, done on every bolt in the plan's order.

    Args:
        name: what is done. bolts: which bolts, in order.
        unit: of the reading: deg, mm or bar. target, low, high: the reading and its accepted window.
        text: how, in a sentence. source: where the figures come from.
    """

    name: str
    bolts: tuple[int, ...]
    unit: str
    target: Quantity
    low: Quantity
    high: Quantity
    text: str
    source: str


def method_steps(joint: Joint, figures: GroupFigures, order: tuple[int, ...]) -> tuple[MethodStep, ...]:
    """The steps of the group's method; empty where torque alone reaches the target.

    Args:
        joint: the whole joint.
        figures: of the group.
        order: its bolts in the order of a pattern pass.

    Raises:
        BadBolting: a grip or length that the method's table does not hold.
    """
    method = figures.group.method
    if method is None:
        return ()
    make = {
        "torque then angle": _angle,
        "turn of nut": _turn,
        "direct tension washers": _washers,
        "hydraulic tensioner": _tensioner,
        "elongation": _elongation,
    }[method.kind]
    return tuple(make(joint, figures, method, order))


def _turned(
    name: str, order: tuple[int, ...], degrees: float, window: tuple[float, float], *, text: str, source: str
) -> MethodStep:
    low, high = window
    return MethodStep(
        name=name,
        bolts=order,
        unit="deg",
        target=of(degrees, "deg"),
        low=of(degrees + low, "deg"),
        high=of(degrees + high, "deg"),
        text=text,
        source=source,
    )


def _grip_mm(figures: GroupFigures) -> float:
    assert figures.group.grip is not None, "checked when the joint was made"
    return magnitude(figures.group.grip, "mm", name="grip")


def _angle(joint: Joint, figures: GroupFigures, method: Method, order: tuple[int, ...]) -> Iterator[MethodStep]:
    del joint
    source = "joint file"
    if method.angle is not None:
        degrees = magnitude(method.angle, "deg", name="angle")
    else:
        grip = _grip_mm(figures) / magnitude(figures.thread.diameter, "mm", name="d")
        if grip > _COMBINED[-1][0]:
            remedy = "Write the angle that a test gave."
            raise BadBolting(f"torque then angle: grip of {grip:.3g} diameters", remedy=remedy)
        degrees = next((each for limit, each in _COMBINED if grip < limit), _COMBINED[-1][1])
        source = "EN 1090-2 combined method by grip (from memory)"
    text = "Mark nut, bolt and part after the last torque pass, then turn the nut on by the angle."
    yield _turned("further turn", order, degrees, _ANGLE_WINDOW, text=text, source=source)


def _turn(joint: Joint, figures: GroupFigures, method: Method, order: tuple[int, ...]) -> Iterator[MethodStep]:
    del joint
    turns = turn_from_snug(figures.group.length, figures.thread.diameter, sloped_faces=method.sloped_faces)
    off = next(each for limit, each in _TURN_WINDOW if turns <= limit)
    text = f"From snug, parts in firm contact: mark nut and bolt, then turn by {turns} of a turn."
    source = "RCSC turn-of-nut table (read in a public summary); window from memory"
    yield _turned("turn from snug", order, 360 * float(turns), (-off, off), text=text, source=source)


def _washers(joint: Joint, figures: GroupFigures, method: Method, order: tuple[int, ...]) -> Iterator[MethodStep]:
    del joint, figures, method
    yield MethodStep(
        name="gap of the direct tension washer",
        bolts=order,
        unit="mm",
        target=of(_FEELER_MM, "mm"),
        low=of(0.0, "mm"),
        high=of(_FEELER_MM, "mm"),
        text=f"Tighten until a {_FEELER_MM:g} mm feeler no longer enters more than half of the gaps.",
        source="ASTM F959, from memory; the maker's own figure comes first",
    )


def _elongation(joint: Joint, figures: GroupFigures, method: Method, order: tuple[int, ...]) -> Iterator[MethodStep]:
    del joint, method
    length = stretched_length(figures)
    assert length is not None, "checked when the joint was made"
    stretch = stiffness.elongation(figures.basis, length, area=figures.thread.stress_area, modulus=STEEL)
    value, off = magnitude(stretch, "mm", name="elongation"), _STRETCH_PERCENT / 100
    yield MethodStep(
        name="elongation",
        bolts=order,
        unit="mm",
        target=stretch,
        low=of(value * (1 - off), "mm"),
        high=of(value * (1 + off), "mm"),
        text="Measure the length loose and again tightened, at the same temperature; the difference is the reading.",
        source="dL = F L/(A E), threaded over the grip and 0.4 d in each nut (VDI 2230, from memory)",
    )


def transfer(figures: GroupFigures, method: Method) -> float:
    """Load that a tensioner pulls over the load that the bolt keeps: the maker's, or 1.01 + d/L, 1.1 at the least."""
    if method.load_transfer is not None:
        return magnitude(method.load_transfer, "", name="load transfer")
    return max(1.01 + magnitude(figures.thread.diameter, "mm", name="d") / _grip_mm(figures), _LEAST_TRANSFER)


def _tensioner(joint: Joint, figures: GroupFigures, method: Method, order: tuple[int, ...]) -> Iterator[MethodStep]:
    factor = transfer(figures, method)
    area = magnitude(method.piston_area, "mm2", name="piston area") if method.piston_area is not None else 0.0
    kept = magnitude(figures.basis, "N", name="preload")
    bar = 10 * kept * factor / area
    source = f"p = F x {factor:.3g}/A; load transfer 1.01 + d/L (read) or the tensioner's own"
    text = "Pull, run the nut down by hand until it is tight, let the pressure off."
    if method.bolts_at_once == "all":
        yield _pressure("pressure", order, bar, text, source)
        yield _pressure("check", order, bar, "Once more on all bolts, until no nut moves.", source)
        return
    first, second = (order_half(figures.group.count, start) for start in (1, 2))
    yield _pressure("pressure A", first, bar * first_half_factor(joint, figures), text, source)
    yield _pressure("pressure B", second, bar, text, source)
    yield _pressure("check", first, bar, "Pressure B once more on the first half, until no nut moves.", source)


def _pressure(name: str, bolts: tuple[int, ...], bar: float, text: str, source: str) -> MethodStep:
    off = _PRESSURE_PERCENT / 100
    return MethodStep(
        name=name,
        bolts=bolts,
        unit="bar",
        target=of(bar, "bar"),
        low=of(bar * (1 - off), "bar"),
        high=of(bar * (1 + off), "bar"),
        text=text,
        source=source,
    )


def order_half(count: int, start: int) -> tuple[int, ...]:
    """Every other bolt from a start, 1 or 2: those that carry a tool at the same time."""
    return tuple(range(start, count + 1, 2))


def first_half_factor(joint: Joint, figures: GroupFigures) -> float:
    """How much more the first half must be pulled, because the second half takes load from it; 1 or more.

    The softest joint assumed counts (`load_budget.joint_gives`), but at most 1.5 times.
    """
    count = figures.group.count
    give = joint_gives(joint, figures)[0][-1]
    halves = tuple(
        Pass(number=number, kind="pattern", steps=(order_half(count, number),), percents=(100.0,)) for number in (1, 2)
    )
    kept = interaction.predict(halves, count, joint=give).outcomes[-1].preload[0]
    return min(100 / max(kept, 1.0), 1.5)


def preload_after_turn(joint: Joint, figures: GroupFigures, degrees: Quantity) -> Quantity | None:
    """Preload of a bolt after the last torque pass and a further turn, kN, elastic parts and bolt; None if unknown.

    It does not rise past the yield load.
    """
    bolt, give = bolt_stiffness_of(figures), None
    if bolt is None:
        return None
    if joint.gasket is None and figures.group.grip is not None:
        give = stiffness.clamped_stiffness(figures.thread.diameter, figures.group.grip, modulus=STEEL)
    one = of(1.0, "kN")
    per_kn = magnitude(stiffness.nut_turn(one, bolt=bolt, pitch=figures.thread.pitch, joint=give), "deg", name="turn")
    rise = magnitude(degrees, "deg", name="turn") / per_kn
    reached = magnitude(figures.load.preload, "kN", name="preload") + rise
    return of(min(reached, magnitude(yield_load(figures.strength, figures.thread), "kN", name="yield load")), "kN")


def method_reasons(joint: Joint, figures: GroupFigures, steps: tuple[MethodStep, ...]) -> Iterator[Reason]:
    """What the method's steps rest on."""
    method = figures.group.method
    if method is None:
        return
    snug = show(figures.load.preload, figures.force_unit)
    for each in steps:
        result = f"{show(each.low, each.unit)} to {show(each.high, each.unit)}"
        if each.unit == "deg":
            reached = preload_after_turn(joint, figures, each.target)
            if reached is not None:
                result += f", about {show(reached, figures.force_unit, digits=3)} a bolt (yield at the most)"
        yield Reason(
            title=f"{method.kind.capitalize()}: {each.name}",
            formula="",
            terms=(
                Term("F1", "preload after the last torque pass", snug, "above"),
                Term("F", "target", show(figures.basis, figures.force_unit), "above"),
                Term("", "how", each.text, each.source),
            ),
            result=f"{show(each.target, each.unit)}, accepted {result}",
            source=each.source,
        )


def method_remarks(joint: Joint, figures: GroupFigures, steps: tuple[MethodStep, ...]) -> Iterator[Remark]:
    """Stops and cautions of a method that is not torque."""
    method = figures.group.method
    if method is None:
        return
    for each in steps:
        finest = FINEST[each.unit]
        if magnitude(each.high, each.unit, name="high") - magnitude(each.low, each.unit, name="low") < 2 * finest:
            window = f"{show(each.low, each.unit)} to {show(each.high, each.unit)}"
            text = f"The window of {each.name}, {window}, is finer than a reading to {finest:g} {each.unit}."
            yield Remark("stop", "window too fine to read", text, "common practice, no source")
    if method.kind == "elongation":
        share = (
            100
            * magnitude(figures.final.stress, "MPa", name="S")
            / magnitude(figures.strength.yield_, "MPa", name="Sy")
        )
        usual = 100 * stiffness.STRETCH_SHARE_OF_YIELD
        text = f"Stretched to {share:.0f} % of yield; coupling bolts of hydro units go to {usual:g} %."
        yield Remark("note", "stretch", text, "hydro overhaul procedure of a US water agency (read in a public copy)")
    if method.kind == "turn of nut":
        yield from _inch_snug(figures)
        whole = magnitude(tensile_load(figures.strength, figures.thread), "kN", name="tensile load")
        share = 100 * magnitude(figures.load.preload, "kN", name="snug") / whole
        if share > SNUG_HIGHEST_PERCENT:
            most = f"{SNUG_HIGHEST_PERCENT:g} % at most before the turn"
            text = f"Snug passes go to {share:.0f} % of the tensile load: {most}."
            parts = (percent(share, digits=2), percent(SNUG_HIGHEST_PERCENT))
            source = "state bridge instruction memorandum (read)"
            yield Remark("stop", "snug too tight for the turn", text, source, parts)
    if method.kind in ("torque then angle", "turn of nut") and figures.group.structural is not None:
        reached = preload_after_turn(joint, figures, steps[0].target)
        least = minimum_pretension(figures.group, figures.thread)
        if reached is not None and reached < least:
            gives, wants = (show(each, figures.force_unit, digits=3) for each in (reached, least))
            text = f"The turn gives about {gives}, {wants} is needed."
            both = tuple(figure(each, figures.force_unit) for each in (reached, least))
            yield Remark("stop", "turn too small", text, "elastic bolt", both)
    if method.kind == "hydraulic tensioner":
        yield from _tensioner_limits(figures, method, steps)


def _inch_snug(figures: GroupFigures) -> Iterator[Remark]:
    """Snug tension of the rotational capacity test, on inch bolts."""
    size = figures.thread.name.split(" UN")[0].rsplit("-", 1)[0]
    if size in SNUG_KIP:
        text = f"The rotational capacity test of these bolts begins at {show(snug_tension(size), 'kip')} a bolt."
        yield Remark("note", "snug tension", text, "a public state works specification (read)")


def _tensioner_limits(figures: GroupFigures, method: Method, steps: tuple[MethodStep, ...]) -> Iterator[Remark]:
    most = max(steps, key=lambda each: each.target)
    if method.highest_pressure is not None and most.target > method.highest_pressure:
        bears = show(method.highest_pressure, "bar")
        text = f"{show(most.target, 'bar')} is needed and tool, hose or pump bear {bears}."
        parts = (figure(most.target, "bar"), figure(method.highest_pressure, "bar"))
        yield Remark("stop", "tensioner too small", text, "the tensioner's label", parts)
    area = magnitude(method.piston_area, "mm2", name="area") if method.piston_area is not None else 0.0
    pulled = magnitude(most.target, "MPa", name="pressure") * area / 1000
    limit = _TENSIONER_YIELD * magnitude(yield_load(figures.strength, figures.thread), "kN", name="yield load")
    if pulled > limit:
        text = f"A bolt is pulled to {pulled:.4g} kN, more than 95 % of its yield load ({limit:.4g} kN)."
        pulls = (figure(of(pulled, "kN"), "kN"),)
        yield Remark("stop", "tensioner over-stretches the bolt", text, "a public page of a tool maker (read)", pulls)
