"""The acceptance table: what becomes of a reading that was heard. Pure functions.

How sure a listener must be is decided by the calibrated thresholds (`models/calibration.json`, through
`speech.voting`); they reach this table as `decision`. The limits of plausibility stand below.

| heard | decision | against window and tool | verdict |
|---|---|---|---|
| one value | accept | inside | accept |
| one value | ask, but sure enough in context | inside | accept |
| one value | ask | inside or outside | ask (read back as a question) |
| one value | accept | outside the window | outside |
| one value | any | impossible (off the tool, twice or half, another unit, the bolt's value, none due) | impossible |
| nothing that fits | reject | - | reject |

**In context** (`in_context`). The listeners' probabilities treat every value as equally likely, and so they should:
what is wanted must not colour what is heard. A decision is about what a mistake would cost. There are two:

- *harm*: a reading said outside the window is recorded as inside;
- *slip*: another figure inside the window is recorded.

Let `p(v)` be the probability of a value `v`, `inside` the sum of `p` over the window, and `best` the likeliest value in
it. `best` is taken at once when

    LIFT * inside / (1 - inside) >= ODDS   and   p(best) / inside >= LEAD

The lift says how much more often a reading lies in its window than a value drawn as the calibration's material was. A
window of 5 % to either side holds 1 to 3 % of that material, and people report what the wrench was set to in more than
nine readings of ten, so the true figure is in the hundreds; 20 is as careful as if two readings in three lay outside.
It is the same for everybody, and nothing that happens in a session changes it. There is no lift in a window wider than
`WIDEST` to either side, for a teen or a ten whose twin lies in the window too (113 and 130; 'one three zero', said
figure by figure, has no twin), for what is asked however likely it is (a decimal without 'point', a value that the ear
did not find, an utterance cut off at its edge: `accept_at` is 1 there), and for a value that was denied. Another figure
of a window that holds such a pair is lifted: it is taken for neither of them. Outside the window nothing is lifted:
there the thresholds alone decide.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from assistant.bolting import units
from assistant.bolting.unit_kinds import TORQUE_UNITS
from assistant.events import Alternative, Measured, Pass
from assistant.speech.confusable import figure_by_figure, teen_ten_twins
from assistant.speech.intent import UNITS_OF

LIFT = 20.0
"""By how much the odds for the window are raised; never above this."""
ODDS = 99.0
"""Lifted odds from which what was said is believed to lie in the window."""
LEAD = 0.97
"""Share of the window's probability that one figure must have. At 0.9 twice as many slips were measured."""
WIDEST = 0.10
"""Distance from the setting to the edge of the window, as a share of the setting, above which nothing is lifted."""

TWICE = 2.0
"""A reading of this many times the setting, or its inverse, is not believed (common practice, no source)."""
UNIT_RATIO_TOLERANCE = 0.01
"""A reading this near to the setting in another unit betrays the other scale (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What to do with a reading.

    Args:
        kind: "accept", "ask", "outside", "impossible" or "reject".
        reading: the value with its unit, as said (the joint's own unit where none was said).
        side, by: for "outside": "low" or "high", and the distance to the window on the wrench's scale.
        reason: for "impossible": "tool-range", "far-off", "unit", "other-scale" (a unit was said that the wrench does
            not carry), "bolt-value" (what the bolt gets, not what the wrench shows), "no-reading-due", "not-a-torque"
            (or not the angle or length that is due).
        hint: the unit that would explain the value; or "last-pass" when it is the setting of the pass before.
    """

    kind: str
    reading: Measured | None = None
    side: str = ""
    by: Measured | None = None
    reason: str = ""
    hint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What an utterance means for the window that is due.

    Args:
        best: the likeliest reading inside the window; None where there is none.
        p: probability of its figure, in whatever unit or wording; 0..1.
        inside: probability that any figure inside the window was said; 0..1.
        lift: by how much the odds for the window were raised; 1 for not at all.
        taken: `best` may be taken at once.
    """

    best: Alternative | None = None
    p: float = 0.0
    inside: float = 0.0
    lift: float = 1.0
    taken: bool = False


def in_context(
    alternatives: Sequence[Alternative], *, due: Pass | None, bolt: int | None, named: int | None = None
) -> Context:
    """Weigh what was heard against the window (the rule in the module's text).

    Args:
        alternatives: of one utterance, with their probabilities; a correction ('no, one eighty') counts for nothing,
            because it would take an entry back as well.
        due: the pass that is being worked on; None when no reading is due.
        bolt: the bolt that is due. A reading that names another one counts for nothing.
        named: the bolt that the reading named, where it is taken up; then readings without a bolt count for nothing.
    """
    if due is None or due.setting is None or due.low is None or due.high is None:
        return Context()
    whose = (named,) if named is not None else (None, bolt)
    shares: dict[float, float] = defaultdict(float)
    first: dict[float, Alternative] = {}
    for each in alternatives:
        if each.value is None or each.corrected or each.bolt not in whose:
            continue
        if each.unit is not None and each.unit not in UNITS_OF[due.measures]:
            continue
        on_scale = in_unit(Measured(each.value, each.unit or due.setting.unit), due.setting.unit)
        if is_inside(on_scale, due):
            figure = round(on_scale, 6)
            shares[figure] += each.probability
            first.setdefault(figure, each)
    if not shares:
        return Context(lift=lift(due))
    best = max(shares, key=lambda figure: shares[figure])
    inside, raised = min(1.0, sum(shares.values())), lift(due, first[best])
    sure = raised * inside >= ODDS * (1 - inside) and shares[best] >= LEAD * inside
    return Context(
        best=first[best],
        p=shares[best],
        inside=inside,
        lift=raised,
        taken=sure and raised > 1 and first[best] is alternatives[0],
    )


def lift(due: Pass, heard: Alternative | None = None) -> float:
    """By how much the odds for the window of this pass are raised: `LIFT`, or 1 for not at all.

    Args:
        due: the pass that is being worked on; it has a window.
        heard: the likeliest reading inside the window; None for any that is no teen and no ten. Said figure by figure
            it is neither.
    """
    assert due.setting is not None and due.low is not None and due.high is not None
    unit = due.setting.unit
    low, setting, high = (in_unit(each, unit) for each in (due.low, due.setting, due.high))
    if setting <= 0 or max(high - setting, setting - low) > WIDEST * setting * (1 + TINY):
        return 1.0
    if heard is None or heard.value is None:
        return LIFT
    if figure_by_figure(heard.value, heard.text, by_figures=heard.by_figures):
        return LIFT
    twins = (Measured(Decimal(twin), heard.unit or unit) for twin in teen_ten_twins(int(heard.value)))
    return 1.0 if any(is_inside(in_unit(twin, unit), due) for twin in twins) else LIFT


def is_inside(on_scale: float, due: Pass) -> bool:
    """Whether a figure on the wrench's scale lies in the window, edges included. `due` has a window."""
    assert due.low is not None and due.high is not None
    return float(due.low.value) - TINY <= on_scale <= float(due.high.value) + TINY


def may_go_on(so_far: Alternative | None, due: Pass | None) -> bool:
    """Whether what was said so far cannot be a reading of this pass, and a longer number that begins with it could.

    'One' or 'one seven' where 170 is due: the speaker is likely to be within a number, however long the pause. Of what
    can be a reading, or has a unit, nothing more is expected.

    Args:
        so_far: the likeliest meaning of it.
        due: the pass that is being worked on; None when no reading is due.
    """
    if so_far is None or so_far.value is None or so_far.unit is not None or so_far.value % 1 or so_far.value < 1:
        return False
    if due is None or due.setting is None or due.low is None or due.high is None:
        return False
    unit, number = due.setting.unit, int(so_far.value)
    setting = float(due.setting.value)
    low = max([setting / TWICE, *([in_unit(due.tool_low, unit)] if due.tool_low is not None else [])])
    high = min([setting * TWICE, *([in_unit(due.tool_high, unit)] if due.tool_high is not None else [])])
    if low < number < high:
        return False
    longer = ((number * 10**more, (number + 1) * 10**more - 1) for more in (1, 2, 3))
    return any(first < high and last > low for first, last in longer)


def judge(heard: Alternative | None, decision: str, *, due: Pass | None, last_setting: Measured | None) -> Verdict:
    """Apply the acceptance table to the best reading.

    Args:
        heard: the best alternative, a value; None when nothing fits.
        decision: "accept", "ask" or "reject", by the thresholds or by `in_context`.
        due: the pass that is being worked on; None when no reading is due.
        last_setting: the setting of the pass before, to recognise a wrench that was not set anew.

    Source: the table and the rule in the module's text are our own; unit ratios NIST SP 811 (`bolting.units`).
    """
    if heard is None or heard.value is None or decision == "reject":
        return Verdict(kind="reject")
    if due is None or due.setting is None or due.low is None or due.high is None:
        return Verdict(kind="impossible", reason="no-reading-due")
    nothing = heard.value < 0 or (heard.value == 0 and due.low.value > 0)  # a gap may be closed
    if nothing or (heard.unit is not None and heard.unit not in UNITS_OF[due.measures]):
        return Verdict(kind="impossible", reason="not-a-torque")
    unit = due.setting.unit
    if heard.unit is not None and heard.unit not in (unit, *due.scales):
        said = Measured(heard.value, heard.unit)
        return Verdict(kind="impossible", reading=said, reason="other-scale", hint=unit)
    reading = Measured(heard.value, heard.unit or unit)
    on_scale = in_unit(reading, unit)
    setting = float(due.setting.value)
    inside = is_inside(on_scale, due)
    if not inside:
        wrong = _impossible(reading, on_scale, heard.unit is None, due)
        if wrong is not None:
            return wrong
    if decision != "accept":
        return Verdict(kind="ask", reading=reading)
    if inside:
        return Verdict(kind="accept", reading=reading)
    side = "low" if on_scale < setting else "high"
    edge = float(due.low.value if side == "low" else due.high.value)
    hint = "last-pass" if last_setting is not None and abs(on_scale - in_unit(last_setting, unit)) < TINY else ""
    return Verdict(
        kind="outside",
        reading=reading,
        side=side,
        by=Measured(_tidy(abs(on_scale - edge), fine=due.measures == "length"), unit),
        hint=hint,
    )


TINY = 1e-6
"""Slack for converted values: 200 N*m -> lbf*ft -> N*m is 200.00000000000006."""


def _impossible(reading: Measured, on_scale: float, unit_unspoken: bool, due: Pass) -> Verdict | None:
    assert due.setting is not None
    setting = float(due.setting.value)
    if due.through and _is_bolt_value(on_scale, due):
        return Verdict(kind="impossible", reading=reading, reason="bolt-value")
    if unit_unspoken and not due.measures:
        for other in TORQUE_UNITS:
            ratio = in_unit(due.setting, other) / setting
            if other != due.setting.unit and abs(on_scale / setting / ratio - 1) < UNIT_RATIO_TOLERANCE:
                return Verdict(kind="impossible", reading=reading, reason="unit", hint=other)
    if due.tool_low is not None and on_scale < in_unit(due.tool_low, due.setting.unit) - TINY:
        return Verdict(kind="impossible", reading=reading, reason="tool-range")
    if due.tool_high is not None and on_scale > in_unit(due.tool_high, due.setting.unit) + TINY:
        return Verdict(kind="impossible", reading=reading, reason="tool-range")
    bounded_above = due.low is not None and due.low.value <= 0  # a gap is often more than twice what is allowed
    if not bounded_above and (on_scale >= TWICE * setting or on_scale <= setting / TWICE):
        return Verdict(kind="impossible", reading=reading, reason="far-off")
    return None


def _is_bolt_value(on_scale: float, due: Pass) -> bool:
    """Whether a number is what the bolt gets, within the window: said in the target's unit, or in the wrench's."""
    assert due.setting is not None and due.low is not None and due.high is not None and due.target is not None
    in_target = on_scale / float(due.bolt_share)
    in_wrench = on_scale / in_unit(due.target, due.setting.unit) * float(due.setting.value)
    return any(
        float(due.low.value) - TINY <= at_wrench <= float(due.high.value) + TINY for at_wrench in (in_target, in_wrench)
    )


def in_unit(value: Measured, unit: str) -> float:
    """Number of `unit` in a recorded reading; the number itself, untouched, where the unit is the same.

    Raises:
        BadBolting: the units measure different things.
    """
    if value.unit == unit:
        return float(value.value)
    if unit not in TORQUE_UNITS:
        return units.magnitude(units.of(float(value.value), value.unit), unit, name="reading")
    return float(units.convert(units.torque(value), unit).magnitude)


def _tidy(number: float, *, fine: bool) -> Decimal:
    if fine:
        return Decimal(f"{number:.3f}").normalize()
    return Decimal(f"{number:.1f}").normalize() if number < 10 else Decimal(f"{number:.0f}")
