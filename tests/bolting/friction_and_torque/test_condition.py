"""Thread conditions: published readings kept as ranges, and torques converted with the rule named."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.friction_and_torque import condition, friction, torque
from assistant.bolting.friction_and_torque.friction import CONDITIONS, stated_condition, thread_condition
from assistant.bolting.threads_and_strength.threads import thread
from assistant.errors import BadBolting

NAMES = st.sampled_from(list(CONDITIONS))


def nm(value: units.Quantity) -> float:
    return units.magnitude(value, "N*m", name="torque")


@pytest.mark.parametrize("name", list(CONDITIONS))
def test_the_value_to_calculate_with_lies_inside_what_is_published_and_can_be_a_nut_factor(name: str) -> None:
    one = CONDITIONS[name]
    assert one.low <= one.nut_factor <= one.high
    assert torque.checked_nut_factor(one.low) <= torque.checked_nut_factor(one.high)
    assert all(reading.source and reading.low <= reading.high for reading in one.readings)
    assert one.chosen


@pytest.mark.parametrize("name", list(CONDITIONS))
def test_every_spelling_leads_to_its_condition(name: str) -> None:
    for alias in (name, *CONDITIONS[name].aliases):
        assert thread_condition(f"  {alias.upper()} ") is CONDITIONS[name]


def test_no_alias_belongs_to_two_conditions() -> None:
    words = [word for one in CONDITIONS.values() for word in (one.name, *one.aliases)]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("name", ["moly", "snake oil", "", "0.2", None])
def test_an_unknown_lubricant_is_refused_with_the_known_ones(name: str) -> None:
    with pytest.raises(BadBolting) as caught:
        thread_condition(name)
    assert "anti-seize" in caught.value.remedy


def test_a_nut_factor_of_ones_own_needs_a_source_and_a_range_around_it() -> None:
    own = stated_condition(
        "blue paste", nut_factor=0.14, low=0.13, high=0.16, source="data sheet, M20, 20 degC", lubricated=True
    )
    assert (own.low, own.nut_factor, own.high) == (0.13, 0.14, 0.16)
    with pytest.raises(BadBolting, match="no source"):
        stated_condition("blue paste", nut_factor=0.14, low=0.13, high=0.16, source=" ", lubricated=True)
    with pytest.raises(BadBolting, match=r"0\.18"):
        stated_condition("blue paste", nut_factor=0.18, low=0.13, high=0.16, source="sheet", lubricated=True)
    with pytest.raises(BadBolting, match="nut factor"):
        stated_condition("blue paste", nut_factor=0.01, low=0.01, high=0.16, source="sheet", lubricated=True)


@settings(deadline=None)
@given(NAMES, NAMES, st.floats(5, 5000), st.sampled_from(list(units.TORQUE_UNITS)))
def test_conversion_by_ratio_keeps_the_preload_and_never_raises_untested(there, here, value, unit) -> None:
    first, second = CONDITIONS[there], CONDITIONS[here]
    published = units.convert(units.of(value, "N*m"), unit)
    if second.nut_factor > first.nut_factor:
        with pytest.raises(BadBolting, match="untested nut factors would raise it"):
            condition.convert(published, published_for=first, at_hand=second)
        return
    one = condition.convert(published, published_for=first, at_hand=second)
    before = torque.preload_from_torque(published, thread("M20"), nut_factor=first.nut_factor)
    after = torque.preload_from_torque(one.torque, thread("M20"), nut_factor=second.nut_factor)
    assert units.magnitude(after, "N", name="f") == pytest.approx(units.magnitude(before, "N", name="f"), rel=1e-9)
    assert one.rule == ("same condition" if there == here else "ratio of nut factors")


def test_a_tested_factor_raises_a_torque_by_the_highest_published_divisor() -> None:
    """170 N*m for lubricated threads (0.15 to 0.18 published), own K 0.20: 170 x 0.20/0.18 = 188.9, not 226.7 N*m.

    Source: T = K d F with the same F; 0.15 IFI N-12, 0.18 Shigley 9th ed. Table 8-15 (read).
    """
    tested = stated_condition("test bolts", nut_factor=0.20, low=0.19, high=0.21, source="own test", lubricated=False)
    found = condition.convert(units.of(170, "N*m"), published_for=CONDITIONS["lubricated"], at_hand=tested)
    assert nm(found.torque) == pytest.approx(188.9, abs=0.05)
    assert "no bolt gets more than meant" in found.explanation


def test_the_percentage_of_the_instruction_wins_and_a_large_disagreement_is_shown() -> None:
    """A 45 % cut for lubricated threads: common practice, no source; the K tables say 25 %."""
    found = condition.convert(
        units.of(500, "lbf*ft"),
        published_for=thread_condition("dry"),
        at_hand=thread_condition("lubricated"),
        instruction_percent=-45.0,
        instruction="instruction NS-12",
        unit="lbf*ft",
    )
    assert units.magnitude(found.torque, "lbf*ft", name="t") == pytest.approx(275)
    assert found.rule == "percentage of the instruction"
    assert "NS-12" in found.explanation
    assert "-45 %" in found.explanation
    assert "275 lbf*ft" in found.explanation
    assert found.disagreement == pytest.approx(375 / 275 - 1)
    assert any("375 lbf*ft" in warning for warning in found.warnings)


@pytest.mark.parametrize(
    ("percent", "warned"), [(-25.0, False), (-15.0, False), (-34.0, False), (-35.0, True), (-12.0, False)]
)
def test_the_warning_begins_when_the_two_rules_differ_by_more_than_15_percent(percent: float, warned: bool) -> None:
    found = condition.convert(
        units.of(100, "N*m"),
        published_for=thread_condition("dry"),
        at_hand=thread_condition("lubricated"),
        instruction_percent=percent,
    )
    assert (found.disagreement > 0.15) is warned
    assert bool(found.warnings) is warned


def test_equal_conditions_change_nothing_and_a_percentage_then_is_a_contradiction() -> None:
    dry = thread_condition("dry")
    assert nm(condition.convert(units.of(100, "N*m"), published_for=dry, at_hand=dry).torque) == 100
    with pytest.raises(BadBolting, match="45"):
        condition.convert(units.of(100, "N*m"), published_for=dry, at_hand=dry, instruction_percent=-45.0)


@pytest.mark.parametrize(
    ("there", "here", "percent"),
    [("dry", "lubricated", 30.0), ("lubricated", "dry", -30.0), ("galvanised", "anti-seize", 10.0)],
)
def test_a_change_in_the_wrong_direction_is_refused(there: str, here: str, percent: float) -> None:
    with pytest.raises(BadBolting, match="change of") as caught:
        condition.convert(
            units.of(100, "N*m"),
            published_for=thread_condition(there),
            at_hand=thread_condition(here),
            instruction_percent=percent,
        )
    assert "sign" in caught.value.remedy


@pytest.mark.parametrize("percent", [-100.0, -81.0, 151.0, float("nan")])
def test_an_impossible_percentage_is_refused(percent: float) -> None:
    with pytest.raises(BadBolting):
        condition.by_percentage(units.of(100, "N*m"), change_percent=percent)


def test_dry_torque_on_a_lubricated_thread_overloads_the_bolt() -> None:
    """Rows LUB-08 and LUB-09 (computed): 1.33 times with K 0.15, 1.67 times with K 0.12."""
    assert condition.preload_ratio(published_for=0.20, at_hand=0.15) == pytest.approx(4 / 3)
    assert condition.preload_ratio(published_for=0.20, at_hand=0.12) == pytest.approx(5 / 3)


def test_friction_coefficients_are_smaller_than_nut_factors_of_the_same_condition() -> None:
    assert friction.FRICTION_COEFFICIENTS["lubricated"].high <= CONDITIONS["lubricated"].low
