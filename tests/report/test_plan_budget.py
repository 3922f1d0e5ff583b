"""The picture of the load budget: every stage, every range, and the line of what is needed, on one scale."""

import re
from xml.etree import ElementTree

import pytest

from assistant.bolting.planning.plan import plan
from assistant.bolting.units import magnitude
from assistant.config.joint_file import read_joint
from assistant.report.plan_budget import budget_svg
from tests.bolting.joint_samples import DEMOS, TODAY, joint

SVG = "{http://www.w3.org/2000/svg}"


def drawn(budget, unit="kN"):
    root = ElementTree.fromstring(budget_svg(budget, unit=unit, title="bolts & <studs>"))
    bars = [(float(b.get("x")), float(b.get("width")), b.get("stroke-dasharray")) for b in root.iter(f"{SVG}rect")]
    return root, bars


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_stage_of_every_demo_is_drawn(path):
    for group in plan(read_joint(path, today=TODAY), today=TODAY).groups:
        root, bars = drawn(group.budget)
        words = [each.text for each in root.iter(f"{SVG}text")]
        assert len(bars) == len(group.budget.stages) + 1
        assert all(stage.name in words for stage in group.budget.stages)
        assert [dashed is None for *_, dashed in bars[1:]] == [stage.known for stage in group.budget.stages]
        width = float(root.get("viewBox").split()[2])
        assert all(x > 0 and x + wide < width for x, wide, _ in bars)


def test_bars_and_the_needed_line_share_one_scale():
    """Two bars tell the scale; the line must stand where the needed preload is on it."""
    tight = {
        "seating_stress": "45 MPa",
        "service_stress": "20 MPa",
        "share_kept": "80 %",
        "tightness_class": "L0.01",
        "source": "s",
    }
    gasket = {"type": "spiral wound", "inner_diameter": "177 mm", "outer_diameter": "203 mm", "tightness": tight}
    gasket |= {"pressure": "16 bar", "elastomer": False, "highest_stress": "210 MPa"}
    budget = plan(joint(kind="gasketed flange", gasket=gasket), today=TODAY).groups[0].budget
    root, bars = drawn(budget)
    low, high = (magnitude(each, "kN", name="left") for each in budget.after[1])
    scale = bars[1][1] / (high - low)
    zero = bars[1][0] - low * scale
    line = next(each for each in root.iter(f"{SVG}line") if each.get("stroke-width"))
    needed = magnitude(budget.needed, "kN", name="needed")
    assert float(line.get("x1")) == pytest.approx(zero + needed * scale, abs=0.3)
    assert re.search(r"needed: 24.3 kN, gasket tight in service, L0.01", ElementTree.tostring(root, "unicode"))


def test_a_group_without_need_has_no_line():
    root, _ = drawn(plan(joint(), today=TODAY).groups[0].budget)
    assert not [each for each in root.iter(f"{SVG}line") if each.get("stroke-width")]
