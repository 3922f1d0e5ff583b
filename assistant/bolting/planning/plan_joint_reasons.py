"""Lines of the calculation sheet about the gasket: what it needs and what it gets."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.joint_file.joint_fields import as_written
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.planning.limits import gasket_loads_of, seating_of
from assistant.bolting.reason import Reason, Term
from assistant.bolting.units import show

_APP_2 = "ASME VIII-1 appendix 2; m and y are suggested design values, no assembly targets"


def gasket_reasons(joint: Joint, figures: GroupFigures) -> Iterator[Reason]:
    """Seating and operating load against the preload band; nothing without gasket factors or with several groups."""
    loads, data = gasket_loads_of(joint), joint.gasket
    factors = None if data is None else data.factors
    if loads is None or data is None or factors is None or len(joint.groups) > 1:
        return
    yield Reason(
        title="Gasket: load needed",
        formula="Wm1 = pi/4 G^2 P + 2 b pi G m P, Wm2 = pi b G y",
        terms=(
            Term("b0", "basic width N/2", show(loads.basic_width, "mm"), f"{data.type}"),
            Term("b", "effective width", show(loads.effective_width, "mm"), "Table 2-5.2 (from memory)"),
            Term("G", "diameter of the load reaction", show(loads.reaction_diameter, "mm"), "app. 2"),
            Term("P", "design pressure", as_written(data.pressure), "joint file"),
            Term("m", "gasket factor", f"{factors[0]:g}", factors[2]),
            Term("y", "seating stress", as_written(factors[1]), factors[2]),
        ),
        result=f"Wm1 = {show(loads.operating, 'kN')}, Wm2 = {show(loads.seating, 'kN')}; {loads.governing} governs",
        source=_APP_2,
    )
    found = seating_of(joint, figures, figures.preload.low, figures.preload.high)
    assert found is not None
    allowed = "no limit stated" if found.highest is None else f"maker allows {show(found.highest, 'MPa')}"
    yield Reason(
        title="Gasket: load given",
        formula="W = n Flow, Sg = n Fhigh/Ag",
        terms=(
            Term("n", "bolts", str(figures.group.count), "joint file"),
            Term("Flow", "lower end of the preload band", show(figures.preload.low, "kN"), "above"),
            Term("Fhigh", "upper end", show(figures.preload.high, "kN"), "above"),
        ),
        result=(
            f"W = {show(found.total, 'kN')}, {found.ratio:.2f} times the load needed; "
            f"Sg = {show(found.gasket_stress, 'MPa')} at most ({allowed})"
        ),
        source="seating: ASME VIII-1 appendix 2; stress on the whole contact face: common practice, no source",
    )
