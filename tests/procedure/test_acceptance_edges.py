"""The acceptance table at its edges: one row a case, and the constants that nothing else pins."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from assistant.events import Measured, Pass
from assistant.procedure import decide
from assistant.procedure.acceptance import TWICE, Verdict, judge, may_go_on
from tests.procedure.talk import LOCK_OUT, Talk, a_pass, command, newton_metres, value, work

DUE = a_pass(2, "180", "171", "189")
"""Scale 40 to 300 N*m, set to 180, window 171 to 189."""
THROUGH = Pass(
    group="clamp bolts",
    kind="pattern",
    number=1,
    bolts=(1, 2),
    target=Measured(Decimal(1200), "lbf*ft"),
    setting=Measured(Decimal(285), "lbf*ft"),
    low=Measured(Decimal(271), "lbf*ft"),
    high=Measured(Decimal(299), "lbf*ft"),
    tool_low=Measured(Decimal(60), "lbf*ft"),
    tool_high=Measured(Decimal(300), "lbf*ft"),
    through="multiplier",
)
"""A multiplier gives the bolt 1200 lbf*ft when the wrench shows 285."""


@pytest.mark.parametrize(
    ("said", "unit", "decision", "kind", "reason", "side"),
    [
        # the window, both edges in it
        ("171", None, "accept", "accept", "", ""),
        ("189", None, "accept", "accept", "", ""),
        ("170.9", None, "accept", "outside", "", "low"),
        ("189.1", None, "accept", "outside", "", "high"),
        ("189", None, "ask", "ask", "", ""),
        ("189.1", None, "ask", "ask", "", ""),
        ("180", None, "reject", "reject", "", ""),
        # the tool's own scale, both marks on it
        ("300", None, "accept", "outside", "", "high"),
        ("300.5", None, "accept", "impossible", "tool-range", ""),
        ("40", None, "accept", "impossible", "far-off", ""),  # on the scale, and less than half
        ("39.5", None, "accept", "impossible", "tool-range", ""),
        # half of what is due, itself included
        ("90", None, "accept", "impossible", "far-off", ""),
        ("90.5", None, "accept", "outside", "", "low"),
        ("90", None, "ask", "impossible", "far-off", ""),
        # no torque at all
        ("0", None, "accept", "impossible", "not-a-torque", ""),
        ("-5", None, "accept", "impossible", "not-a-torque", ""),
        ("180", "degC", "accept", "impossible", "not-a-torque", ""),
        # units: the wrench's own, one that it does not carry, one that a bare number betrays
        ("180", "N*m", "accept", "accept", "", ""),
        ("133", "lbf*ft", "accept", "impossible", "other-scale", ""),
        ("180", "lbf*ft", "ask", "impossible", "other-scale", ""),
        ("133", None, "accept", "impossible", "unit", ""),
    ],
)
def test_the_table_at_its_edges(said, unit, decision, kind, reason, side):
    verdict = judge(value(said, unit=unit), decision, due=DUE, last_setting=newton_metres("90"))
    assert (verdict.kind, verdict.reason, verdict.side) == (kind, reason, side)


def of(text, unit="N*m"):
    return Measured(Decimal(text), unit)


GAP = replace(
    DUE,
    measures="length",
    setting=of("2", "mm"),
    low=of("0", "mm"),
    high=of("4", "mm"),
    target=of("2", "mm"),
    tool_low=None,
    tool_high=None,
)
"""A gap of 0 to 4 mm, measured by hand."""
NO_READING = Verdict(kind="impossible", reason="no-reading-due")
WHOLE = {
    "nothing heard": (None, "accept", DUE, Verdict(kind="reject")),
    "no value": (command("yes"), "accept", DUE, Verdict(kind="reject")),
    "no pass": (value("180"), "accept", None, NO_READING),
    "no setting": (value("180"), "accept", replace(DUE, setting=None), NO_READING),
    "no lower edge": (value("180"), "accept", replace(DUE, low=None), NO_READING),
    "no upper edge": (value("180"), "accept", replace(DUE, high=None), NO_READING),
    "inside": (value("180"), "accept", DUE, Verdict(kind="accept", reading=of("180"))),
    "asked": (value("180"), "ask", DUE, Verdict(kind="ask", reading=of("180"))),
    "low": (value("165"), "accept", DUE, Verdict(kind="outside", reading=of("165"), side="low", by=of("6"))),
    "low by a part": (value("170.6"), "accept", DUE, Verdict(
        kind="outside", reading=of("170.6"), side="low", by=of("0.4")
    )),
    "low by ten": (value("160.6"), "accept", DUE, Verdict(
        kind="outside", reading=of("160.6"), side="low", by=of("10")
    )),
    "high": (value("199"), "accept", DUE, Verdict(kind="outside", reading=of("199"), side="high", by=of("10"))),
    "high by nearly ten": (value("198.8"), "accept", DUE, Verdict(
        kind="outside", reading=of("198.8"), side="high", by=of("9.8")
    )),
    "the setting of the pass before": (value("160"), "accept", DUE, Verdict(
        kind="outside", reading=of("160"), side="low", by=of("11"), hint="last-pass"
    )),
    "another scale": (value("180", unit="lbf*ft"), "ask", DUE, Verdict(
        kind="impossible", reading=of("180", "lbf*ft"), reason="other-scale", hint="N*m"
    )),
    "a unit that explains it": (value("133"), "accept", DUE, Verdict(
        kind="impossible", reading=of("133"), reason="unit", hint="lbf*ft"
    )),
    "off the tool": (value("301"), "accept", DUE, Verdict(
        kind="impossible", reading=of("301"), reason="tool-range"
    )),
    "below the tool": (value("39"), "accept", DUE, Verdict(
        kind="impossible", reading=of("39"), reason="tool-range"
    )),
    "half": (value("90"), "accept", DUE, Verdict(kind="impossible", reading=of("90"), reason="far-off")),
    "what the bolt gets": (value("1200"), "accept", THROUGH, Verdict(
        kind="impossible", reading=of("1200", "lbf*ft"), reason="bolt-value"
    )),
    "a gap that is closed": (value("0"), "accept", GAP, Verdict(kind="accept", reading=of("0", "mm"))),
    "a gap that is too wide": (value("4.125"), "accept", GAP, Verdict(
        kind="outside", reading=of("4.125", "mm"), side="high", by=of("0.125", "mm")
    )),
    "a gap of more than twice": (value("9"), "accept", GAP, Verdict(
        kind="outside", reading=of("9", "mm"), side="high", by=of("5", "mm")
    )),
    "half of a small setting": (value("0.5"), "accept", replace(GAP, low=of("1", "mm")), Verdict(
        kind="impossible", reading=of("0.5", "mm"), reason="far-off"
    )),
    "nothing where something is due": (value("0"), "accept", replace(GAP, low=of("1", "mm")), Verdict(
        kind="impossible", reason="not-a-torque"
    )),
}  # fmt: skip


@pytest.mark.parametrize("name", WHOLE)
def test_a_verdict_says_all_of_it(name):
    heard, decision, due, whole = WHOLE[name]
    last = None if due is None or due.measures else newton_metres("160")
    assert judge(heard, decision, due=due, last_setting=last) == whole


LIMITED = replace(DUE, tool_low=newton_metres("100"), tool_high=newton_metres("250"))


@pytest.mark.parametrize(
    ("so_far", "due", "expected"),
    [
        (None, DUE, False),
        (command("yes"), DUE, False),
        (value("1"), None, False),
        (value("1"), replace(DUE, setting=None), False),
        (value("1"), replace(DUE, low=None), False),
        (value("1"), replace(DUE, high=None), False),
        (value("1", unit="N*m"), DUE, False),  # a unit ends a number
        (value("1.5"), DUE, False),
        (value("0"), DUE, False),
        (value("1"), DUE, True),  # one eighty
        (value("18"), DUE, True),
        (value("4"), DUE, False),  # 40 to 49 and 400 to 499: neither from 90 to 300
        (value("9"), DUE, True),  # 90 itself is not possible, 91 to 99 are
        (value("30"), DUE, False),  # 300 is the first of its numbers and the end of the scale
        (value("29"), DUE, True),
        (value("90"), DUE, False),  # 900 and more
        (value("91"), DUE, False),  # can be a reading
        (value("299"), DUE, False),
        (value("180"), DUE, False),
        (value("25"), LIMITED, False),  # 250 is the end of this tool's scale
        (value("24"), LIMITED, True),
        (value("9"), LIMITED, False),  # 90 to 99 lie below it
        (value("10"), LIMITED, True),
    ],
)
def test_more_is_waited_for_where_only_a_longer_number_can_be_a_reading(so_far, due, expected):
    assert may_go_on(so_far, due) is expected


@pytest.mark.parametrize(("said", "kind"), [("359.5", "outside"), ("360", "impossible"), ("361", "impossible")])
def test_twice_the_setting_is_not_believed(said, kind):
    wide = replace(DUE, tool_high=newton_metres("1000"))
    assert TWICE == 2 and judge(value(said), "accept", due=wide, last_setting=None).kind == kind


def test_a_wrench_that_carries_two_scales_is_read_on_either():
    both = replace(DUE, scales=("lbf*ft",))
    verdict = judge(value("133", unit="lbf*ft"), "accept", due=both, last_setting=None)
    assert verdict.kind == "accept" and verdict.reading == Measured(Decimal(133), "lbf*ft")


@pytest.mark.parametrize(
    ("said", "reason"),
    [("1200", "bolt-value"), ("1260", "tool-range"), ("1142", "bolt-value"), ("285", ""), ("900", "tool-range")],
)
def test_the_bolts_own_value_is_told_from_the_wrenchs(said, reason):
    """1142 to 1258 lbf*ft at the bolt is the wrench's window of 271 to 299."""
    assert judge(value(said), "accept", due=THROUGH, last_setting=None).reason == reason
    direct = replace(THROUGH, through="")
    assert judge(value(said), "accept", due=direct, last_setting=None).reason != "bolt-value"


def test_the_bolts_own_value_is_recognised_in_the_targets_unit_too():
    """1627 N*m is 1200 lbf*ft (NIST SP 811: 1 lbf*ft = 1.355 818 N*m); the wrench shows newton metres here."""
    metric = replace(
        THROUGH,
        setting=newton_metres("386"),
        low=newton_metres("367"),
        high=newton_metres("405"),
        tool_low=newton_metres("80"),
        tool_high=newton_metres("400"),
    )
    for said in ("1200", "1627"):
        assert judge(value(said), "accept", due=metric, last_setting=None).reason == "bolt-value"
    assert metric.at_bolt(newton_metres("386")) == Measured(Decimal(1200), "lbf*ft")


def test_what_the_bolt_got_is_in_proportion_to_the_reading():
    assert THROUGH.at_bolt(Measured(Decimal(285), "lbf*ft")) == Measured(Decimal(1200), "lbf*ft")
    assert THROUGH.at_bolt(Measured(Decimal(290), "lbf*ft")) == Measured(Decimal(1221), "lbf*ft")
    with pytest.raises(ValueError, match="the wrench shows"):
        THROUGH.at_bolt(newton_metres("285"))


@pytest.mark.parametrize(("yes", "value_at", "taken"), [(0.95, 0.72, False), (0.95, 0.74, True), (0.9, 0.85, True)])
def test_a_doubtful_yes_to_a_doubtful_value_counts_from_a_common_probability_of_98_percent(yes, value_at, taken):
    """Odds multiply: 0.95 and 0.72 are 0.9799 together, 0.95 and 0.74 0.9818."""
    assert decide.CONFIRMED == 0.98
    talk = Talk.at_pass(2)
    talk.hear(value("180", value_at), decision="ask")
    talk.hear(command("yes", yes), decision="ask")
    assert any(e.kind == "reading-accepted" and e.achieved == newton_metres("180") for e in talk.events) == taken


@pytest.mark.parametrize(("probability", "counts"), [(0.29, 0), (0.3, 1), (0.5, 1)])
def test_what_is_rejected_counts_as_meant_for_us_from_30_percent(probability, counts):
    assert decide.LISTEN_AGAIN == 0.3
    talk = Talk.begun(work())
    talk.hear(command("moved", probability), decision="reject", agreed=False)
    assert talk.state.misses == counts and talk.state.question is not None
    assert talk.state.question.name == LOCK_OUT.name
