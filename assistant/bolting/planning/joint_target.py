"""Target from the joint: what gasket, flange and bolts together allow as preload of one bolt, by several routes.

Symbols: n bolts, As stress area, Ag contact area of the gasket, p pressure, FR pressure's end force and the pull on the
joint, phi share of the gasket stress kept after relaxation, Sgmin-S and Sgmin-O lowest gasket stress at assembly and in
service, Sgmax the highest, Sfmax highest bolt stress for the flange, Sy yield of the bolt.

The routes follow the openly known relations of ASME PCC-1 appendix O (joint component approach) and of EN 1591-1 with
EN 13555 gasket data, both from memory: neither text was to hand, nor a worked example that agrees with itself. The
checks of this module are hand calculations of the relations, no published results.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.bolting.joint import gasket
from assistant.bolting.joint.assembly_stress import LIMITS
from assistant.bolting.joint.gasket_en import GasketPressures, gasket_pressures
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_parts import Gasket, Tightness
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.planning.limits import gasket_loads_of
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark
from assistant.bolting.threads_and_strength.strength import preload_at, yield_load
from assistant.bolting.units import Quantity, magnitude, of, show

_PCC1 = "relations of ASME PCC-1 appendix O, from memory; no worked example to hand"
_EN = "relations of EN 1591-1 with EN 13555 data, without flange rotation, from memory; no worked example to hand"
_APART = 0.15  # routes that differ by more than this share get a remark (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """What one route allows as preload of a bolt.

    Args:
        name: of the route. lowest, highest: kN; None where the route knows no such limit.
        lowest_by, highest_by: what governs each end. source: where the relations come from.
    """

    name: str
    lowest: Quantity | None
    highest: Quantity | None
    lowest_by: str
    highest_by: str
    source: str

    @property
    def possible(self) -> bool:
        """Whether any preload meets both ends."""
        return self.lowest is None or self.highest is None or self.lowest <= self.highest

    def allows(self, preload: Quantity) -> bool:
        """Whether a preload lies between both ends."""
        return (self.lowest is None or preload >= self.lowest) and (self.highest is None or preload <= self.highest)


def end_force(joint: Joint, data: Gasket, *, across: Quantity | None = None) -> Quantity:
    """Force that pulls the flanges apart in service, kN: pressure on a circle, and the pipe's pull.

    Args:
        joint: with its service, if any.
        data: its gasket.
        across: diameter that the pressure acts on; left out, the gasket's inner diameter.

    Vacuum pushes the flanges together and counts as nothing.
    """
    diameter = magnitude(across or data.inner_diameter, "mm", name="diameter under pressure")
    pressure = max(magnitude(data.pressure, "MPa", name="pressure"), 0.0)
    pull = 0.0
    if joint.service is not None and joint.service.axial_force is not None:
        pull = magnitude(joint.service.axial_force, "kN", name="axial force")
    return of(math.pi / 4 * diameter**2 * pressure / 1000 + pull, "kN")


def routes(joint: Joint, figures: GroupFigures) -> tuple[Route, ...]:
    """Every route that the joint file has figures for, except the file's own target.

    Empty without a gasket ring, with several groups on one gasket, or with a full-face gasket.
    """
    data = joint.gasket
    if data is None or len(joint.groups) > 1 or data.full_face:
        return ()
    return tuple(_routes(joint, figures, data))


def _routes(joint: Joint, figures: GroupFigures, data: Gasket) -> Iterator[Route]:
    count, loads = figures.group.count, gasket_loads_of(joint)
    crush = {} if data.highest_stress is None else {"Sgmax": _per_bolt(data.highest_stress, data, count)}
    if loads is not None:
        least = gasket.load_per_bolt(loads.needed, count)
        yield _route(
            "ASME VIII-1 appendix 2", {loads.governing: least}, crush, "design loads, no assembly targets (read)"
        )
    low, high = _bolt_limits(joint, figures)
    tight = data.tightness
    if tight is None:
        lows, highs = {"lowest usual share": low}, {"highest share": high, **crush, **_flange_caps(joint, figures)}
        yield _route("share of bolt yield", lows, highs, LIMITS[joint.kind].source)
        return
    needs = _needs(tight, data, count, end_force(joint, data), names=("Sgmin-S", "Sgmin-O"))
    highs = {"highest share of yield": high, **crush, **_flange_caps(joint, figures)}
    lows = needs if data.elastomer else {"lowest share of yield": low, **needs}
    yield _route("gasket, flange and bolt, PCC-1 manner", lows, highs, _PCC1)
    mean = gasket.reaction_diameter(data.outer_diameter, data.inner_diameter)
    needs = _needs(tight, data, count, end_force(joint, data, across=mean), names=("QA", "QSmin"))
    yielding = yield_load(figures.strength, figures.thread)
    name = f"gasket pressures for {tight.tightness_class}, EN 1591 manner"
    yield _route(name, needs, {"yield": yielding, **({"QSmax": crush["Sgmax"]} if crush else {})}, _EN)


def _route(name: str, lows: dict[str, Quantity], highs: dict[str, Quantity], source: str) -> Route:
    least = max(lows, key=lambda key: lows[key], default=None)
    most = min(highs, key=lambda key: highs[key], default=None)
    return Route(
        name=name,
        lowest=None if least is None else lows[least],
        highest=None if most is None else highs[most],
        lowest_by=least or "",
        highest_by=most or "",
        source=source,
    )


def _needs(
    tight: Tightness, data: Gasket, count: int, away: Quantity, *, names: tuple[str, str]
) -> dict[str, Quantity]:
    """Preload of a bolt that the gasket needs, kN: S1 Ag/n at assembly, (S2 Ag + F)/(phi n) for service."""
    running = magnitude(_per_bolt(tight.service_stress, data, count), "kN", name="service")
    apart = magnitude(away, "kN", name="end force") / count
    kept = magnitude(tight.share_kept, "", name="share kept")
    return {names[0]: _per_bolt(tight.seating_stress, data, count), names[1]: of((running + apart) / kept, "kN")}


def _per_bolt(stress: Quantity, data: Gasket, count: int) -> Quantity:
    """Preload of a bolt that presses the gasket's whole ring with a stress, kN."""
    area = magnitude(gasket.contact_area(data.outer_diameter, data.inner_diameter), "mm2", name="Ag")
    return of(magnitude(stress, "MPa", name="gasket stress") * area / count / 1000, "kN")


def _bolt_limits(joint: Joint, figures: GroupFigures) -> tuple[Quantity, Quantity]:
    """Lowest and highest preload by the share of yield that the trade keeps for this kind of joint, kN."""
    limit = LIMITS[joint.kind]
    whole = magnitude(yield_load(figures.strength, figures.thread), "kN", name="yield load")
    if limit.basis != "yield":
        whole *= magnitude(figures.load.proof, "MPa", name="proof") / magnitude(
            figures.strength.yield_, "MPa", name="yield"
        )
    return of(whole * limit.low_percent / 100, "kN"), of(whole * limit.most_percent / 100, "kN")


def _flange_caps(joint: Joint, figures: GroupFigures) -> dict[str, Quantity]:
    """Highest preload for the flange's strength and rotation, where the joint file gives them, kN."""
    ring = joint.ring
    if ring is None or ring.highest_bolt_stress is None:
        return {}
    most = preload_at(ring.highest_bolt_stress, figures.thread)
    found = {"flange strength Sfmax": most}
    if ring.rotation is not None and ring.highest_rotation is not None:
        share = magnitude(ring.highest_rotation, "deg", name="rotation") / magnitude(
            ring.rotation, "deg", name="rotation"
        )
        found["flange rotation"] = of(magnitude(most, "kN", name="preload") * share, "kN")
    return found


def pressures(joint: Joint, figures: GroupFigures) -> GasketPressures | None:
    """Gasket pressures with all bolts at the lower end of the band; None without the maker's tightness data."""
    data = joint.gasket
    if data is None or data.tightness is None or data.highest_stress is None or len(joint.groups) > 1:
        return None
    low = magnitude(figures.preload.low, "kN", name="preload") * figures.group.count
    return gasket_pressures(
        of(low, "kN"),
        area=gasket.contact_area(data.outer_diameter, data.inner_diameter),
        end_force=end_force(joint, data),
        seating_pressure=data.tightness.seating_stress,
        operating_pressure=data.tightness.service_stress,
        highest_pressure=data.highest_stress,
        creep_share=magnitude(data.tightness.share_kept, "", name="share kept"),
    )


def target_reason(joint: Joint, figures: GroupFigures) -> Iterator[Reason]:
    """The routes side by side on the calculation sheet; empty where there is none."""
    found = routes(joint, figures)
    if not found:
        return
    unit = figures.force_unit
    terms = [Term("", each.name, _range(each, unit), each.source) for each in found]
    inside = [each.name for each in found if each.allows(figures.preload.preload)]
    told = "inside of every route" if len(inside) == len(found) else f"inside of {len(inside)} of {len(found)} routes"
    yield Reason(
        title="Target from the joint",
        formula="Fmin = max(Sgmin-S Ag/n, (Sgmin-O Ag + FR)/(phi n), share Sy As), Fmax = min(Sgmax Ag/n, Sfmax As)",
        terms=tuple(terms),
        result=f"the target's F = {show(figures.preload.preload, unit)} is {told}",
        source="each route's own; FR: pressure inside the ring and the pipe's pull",
    )
    seen = pressures(joint, figures)
    if seen is not None and joint.gasket is not None and joint.gasket.tightness is not None:
        tight = joint.gasket.tightness
        yield Reason(
            title=f"Gasket pressures for {tight.tightness_class}",
            formula="QA = F/A, Q = (PQR F - FR)/A",
            terms=(
                Term("F", "all bolts at the lower end of the band", show(figures.preload.low, unit), "above, a bolt"),
                Term("PQR", "share kept", show(tight.share_kept, "%"), tight.source),
            ),
            result=(
                f"{show(seen.assembly, 'MPa')} at assembly ({'seated' if seen.seated else 'NOT seated'}), "
                f"{show(seen.operation, 'MPa')} in service ({'tight' if seen.tight else 'NOT tight'})"
            ),
            source=_EN,
        )


def _range(route: Route, unit: str) -> str:
    low = "" if route.lowest is None else f"at least {show(route.lowest, unit)} ({route.lowest_by})"
    high = "" if route.highest is None else f"at most {show(route.highest, unit)} ({route.highest_by})"
    return ", ".join(part for part in (low, high) if part) or "no limit"


def target_remarks(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """The target against the routes. A target outside one of them is a stop, and so are routes with no common range."""
    unit, preload = figures.force_unit, figures.preload.preload
    found = routes(joint, figures)
    for each in found:
        if each.name == "share of bolt yield":
            continue  # asked about as the load of this kind of joint
        if not each.possible:
            text = f"By {each.name} no preload is right: {_range(each, unit)}. Another gasket, flange or bolt."
            yield Remark("stop", "no preload suits the joint", text, each.source)
        elif not each.allows(preload):
            text = (
                f"The target's preload of {show(preload, unit)} a bolt is outside of {each.name}: {_range(each, unit)}."
            )
            yield Remark("stop", "target outside the joint's limits", text, each.source)
    lows = [magnitude(each.lowest, "kN", name="lowest") for each in found if each.lowest is not None]
    if joint.gasket is not None and joint.gasket.tightness is not None and max(lows) > (1 + _APART) * min(lows):
        text = f"The routes ask for at least {min(lows):.3g} to {max(lows):.3g} kN a bolt: the highest one counts."
        yield Remark("note", "routes differ", text, "see the calculation sheet")
    seen = pressures(joint, figures)
    if seen is not None and not (seen.seated and seen.tight):
        what = "seat" if not seen.seated else "stay tight in service"
        text = f"With all bolts at the lower end of the band the gasket may not {what}."
        yield Remark("stop", "gasket may not stay tight", text, _EN)
