"""Our sums against general-purpose reference libraries: linear error propagation and exact unit factors."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from assistant.bolting import units
from assistant.bolting.friction_and_torque.torque import nut_factor_from_friction
from assistant.bolting.friction_and_torque.uncertainty import percent_around, propagated
from assistant.bolting.threads_and_strength.threads import thread

STEP = st.floats(0.1, 8)


@settings(deadline=None)
@given(st.floats(5, 5000), st.floats(0.08, 0.4), STEP, STEP)
def test_the_band_of_the_short_form_is_the_linear_one(torque: float, k: float, wrench: float, friction: float) -> None:
    """`uncertainties` differentiates exactly, we take central differences: they agree within 1 % for small ranges."""
    inputs = {"torque": percent_around(torque, wrench), "k": percent_around(k, friction)}
    ours = propagated(lambda values: values["torque"] / (values["k"] * 0.02), inputs)
    theirs = ufloat(torque, torque * wrench / 100 / math.sqrt(3)) / (
        ufloat(k, k * friction / 100 / math.sqrt(3)) * 0.02
    )
    assert ours.value == pytest.approx(theirs.nominal_value)
    assert ours.standard == pytest.approx(theirs.std_dev, rel=0.01)


@settings(deadline=None)
@given(st.floats(0.06, 0.3), st.floats(0.06, 0.3), STEP)
def test_the_band_of_the_long_form_is_the_linear_one(mu_t: float, mu_b: float, percent: float) -> None:
    """Linear in both friction coefficients, so the two agree to rounding."""
    one, face = thread("M20"), units.of(25, "mm")

    def ours(values: dict[str, float]) -> float:
        return nut_factor_from_friction(
            one, thread_friction=values["t"], bearing_friction=values["b"], bearing_diameter=face
        )

    found = propagated(ours, {"t": percent_around(mu_t, percent), "b": percent_around(mu_b, percent)})  # type: ignore[arg-type]
    t, b = (ufloat(mu, mu * percent / 100 / math.sqrt(3)) for mu in (mu_t, mu_b))
    d2 = units.magnitude(one.pitch_diameter, "mm", name="d2")
    reference = (2.5 / math.pi + t * d2 / math.cos(math.pi / 6) + b * 25) / 40
    assert found.value == pytest.approx(reference.nominal_value)
    assert found.standard == pytest.approx(reference.std_dev)


EXACT = {  # NIST SP 811: exact definitions, in SI base units of the kind
    "in": Fraction("0.0254"),
    "ft": Fraction("0.3048"),
    "lbf": Fraction("0.45359237") * Fraction("9.80665"),
    "kgf": Fraction("9.80665"),
    "kip": 1000 * Fraction("0.45359237") * Fraction("9.80665"),
    "psi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
    "ksi": 1000 * Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
    "bar": Fraction(100_000),
    "in2": Fraction("0.0254") ** 2,
}


@pytest.mark.parametrize("symbol", list(EXACT))
def test_unit_factors_are_the_exact_definitions(symbol: str) -> None:
    got = units.UNITS[symbol] * 1.0
    assert got.to_base_units().magnitude == pytest.approx(float(EXACT[symbol]), rel=1e-14)
