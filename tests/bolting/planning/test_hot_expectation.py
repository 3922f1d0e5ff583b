"""What a hot re-check lets expect of the preload: against the formula worked by hand, and its limits."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bolting.joint import thermal
from assistant.bolting.planning.group_figures import group_figures
from assistant.bolting.planning.hot_expectation import hot_shares
from assistant.bolting.planning.plan import plan
from assistant.bolting.threads_and_strength import temperature_properties as steels
from assistant.bolting.units import magnitude, of
from assistant.config.joint_file import parse_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events import Expected, Measurement
from assistant.procedure.prompts_course import expected_percent
from assistant.procedure.work import lay_out
from tests.bolting.joint_samples import DEMOS, TODAY

TEXT = (DEMOS / "north-sluice-cooler-girth-flange.toml").read_text("utf-8")
CARBON, STAINLESS = "carbon and low alloy group 1", "austenitic stainless"


def joint(steel: str | None, lag: str = ""):
    """The girth flange (B7 studs) with clamped parts of this steel, its bolts cooler by `lag` when it is hot."""
    text = re.sub(r"\[clamped\].*?\n\n", "", TEXT, flags=re.DOTALL)
    table = "" if steel is None else f'\n[clamped]\nsteel = "{steel}"\n' + (f'bolt_lag = "{lag}"\n' if lag else "")
    return parse_joint((text + table).encode(), source="girth flange")


def shares(steel: str | None, *celsius: float, lag: str = "") -> tuple[float, ...]:
    made = joint(steel, lag)
    return hot_shares(made, group_figures(made, made.groups[0]), [of(each, "degC") for each in celsius])


def by_hand(steel: str, celsius: float, lag: float) -> float:
    """F_hot/F = r (F + dF)/F with dF = (strain of the parts - strain of the bolt) E As, all of the stiffness on it."""
    made = joint(steel)
    figures = group_figures(made, made.groups[0])
    cold, hot, bolt_hot = of(20, "degC"), of(celsius, "degC"), of(celsius - lag, "degC")
    bolt = steels.steel_of_grade("A193 B7")
    modulus = [magnitude(steels.modulus(bolt, max(each, of(70, "degF"))), "MPa", name="E") for each in (cold, bolt_hot)]
    parts = thermal.steel_strain(steel, cold=cold, hot=hot)
    stud = thermal.steel_strain(bolt, cold=cold, hot=bolt_hot)
    area = float(figures.thread.stress_area.to("mm**2").magnitude)
    preload = magnitude(figures.preload.preload, "N", name="F")
    return modulus[1] / modulus[0] * (preload + (parts - stud) * modulus[0] * area) / preload


def test_bolts_and_parts_alike_lose_only_what_their_modulus_loses():
    for share, celsius in zip(shares(CARBON, 100, 200, 300), (100, 200, 300), strict=True):
        assert 0.8 < share < 1.0
        assert share == pytest.approx(by_hand(CARBON, celsius, 0), rel=1e-3)


def test_bolts_that_lag_behind_pull_harder():
    lagging, alike = shares(CARBON, 150, lag="30 K")[0], shares(CARBON, 150)[0]
    assert lagging > 1 > alike
    assert lagging == pytest.approx(by_hand(CARBON, 150, 30), rel=1e-3)


def test_parts_that_grow_more_than_the_studs_pull_harder_the_hotter_it_is():
    found = shares(STAINLESS, 60, 100, 140)
    assert list(found) == sorted(found) and found[0] > 1
    assert found[2] == pytest.approx(by_hand(STAINLESS, 140, 0), rel=1e-3)


def test_at_assembly_temperature_nothing_has_changed():
    assert shares(CARBON, 20)[0] == pytest.approx(1.0, abs=0.005)


@pytest.mark.parametrize(("steel", "celsius"), [(None, 100), (CARBON, 900)])
def test_where_nothing_is_known_nothing_is_expected(steel, celsius):
    assert shares(steel, celsius) == ()


def measurement(steel: str | None) -> Measurement:
    made = plan(joint(steel), today=TODAY)
    work = lay_out(made, usual_procedure("girth flange"))
    return next(item for item in work.items if isinstance(item, Measurement))


def test_the_table_of_the_re_check_has_the_shares_in_percent():
    due = measurement(STAINLESS)
    temperatures = [float(row.at) for row in due.expected]
    assert temperatures[0] == 40 and temperatures[-1] >= 150
    for row, share in zip(due.expected, shares(STAINLESS, *temperatures), strict=True):
        assert row.percent == round(100 * share)
    assert measurement(None).expected == ()


TABLE = (
    Expected(at=Decimal(40), percent=99),
    Expected(at=Decimal(60), percent=95),
    Expected(at=Decimal(80), percent=90),
)


@given(st.decimals(min_value=-20, max_value=200, places=1))
def test_between_the_rows_it_is_in_proportion_and_never_beyond_the_table(celsius):
    due = Measurement(name="t", phase="re-check", ask="t?", quantity="temperature", unit="degC", expected=TABLE)
    told = expected_percent(due, celsius, "degC")
    assert 90 <= told <= 100
    if 40 <= celsius <= 60:
        assert told == round(99 - 4 * (float(celsius) - 40) / 20)


@pytest.mark.parametrize(("value", "unit", "percent"), [("140", "degF", 95), ("60", "degC", 95), ("70", "degC", 92)])
def test_a_figure_in_the_other_unit_finds_the_same_row(value, unit, percent):
    due = Measurement(name="t", phase="re-check", ask="t?", quantity="temperature", unit="degC", expected=TABLE)
    assert expected_percent(due, Decimal(value), unit) == percent
