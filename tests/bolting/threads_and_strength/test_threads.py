"""Threads: names as people write them, geometry by the standards' formulas, contradictions refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bolting import units
from assistant.bolting.threads_and_strength.thread_tables import METRIC, UN_SERIES
from assistant.bolting.threads_and_strength.threads import Thread, thread
from assistant.errors import BadBolting


def every_name() -> list[str]:
    metric = [f"M{d}x{p}" for d, (coarse, fine) in METRIC.items() for p in ([coarse] if coarse else []) + list(fine)]
    unified = [
        thread(f"{float(d)}-{float(n):g} {'UN' if series == '8UN' else series}").name
        for series, sizes in UN_SERIES.items()
        for d, n in sizes.items()
        if d >= 0.25
    ]
    return metric + unified


def mm(quantity: units.Quantity, unit: str = "mm") -> float:
    return units.magnitude(quantity, unit, name="length")


@pytest.mark.parametrize(
    ("names", "canonical"),
    [
        (["M20", "M 20", " M20 ", "M20x2.5", "M20X2.5", "M20 x 2.5", "M20 x 2,5", "M20×2.5", "M20-8g"], "M20x2.5"),
        (["M20x1.5", "M 20 x 1,5", "M20*1.50", "M20x1.5-6g", "M20x1.5-5g6g"], "M20x1.5"),
        (
            ["3/4-10 UNC", "3/4-10", "3/4 UNC", '3/4"-10 UNC', "3/4 in-10 UNC", "0.750-10 UNC-2A", "3/4 - 10"],
            "3/4-10 UNC",
        ),
        (["3/4-16", "3/4 UNF", "3/4-16 UNF"], "3/4-16 UNF"),
        (["1 1/8-8 UN", "1-1/8-8UN", "1-1/8-8", "1 1/8 8UN", "1 1/8-8 UN-2A", "1.125-8 UN", "1 1/8 UN"], "1 1/8-8 UN"),
        (["1-8", "1-8 UNC", "1 UNC", "1-8 UN", "1-8UN"], "1-8 UNC"),
        (["2-4.5", "2-4 1/2 UNC", "2 UNC"], "2-4.5 UNC"),
        (["4-4", "4 UNC"], "4-4 UNC"),
        (["10-32", "#10-32 UNF", "No. 10-32"], "#10-32 UNF"),
        (["4-40", "#4-40 UNC"], "#4-40 UNC"),
        (["1-14", "1-14 UNS"], "1-14 UNS"),
    ],
)
def test_a_thread_is_known_by_every_usual_spelling(names: list[str], canonical: str) -> None:
    assert {thread(name).name for name in names} == {canonical}


@pytest.mark.parametrize("name", every_name())
def test_our_own_name_of_a_thread_gives_the_same_thread_again(name: str) -> None:
    assert thread(thread(name).name) == thread(name)


@pytest.mark.parametrize(
    ("name", "allowed"),
    [
        ("M20x3", "M20x2.5"),
        ("M72", "M72x6"),
        ("M21", "M20"),
        ("M110x6", "M100"),
        ("M20,5", "M20"),
        ("3/4", "3/4-16 UNF"),
        ("1 1/8", "1 1/8-8 UN"),
        ("3/4-10 UNF", "3/4-10 UNC"),
        ("3/4-16 UNC", "3/4-16 UNF"),
        ("3/4-8 UN", "3/4-10 UNC"),
        ("1 1/8-12 UN", "1 1/8-8 UN"),
        ("1 1/8-8 UNC", "1 1/8-7 UNC"),
        ("1 UNS", "1-14 UNS"),
        ("13/4-4", "M20"),
        ("13/4-8 UN", "M20"),
        ("3/0-10", "M20"),
        ("0/4-10", "M20"),
        ("#3-48", "4"),
        ("20x2.5", "M20"),
        ("m20", "M20"),
        ("Tr20x4", "M20"),
        ("G1/2", "M20"),
        ("M20x2.5 LH", "M20"),
        ("M20x", "M20"),
        ("M20x-2.5", "M20"),
        ("", "M20"),
        (None, "M20"),
    ],
)
def test_a_contradictory_or_doubtful_name_is_refused_and_says_what_there_is(name: str, allowed: str) -> None:
    with pytest.raises(BadBolting) as caught:
        thread(name)
    assert repr(name) in caught.value.message
    assert allowed in caught.value.remedy


@given(st.text(alphabet='M0123456789./-xX UNCFS#8,"', max_size=14))
def test_any_text_is_one_thread_or_a_refusal(name: str) -> None:
    try:
        found = thread(name)
    except BadBolting:
        return
    assert thread(found.name) == found


@pytest.mark.parametrize("name", every_name())
def test_the_diameters_and_areas_are_in_their_order(name: str) -> None:
    one = thread(name)
    assert 0 < mm(one.root_diameter) < mm(one.stress_diameter) < mm(one.pitch_diameter) < mm(one.diameter)
    assert mm(one.root_area, "mm2") < mm(one.stress_area, "mm2") < math.pi / 4 * mm(one.diameter) ** 2


@pytest.mark.parametrize("name", [f"M{size}" for size, (coarse, _) in METRIC.items() if coarse])
def test_a_fine_thread_has_more_area_than_the_coarse_one(name: str) -> None:
    coarse = thread(name)
    fine = [thread(f"{name}x{pitch}") for pitch in METRIC[name[1:]][1]]
    assert all(mm(one.stress_area, "mm2") > mm(coarse.stress_area, "mm2") for one in fine)
    assert {one.series for one in fine} <= {"fine"}
    assert coarse.series == "coarse"


@pytest.mark.parametrize(
    ("name", "d2", "d3"),
    [("M10", 9.026, 8.160), ("M20", 18.376, 16.933), ("M36", 33.402, 31.093), ("M64", 60.103, 56.639)],
)
def test_metric_pitch_and_root_diameter(name: str, d2: float, d3: float) -> None:
    """ISO 724 basic pitch diameter d2 and ISO 898-1 root diameter d3 (from memory; formulas of the standards)."""
    one = thread(name)
    assert mm(one.pitch_diameter) == pytest.approx(d2, abs=6e-4)
    assert mm(one.root_diameter) == pytest.approx(d3, abs=6e-4)


def test_unified_mean_diameter_of_the_textbook_example() -> None:
    """Shigley 9th ed. Example 8-3(c): dm = 0.7093 in for 3/4-16 (read in the page text, p. 440)."""
    one: Thread = thread("3/4-16 UNF")
    assert mm(one.pitch_diameter, "in") == pytest.approx(0.7093, abs=2e-4)
