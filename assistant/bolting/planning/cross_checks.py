"""Lines of the sheet that check the main figures in other ways: long form, VDI 2230, bearing pressure, steps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal

from assistant.bolting.friction_and_torque import friction, scatter, structural, torque, vdi2230
from assistant.bolting.friction_and_torque.condition import preload_ratio
from assistant.bolting.joint.flanges import spacing_is_usual, spacing_ratio
from assistant.bolting.joint.relaxation import DWELL_H
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.group_figures import GroupFigures, minimum_pretension
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Figure, Remark, figure, percent
from assistant.bolting.threads_and_strength.bearing import bearing_face, rough_bearing_diameter
from assistant.bolting.tightening import pattern
from assistant.bolting.tightening.pass_plans import published_as
from assistant.bolting.tightening.passes import ROUNDS_EXPECTED
from assistant.bolting.tightening.pattern import ROUND, family_name
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

_VDI_SHARE = 0.9
SOFT_PARTS = of(490.0, "MPa")
"""Pressure under a head that parts of S235 bear. Source: VDI 2230 limiting surface pressures, from memory."""


def long_form(figures: GroupFigures) -> Iterator[Reason]:
    """Where the torque goes, and the preload that VDI 2230 would give these bolts at 90 % of yield."""
    mu = figures.load.friction
    if mu is None:
        return
    face = rough_bearing_diameter(figures.thread)
    shares = torque.torque_shares(
        figures.load.preload, figures.thread, thread_friction=mu, bearing_friction=mu, bearing_diameter=face
    )
    stretch, thread, head = shares.percent
    published = friction.FRICTION_COEFFICIENTS["lubricated" if figures.condition.lubricated else "not lubricated"]
    yield Reason(
        title="Where the torque goes",
        formula="T = F (P/(2 pi) + mu d2/(2 cos 30 deg) + mu Db/2)",
        terms=(
            Term("mu", "friction that gives K on a face of 1.25 d", f"{mu:.3f}", "above"),
            Term("", "published for such faces", f"{published.low:g} to {published.high:g}", published.source),
        ),
        result=f"{stretch:.0f} % stretches the bolt, {thread:.0f} % goes into the thread, {head:.0f} % under the head",
        source="JIS B 1083, Machinery's Handbook 31st ed. p. 1662 (read)",
    )
    most = vdi2230.assembly_preload(figures.thread, figures.strength.yield_, friction=mu, share=_VDI_SHARE)
    least = vdi2230.minimum_preload(most, tightening_factor=scatter.TORQUE_WRENCH_FACTOR)
    full = vdi2230.assembly_torque(most, figures.thread, thread_friction=mu, bearing_friction=mu, bearing_diameter=face)
    yield Reason(
        title="VDI 2230, for comparison",
        formula="FM = 0.9 Sy As/(1 + 3 (t/S)^2)^0.5, FMmin = FM/alpha_A",
        terms=(
            Term("alpha_A", "tightening factor, torque wrench", f"{scatter.TORQUE_WRENCH_FACTOR:g}", "read"),
            Term("MA", "torque of FM", show(full, figures.unit), "long form above"),
        ),
        result=f"FM = {show(most, figures.force_unit)} at 90 % of yield, FMmin = {show(least, figures.force_unit)}",
        source="VDI 2230 with plastic torsion (formula from memory); a comparison, no compliance is claimed",
    )


def bearing_pressure(figures: GroupFigures) -> Quantity | None:
    """Pressure under head or nut in the end, MPa; None for a thread whose usual face is not known here."""
    style = "hexagon" if figures.thread.system == "metric" else "heavy hexagon"
    try:
        face = bearing_face(figures.thread, style)
    except BadBolting:
        return None
    outer, inner = (magnitude(each, "mm", name="bearing face") for each in (face.outer, face.inner))
    area = math.pi / 4 * (outer**2 - inner**2)
    return of(magnitude(figures.final.preload, "N", name="preload") / area, "MPa")


def structural_reason(figures: GroupFigures) -> Iterator[Reason]:
    """The two steps of the EN 1090-2 torque method."""
    if figures.group.structural != "EN 1090-2":
        return
    preload = minimum_pretension(figures.group, figures.thread)
    first, second = structural.en1090_torques(preload, figures.thread, k=figures.condition.nut_factor)
    yield Reason(
        title="EN 1090-2 torque method",
        formula="Mr = k d Fp,C; 0.75 Mr, then 1.10 Mr",
        terms=(
            Term("Fp,C", "0.7 fub As", show(preload, figures.force_unit), "EN 1090-2"),
            Term("k", "of the assembly's certificate", f"{figures.condition.nut_factor:g}", figures.condition.chosen),
        ),
        result=f"first step {show(first, figures.unit)}, second step {show(second, figures.unit)}",
        source="EN 1090-2:2008+A1 (read in public product data)",
    )


def order_terms(figures: GroupFigures, order: tuple[int, ...]) -> Iterator[Term]:
    """How good order and passes are: balance, distance that the wrench travels, published plans like them."""
    own = figures.tightening
    whole = len(order) == figures.group.count > 1 and figures.group.tools_at_once == 1
    if whole and family_name(own.order) in ROUND:
        worst = pattern.imbalance(order)
        yield Term("", "largest pull to one side in the first pass", f"{worst:.2f} bolt loads", "vector sum, computed")
        yield Term("", "way of the wrench in a pass", f"{pattern.walk(order)} bolt pitches", "counted")
    found = published_as(own.percents)
    if found is not None:
        yield Term("", "passes as published", found.name, found.source)
    if own.circular:
        usual = f"{ROUNDS_EXPECTED} rounds are usual"
        yield Term("", "circular rounds", usual, "read in public flange articles")


def converted_term(figures: GroupFigures, published_for: friction.ThreadCondition) -> Term:
    """What the published torque itself would do on these threads."""
    ratio = preload_ratio(published_for=published_for.nut_factor, at_hand=figures.condition.nut_factor)
    return Term("", "load if it were not converted", f"{ratio:.2f} times the one meant", "K1/K2")


def cross_remarks(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """What these checks show: soft parts under the head, odd spacing, short settling, odd cuts and steps."""
    pressed = bearing_pressure(figures)
    if pressed is not None and pressed > SOFT_PARTS:
        text = f"Head and nut press with {show(pressed, 'MPa', digits=3)}: parts softer than C45 need hardened washers."
        source = "VDI 2230 limiting pressures (from memory)"
        yield Remark("caution", "pressure under the head", text, source, (figure(pressed, "MPa"),))
    yield from _spacing(joint, figures)
    own = figures.tightening
    if joint.gasket is not None and own.dwell is not None and magnitude(own.dwell, "h", name="dwell") < DWELL_H:
        text = f"Settling time {show(own.dwell, 'h')}: {DWELL_H:g} h at the least is recommended for gaskets."
        source = "abstract of an ASME PVP2021 paper on PCC-1 (read)"
        parts = (figure(own.dwell, "h"), Figure(Decimal(f"{DWELL_H:g}"), "h"))
        yield Remark("caution", "short settling time", text, source, parts)
    change = figures.group.target.change_for_condition
    if change is not None and figures.condition.lubricated and change.magnitude < 0:
        lows = [each.low for each in friction.TORQUE_REDUCTIONS.values()]
        highs = [each.high for each in friction.TORQUE_REDUCTIONS.values()]
        if -change.magnitude > max(highs):
            printed = f"{min(lows):g} to {max(highs):g} %"
            text = f"A cut of {-change.magnitude:g} % is more than the {printed} that is printed for oils and greases."
            source = "public reference page, no test basis (read)"
            parts = (percent(change.magnitude), percent(max(highs)))
            yield Remark("caution", "large cut of the torque", text, source, parts)
    if figures.group.structural == "EN 1090-2" and figures.group.method is None:
        steps = (100 * structural.FIRST_STEP, 100 * structural.SECOND_STEP)
        if any(abs(one - other) > 0.5 for one, other in zip((own.percents[0], own.percents[-1]), steps, strict=True)):
            text = f"The EN 1090-2 torque method goes to {steps[0]:g} %, then {steps[1]:g} % of the reference torque."
            source = "EN 1090-2 (read in public product data)"
            parts = (percent(steps[0]), percent(steps[1]))
            yield Remark("caution", "steps of the structural method", text, source, parts)


def _spacing(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    circle = joint.ring.bolt_circle if joint.ring is not None else None
    if joint.flange is not None:
        return  # the standard's own drilling
    if circle is None or figures.group.count < 2:
        return
    ratio = spacing_ratio(circle, figures.group.count, diameter=figures.thread.diameter)
    if not spacing_is_usual(ratio):
        text = f"The bolts stand {ratio:.1f} diameters apart: 3 to 6 is usual."
        apart = (Figure(Decimal(f"{ratio:.1f}"), ""),)
        yield Remark("caution", "bolt spacing", text, "Shigley eq. 8-34 (from memory)", apart)
