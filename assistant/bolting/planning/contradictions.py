"""Statements of a joint file that cannot both be true: pressure and flange class, gasket and bolt circle, lengths."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.bolting.joint.flanges import FlangeBolting
from assistant.bolting.joint.pressure_rating import highest_rating
from assistant.bolting.joint_file.joint import NEEDS_GASKET, BoltGroup, Joint
from assistant.bolting.joint_file.joint_fields import Finding, written
from assistant.bolting.threads_and_strength import threads
from assistant.bolting.units import Quantity, magnitude, of, show

NUT_HEIGHT = 0.8
"""Height of a hexagon nut in bolt diameters. Source: ISO 4032 style 1 (from memory)."""
LEAST_ENGAGEMENT = 1.0
"""Thread engaged in a tapped hole in steel, in bolt diameters, at the least. Common practice, no source."""
_THREADS_OUT = 1.0  # pitches that stand out of a nut, at the least (common practice, no source)
_LEAST_GRIP = 0.5  # of two flanges, in bolt diameters: no drilled flange is thinner (common practice, no source)


def contradictions(joint: Joint) -> tuple[Finding, ...]:
    """Everything that contradicts a standard's figure or the file's own; empty when nothing does."""
    found = [*_pressure(joint), *_gasket_ring(joint)]
    for at, group in enumerate(joint.groups, start=1):
        found += _lengths(joint, at, group)
    return tuple(found)


def _pressure(joint: Joint) -> Iterator[Finding]:
    if joint.flange is None or joint.gasket is None:
        return
    rated, known = highest_rating(joint.flange.bolting.rating)
    if joint.gasket.pressure > rated:
        flange = joint.flange.bolting
        why = f"{flange.standard} {flange.rating} bears {show(rated, 'bar')} at most, cold and in any steel ({known})"
        yield Finding(
            "gasket.pressure", written(joint.gasket.pressure), why, "the pressure of this line, or its flange"
        )


def _gasket_ring(joint: Joint) -> Iterator[Finding]:
    """The sealing ring against bolt holes and bore."""
    gasket, flange = joint.gasket, joint.flange
    if gasket is None:
        return
    outer = magnitude(gasket.outer_diameter, "mm", name="outer diameter")
    edge = _hole_edge(joint, None if flange is None else flange.bolting)
    if edge is not None and outer > edge and not gasket.full_face:
        yield Finding(
            "gasket.outer_diameter",
            written(gasket.outer_diameter),
            f"the sealing ring would lie across the bolts, which leave {edge:.4g} mm inside of them",
            "the diameters of the sealing ring, inside the bolts; or full_face = true",
        )
    if flange is not None:
        bore = _nominal_bore_mm(flange.bolting)
        if outer <= bore:
            why = f"the whole sealing ring would lie inside the bore of {flange.bolting.size}, about {bore:.4g} mm"
            yield Finding("gasket.outer_diameter", written(gasket.outer_diameter), why, "the sealing ring's diameters")


def _hole_edge(joint: Joint, flange: FlangeBolting | None) -> float | None:
    """Diameter that touches the bolts from inside, mm; None where no bolt circle is known."""
    circle = joint.ring.bolt_circle if joint.ring is not None else None
    if flange is not None:
        circle = flange.bolt_circle
    if circle is None:
        return None
    bolt = threads.thread(joint.groups[0].thread).diameter
    return magnitude(circle, "mm", name="bolt circle") - magnitude(bolt, "mm", name="bolt diameter")


def _nominal_bore_mm(flange: FlangeBolting) -> float:
    """About the bore of a nominal size: DN in mm, NPS in inches."""
    kind, _, number = flange.size.partition(" ")
    if kind == "DN":
        return float(number)
    parts = [float(part) if "/" not in part else _fraction(part) for part in number.split()]
    return 25.4 * sum(parts)


def _fraction(text: str) -> float:
    top, bottom = text.split("/")
    return float(top) / float(bottom)


def _lengths(joint: Joint, at: int, group: BoltGroup) -> Iterator[Finding]:
    """Bolts too short to reach through their parts and the nut, or to hold in a tapped hole."""
    thread = threads.thread(group.thread)
    d, pitch = (magnitude(each, "mm", name="thread") for each in (thread.diameter, thread.pitch))
    through = joint.kind in NEEDS_GASKET or group.nut is not None
    least = _LEAST_GRIP * d + NUT_HEIGHT * d + _THREADS_OUT * pitch if through else LEAST_ENGAGEMENT * d
    what = "clamps nothing and fills its nut" if through else "cannot even hold one diameter of thread"
    lengths: list[tuple[str, Quantity]] = [(f"groups[{at}].length", group.length)]
    lengths += [
        (f"groups[{at}].other_lengths[{number}].length", other.length)
        for number, other in enumerate(group.other_lengths, start=1)
    ]
    for field, length in lengths:
        if magnitude(length, "mm", name="length") < least:
            why = f"a {thread.name} bolt of this length {what}"
            yield Finding(
                field, written(length), why, f"more than {show(of(least, 'mm'), 'mm')}, as the drawing has it"
            )
            return
    if group.grip is not None:
        yield from _grip(at, group, d, pitch)
    if group.engagement is not None:
        found = magnitude(group.engagement, "mm", name="engagement")
        if found < 0.5 * d:
            why = f"{found / d:.2f} diameters of thread hold less than the bolt: it would be torn out"
            allowed = f"at least {show(of(LEAST_ENGAGEMENT * d, 'mm'), 'mm')} in steel, more in softer metal"
            yield Finding(f"groups[{at}].engagement", written(group.engagement), why, allowed)


def _grip(at: int, group: BoltGroup, d: float, pitch: float) -> Iterator[Finding]:
    assert group.grip is not None
    grip = magnitude(group.grip, "mm", name="grip")
    end = magnitude(group.engagement, "mm", name="engagement") if group.engagement is not None else NUT_HEIGHT * d
    out = 0.0 if group.engagement is not None else _THREADS_OUT * pitch
    needed = grip + end + out
    if magnitude(group.length, "mm", name="length") < needed - 0.5:
        parts = f"{grip:g} mm grip and {end:.3g} mm of thread" + (f" and {out:.2g} mm to stand out" if out else "")
        why = f"too short: {parts} make {show(of(needed, 'mm'), 'mm')}"
        yield Finding(f"groups[{at}].length", written(group.length), why, "bolts that reach, or the right grip")
