"""Assembly stress against the limits of each kind of joint."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting.joint.assembly_stress import LIMITS, assembly_stress
from assistant.bolting.threads_and_strength.strength import material, preload_at
from assistant.bolting.threads_and_strength.threads import thread
from assistant.bolting.units import magnitude, of
from assistant.errors import BadBolting

M20, STUD = thread("M20"), thread("1 1/8-8 UN")
CLASS_88, B7 = material("8.8", M20), material("A193 B7", STUD)


def share(percent: float, joint: str):
    basis = {"yield": CLASS_88.yield_, "proof": CLASS_88.proof, "tensile": CLASS_88.tensile}[LIMITS[joint].basis]
    stress = of(percent / 100 * magnitude(basis, "MPa", name="basis"), "MPa")
    return assembly_stress(preload_at(stress, M20), M20, strength=CLASS_88, joint=joint)


def test_the_usual_flange_target_of_50_ksi_is_usual_for_b7():
    """50 ksi or half of yield as starting target: read as practice. 50/105 = 47.6 % of yield."""
    found = assembly_stress(preload_at(of(50, "ksi"), STUD), STUD, strength=B7, joint="gasketed flange")
    assert found.yield_percent == pytest.approx(47.6, abs=0.1)
    assert found.verdict == "usual"


def test_proof_of_b7_is_an_estimate_and_says_so():
    found = assembly_stress(preload_at(of(50, "ksi"), STUD), STUD, strength=B7, joint="machine base")
    assert "estimate" in found.basis
    assert found.basis_percent == pytest.approx(50 / (0.85 * 105) * 100, rel=1e-6)


@pytest.mark.parametrize("joint", LIMITS)
def test_the_verdict_changes_at_the_limits(joint: str):
    limit = LIMITS[joint]
    marks = [limit.low_percent, limit.high_percent, limit.most_percent]
    assert marks == sorted(marks)
    assert limit.source
    wanted = {
        limit.low_percent - 0.1: "low",
        limit.low_percent + 0.1: "usual",
        limit.high_percent + 0.1: "high",
        limit.most_percent + 0.1: "too high",
    }
    assert {percent: share(percent, joint).verdict for percent in wanted} == wanted


def test_over_yield_is_too_high_whatever_the_basis():
    """Class 8.8 above M16: yield 660, tensile 830 MPa; 80 % of tensile is over yield (ISO 898-1)."""
    assert share(80, "structural bolt").verdict == "too high"
    assert share(79, "structural bolt").verdict == "high"


@given(st.floats(0, 300), st.floats(0.1, 100), st.sampled_from(sorted(LIMITS)))
@settings(deadline=None)
def test_more_preload_is_never_judged_lower(preload_kn, more, joint):
    order = ["low", "usual", "high", "too high"]
    one, other = (
        assembly_stress(of(load, "kN"), M20, strength=CLASS_88, joint=joint) for load in (preload_kn, preload_kn + more)
    )
    assert order.index(one.verdict) <= order.index(other.verdict)
    assert one.yield_percent < other.yield_percent


def test_an_unknown_kind_of_joint_and_a_negative_preload_are_refused():
    with pytest.raises(BadBolting, match="ladder") as refusal:
        assembly_stress(of(1, "kN"), M20, strength=CLASS_88, joint="ladder")
    assert "girth flange" in refusal.value.remedy
    with pytest.raises(BadBolting, match="-1 kN"):
        assembly_stress(of(-1, "kN"), M20, strength=CLASS_88, joint="girth flange")
