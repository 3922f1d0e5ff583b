"""The unit door: what is let in, what is refused, and that conversions are the exact ones."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.unit_kinds import AMBIGUOUS, CONVERT_ONLY, KINDS, READ_AS
from assistant.errors import BadQuantity
from assistant.events import Measured

SAYABLE = st.decimals(min_value=Decimal("0.01"), max_value=Decimal(20000), places=2)


@pytest.mark.parametrize(
    ("text", "kind", "value", "unit"),
    [
        ("310 N*m", "torque", 310, "newton*meter"),
        ("500 lbf*ft", "torque", 500, "force_pound*foot"),
        ("12.5 kgf*m", "torque", 12.5, "force_kilogram*meter"),
        ("310 N·m", "torque", 310, "newton*meter"),
        ("-5 %", "percent", -5, "percent"),
        ("12 mm", "length", 12, "millimeter"),
        ("3/4 in", "length", 0.75, "inch"),
        ("1 1/8 in", "length", 1.125, "inch"),
        ("1-1/8 in", "length", 1.125, "inch"),
        ("4 h", "time", 4, "hour"),
        ("180 degC", "temperature", 180, "degree_Celsius"),
        ("5:1", "ratio", 5, "dimensionless"),
        ("13.6", "ratio", 13.6, "dimensionless"),
        ("1.2e-5 1/K", "expansion", 1.2e-5, "1/kelvin"),
    ],
)
def test_a_quantity_is_read_as_it_is_written(text: str, kind: str, value: float, unit: str) -> None:
    got = units.quantity(text, kind, field="f")
    assert got.magnitude == value
    assert got.units == units.REGISTRY.Unit(unit)


@pytest.mark.parametrize(
    "text",
    [
        "310",
        "310,5 N*m",
        "1,200 N*m",
        "1 200 N*m",
        "1'200 N*m",
        "2**3 N*m",
        "2*3 N*m",
        "nan N*m",
        "inf N*m",
        "-5 N*m",
        "0 N*m",
        "0.00 N*m",
        "1e3 N*m",
        "+-3 N*m",
        "310 ",
        "",
        " ",
        "N*m",
        "310 N*m 5",
        "310\n5 N*m",
        "٣١٠ N*m",
        "3/4 N*m",
        "310 N*m lbf*ft",
        "31.0.5 N*m",
        ".5 N*m",
        "5. N*m",
        "310 n*m",
        "310 mm",
        "310 MPa",
        "310 kN",
        "9" * 400 + " N*m",
    ],
)
def test_a_number_that_is_not_plainly_a_torque_is_refused_with_field_value_and_what_is_allowed(text: str) -> None:
    with pytest.raises(BadQuantity) as caught:
        units.quantity(text, "torque", field="gate-7.toml: tightening.target")
    assert "gate-7.toml: tightening.target" in caught.value.message
    assert repr(text)[:60] in caught.value.message
    assert all(f"'{unit}'" in caught.value.remedy for unit in units.TORQUE_UNITS)


@pytest.mark.parametrize(
    "unit", [*AMBIGUOUS, "Nm", "LB FT", "Ft-Lb", "kgm", "J", "kJ", "N.m", "N m", "lbf ft", "daN*m"]
)
def test_an_ambiguous_unit_is_refused_for_every_kind_where_it_has_two_readings(unit: str) -> None:
    for kind in KINDS:
        if unit not in KINDS[kind].units and unit not in READ_AS.get(kind, {}):
            with pytest.raises(BadQuantity):
                units.quantity(f"20 {unit}", kind, field="f")


@pytest.mark.parametrize(
    ("shown", "ours"),
    [
        ("310 Nm", "310 N*m"),
        ("310 N.m", "310 N*m"),
        ("500 ft-lb", "500 lbf*ft"),
        ("500 lb-ft", "500 lbf*ft"),
        ("500 lbf ft", "500 lbf*ft"),
        ("90 in-lb", "90 lbf*in"),
        ("31 kgf m", "31 kgf*m"),
        ("31 kgm", "31 kgf*m"),
    ],
)
def test_a_torque_as_wrenches_show_it_is_read_and_told(shown: str, ours: str) -> None:
    assert units.quantity(shown, "torque", field="f") == units.quantity(ours, "torque", field="f")
    assert units.read_as(shown, "torque") == ours and units.read_as(ours, "torque") is None


@pytest.mark.parametrize("text", ["310 nm", "310 NM", "310 J", "310 lb", "310 kg", "310 ft", "310 mN*m", "310"])
def test_what_may_be_something_else_is_still_refused(text: str) -> None:
    with pytest.raises(BadQuantity):
        units.quantity(text, "torque", field="f")


def test_a_number_that_is_not_text_has_no_unit() -> None:
    with pytest.raises(BadQuantity, match="unit is missing"):
        units.quantity(310, "torque", field="f")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("-300 degC", "temperature"),
        ("-500 degF", "temperature"),
        ("-1 K", "temperature"),
        ("120 %", "efficiency"),
        ("1.01", "efficiency"),
        ("0", "ratio"),
        ("-0.1 mm", "gap"),
        ("0 mm", "length"),
        ("-4 h", "time"),
        ("1.2", "friction"),
    ],
)
def test_a_value_outside_what_its_kind_can_be_is_refused(text: str, kind: str) -> None:
    with pytest.raises(BadQuantity):
        units.quantity(text, kind, field="f")


@pytest.mark.parametrize("symbol", list(units.TORQUE_UNITS))
def test_torque_factors_are_the_exact_ones(symbol: str) -> None:
    """NIST SP 811: inch, pound and standard gravity are exact (read in public pages quoting it)."""
    got = units.magnitude(units.of(1.0, symbol), "N*m", name="t")
    assert abs(Fraction(got) - units.TORQUE_UNITS[symbol]) <= units.TORQUE_UNITS[symbol] * Fraction(1, 10**14)


@settings(deadline=None)
@given(SAYABLE, st.sampled_from(list(units.TORQUE_UNITS)), st.sampled_from(list(units.TORQUE_UNITS)))
def test_a_torque_survives_any_detour_through_other_units(number: Decimal, said: str, other: str) -> None:
    there = units.convert(units.torque(Measured(number, said)), other)
    assert units.measured(there, said, 2).value == number


@settings(deadline=None)
@given(st.sampled_from(list(KINDS)), st.integers(1, 99_999), st.integers(0, 3), st.data())
def test_what_we_print_we_can_read_again(kind: str, digits: int, places: int, data: st.DataObject) -> None:
    unit = data.draw(st.sampled_from(list(KINDS[kind].units)))
    number = Decimal(digits).scaleb(-places)
    if kind in ("efficiency", "friction"):
        number = Decimal(digits) / 100_000
    text = f"{number:f} {unit}".rstrip()
    first = units.quantity(text, kind, field="f")
    if kind == "temperature-difference" and unit != "K":
        return  # printed in K only: a difference in degC would read as a temperature
    if kind == "expansion":
        again = units.quantity(units.show(first, unit, digits=9), kind, field="f")
    else:
        again = units.quantity(units.show(first, unit, places=5), kind, field="f")
    assert again.units == first.units
    assert again.magnitude == pytest.approx(first.magnitude, rel=1e-9)


@settings(deadline=None)
@given(st.text(max_size=25), st.sampled_from(list(KINDS)))
def test_any_text_is_a_finite_quantity_or_a_clear_refusal(text: str, kind: str) -> None:
    try:
        got = units.quantity(text, kind, field="f")
    except BadQuantity as refusal:
        assert refusal.remedy
    else:
        assert abs(got.magnitude) < float("inf")


@pytest.mark.parametrize(
    "value", [Decimal("nan"), Decimal("sNaN"), Decimal("inf"), Decimal(0), Decimal(-5), Decimal("1e400")]
)
def test_a_recorded_torque_must_be_finite_and_above_zero(value: Decimal) -> None:
    with pytest.raises(BadQuantity):
        units.torque(Measured(value, "N*m"))


@pytest.mark.parametrize("unit", ["Nm", "J", "ft_lb", "mm", "", "kN*m", "newton*meter"])
def test_a_recorded_torque_must_be_in_one_of_our_units(unit: str) -> None:
    with pytest.raises(BadQuantity):
        units.torque(Measured(Decimal(20), unit))


@pytest.mark.parametrize("unit", ["joule", "foot_pound", "kilojoule"])
def test_an_energy_is_never_taken_for_a_torque(unit: str) -> None:
    with pytest.raises(BadQuantity, match="energy"):
        units.convert(units.REGISTRY.Quantity(20.0, unit), "N*m")


def test_a_product_of_stress_and_volume_is_still_a_torque() -> None:
    assert units.magnitude(units.REGISTRY.Quantity(20e3, "MPa*mm**3"), "N*m", name="t") == pytest.approx(20)


def test_a_temperature_difference_is_never_shown_as_a_temperature() -> None:
    difference = units.quantity("120 K", "temperature-difference", field="f")
    assert units.show(difference, "K") == "120 K"
    with pytest.raises(BadQuantity):
        units.show(difference, "degC")


@pytest.mark.parametrize("value", [3.0, None, "310 N*m"])
def test_a_bare_number_is_not_a_quantity(value: object) -> None:
    with pytest.raises(BadQuantity):
        units.magnitude(value, "N*m", name="target")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "unit", "kwargs", "text"),
    [
        (200.00000000000006, "N*m", {}, "200 N*m"),
        (0.0175, "in", {}, "0.0175 in"),
        (1234567.0, "N", {}, "1234567 N"),
        (-0.00001, "kN", {"places": 2}, "0.00 kN"),
        (2.5, "N*m", {"places": 0}, "3 N*m"),
        (12.0, "", {}, "12"),
        (1e-9, "m", {}, "0.000000001 m"),
        (0.0, "N", {}, "0 N"),
        (1e30, "N", {"places": 1}, "1" + "0" * 30 + ".0 N"),
    ],
)
def test_numbers_are_printed_plainly(value: float, unit: str, kwargs: dict[str, int], text: str) -> None:
    assert units.show(units.of(value, unit), unit, **kwargs) == text


def test_a_recordable_number_keeps_the_places_asked_for() -> None:
    assert units.measured(units.of(310.04, "N*m"), "N*m", 1) == Measured(Decimal("310.0"), "N*m")
    assert units.measured(units.of(310.04, "N*m"), "lbf*ft", 0) == Measured(Decimal(229), "lbf*ft")


@pytest.mark.parametrize("bad", ["Nm", "joule", "furlong"])
def test_our_own_code_may_not_invent_units(bad: str) -> None:
    with pytest.raises(BadQuantity):
        units.of(1.0, bad)
    with pytest.raises(BadQuantity):
        units.convert(units.of(1.0, "N*m"), bad)
    with pytest.raises(BadQuantity):
        units.of(float("nan"), "N*m")


def test_every_unit_is_what_pints_own_list_says() -> None:
    """Pint carries the exact definitions of NIST SP 811 (inch, pound, standard gravity)."""
    whole = pint.UnitRegistry(cache_folder=None)
    tables = [kind.units for kind in KINDS.values()] + [CONVERT_ONLY]
    names = dict.fromkeys(name for table in tables for name in table.values())
    for name in names:
        same = [n for n in names if whole.Unit(n).dimensionality == whole.Unit(name).dimensionality]
        other = next(n for n in same if n.startswith("delta_") == name.startswith("delta_"))
        ours, theirs = (each.Quantity(100.0, name).to(other).magnitude for each in (units.REGISTRY, whole))
        assert ours == pytest.approx(theirs, rel=1e-14, abs=0), f"{name} in {other}"
