"""A torque published for one thread condition, converted to another: by ratio of nut factors or by instruction."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bolting.friction_and_torque.friction import ThreadCondition
from assistant.bolting.friction_and_torque.torque import checked_nut_factor
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

DISAGREEMENT = 0.15  # two rules that differ by more than this share are worth a warning (common practice, no source)
_UNIT = "N*m"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConvertedTorque:
    """A torque for another thread condition, and how it was found.

    Args:
        torque: for the condition at hand, N*m.
        rule: "same condition", "ratio of nut factors" or "percentage of the instruction".
        explanation: the calculation in one line, with numbers and source.
        other_torque: what the other rule would have given, N*m; None when only one rule applies.
        disagreement: |other - torque| / torque, 0 when there is no other rule.
        warnings: what an engineer must see.
        spread: lowest and highest ratio that the published nut factors allow; None where an instruction gives it.
    """

    torque: Quantity
    rule: str
    explanation: str
    other_torque: Quantity | None
    disagreement: float
    warnings: tuple[str, ...]
    spread: tuple[float, float] | None = None


def by_nut_factors(published: Quantity, *, published_for: float, at_hand: float) -> Quantity:
    """T2 = T1 K2/K1, N*m: same preload, other friction.

    Args:
        published: T1, the published torque.
        published_for: K1 of the condition that it was published for.
        at_hand: K2 of the condition at hand.

    Raises:
        BadBolting: a number that cannot be a nut factor.

    Source: T = K d F with the same F (row LUB; computed).
    """
    ratio = checked_nut_factor(at_hand) / checked_nut_factor(published_for)
    return of(magnitude(published, _UNIT, name="published torque") * ratio, _UNIT)


def by_percentage(published: Quantity, *, change_percent: float) -> Quantity:
    """T2 = T1 (1 + change/100), N*m; -45 means a cut of 45 %.

    Args:
        published: T1, the published torque.
        change_percent: as the governing instruction states it; -80 to +150.

    Raises:
        BadBolting: outside that range, where no instruction can mean it.

    Source: the governing instruction (a 45 % cut for lubricated threads is common practice, no source).
    """
    if not -80 <= change_percent <= 150:
        raise BadBolting(
            f"torque change is {change_percent:g} %", remedy="Between -80 % and +150 % of the published torque."
        )
    return of(magnitude(published, _UNIT, name="published torque") * (1 + change_percent / 100), _UNIT)


def preload_ratio(*, published_for: float, at_hand: float) -> float:
    """F2/F1 = K1/K2 when the same torque is applied in another condition (above 1: the bolt gets more than wanted)."""
    return checked_nut_factor(published_for) / checked_nut_factor(at_hand)


def convert(
    published: Quantity,
    *,
    published_for: ThreadCondition,
    at_hand: ThreadCondition,
    instruction_percent: float | None = None,
    instruction: str = "",
    unit: str = "N*m",
) -> ConvertedTorque:
    """The torque to use when the threads are not in the condition that the torque was published for.

    The percentage of the governing instruction wins over our table of nut factors, because it comes first on site; the
    table then only checks it. Without one, the ratio of nut factors is used, upwards only with a tested factor. Equal
    conditions change nothing.

    Args:
        published: the published torque.
        published_for: the condition it was published for.
        at_hand: the condition of the threads to be tightened.
        instruction_percent: change stated by the governing instruction, e.g. -45; None when it states none.
        instruction: which instruction says so, for the explanation.
        unit: torque unit of the explanation.

    Raises:
        BadBolting: more torque is needed and the factor at hand is untested; percentage impossible, given although the
            condition is the same, or a reduction where the table says that the condition at hand needs more torque (and
            the reverse).
        BadQuantity: published is not a torque.

    Source: `by_nut_factors`, `by_percentage`; nut factors in `friction`.
    """
    same = published_for.name == at_hand.name
    if same and instruction_percent not in (None, 0.0):
        raise BadBolting(
            f"the torque is published for '{at_hand.name}' threads and they are '{at_hand.name}', but a change of "
            f"{instruction_percent:g} % is given",
            remedy="Correct one of the two conditions, or leave the percentage out.",
        )
    ratio = by_nut_factors(published, published_for=published_for.nut_factor, at_hand=at_hand.nut_factor)
    factors = f"{at_hand.nut_factor:g}/{published_for.nut_factor:g}"
    start = f"{show(published, unit)} published for {published_for.name}"
    if same:
        return _result(published, "same condition", f"{start}, threads are {at_hand.name}: no change", None, unit)
    if instruction_percent is None:
        raised = _raised(published, published_for, at_hand, unit)
        if raised is not None:
            return raised
        text = f"{start}, threads are {at_hand.name}: x K2/K1 = {factors} -> {show(ratio, unit)} ({at_hand.chosen})"
        return _result(ratio, "ratio of nut factors", text, None, unit, _spread(published_for, at_hand))
    stated = by_percentage(published, change_percent=instruction_percent)
    _refuse_contradiction(instruction_percent, published_for, at_hand)
    by = instruction or "governing instruction"
    text = f"{start}, threads are {at_hand.name}: {instruction_percent:+g} % by {by} -> {show(stated, unit)}"
    return _result(stated, "percentage of the instruction", text, ratio, unit)


def _raised(
    published: Quantity, published_for: ThreadCondition, at_hand: ThreadCondition, unit: str
) -> ConvertedTorque | None:
    """The torque for threads that need more of it, by a tested factor only; None when they need no more.

    The divisor is then the highest published K1: a bolt whose K1 was lower gets less than intended, never more.

    Raises:
        BadBolting: more torque is needed and nobody has tested the nut factor at hand.
    """
    if at_hand.nut_factor <= published_for.nut_factor:
        return None
    start = f"{show(published, unit)} published for {published_for.name}, threads are {at_hand.name}"
    if not at_hand.tested:
        low, high = at_hand.low / published_for.high, at_hand.high / published_for.low
        raise BadBolting(
            f"{start}: untested nut factors would raise it by anything from {low:.2f} to {high:.2f} times, and slicker "
            "threads than thought would then overload the bolt",
            remedy="The change that the instruction gives for these threads (change_for_condition), a tested "
            "nut_factor with its source, or threads in the condition that the torque was published for.",
        )
    ratio = max(at_hand.nut_factor / published_for.high, 1.0)
    torque = of(magnitude(published, _UNIT, name="published torque") * ratio, _UNIT)
    text = (
        f"{start}: x K2/K1 = {at_hand.nut_factor:g}/{published_for.high:g} -> {show(torque, unit)} "
        f"({at_hand.chosen}; the highest published K1, so that no bolt gets more than meant)"
    )
    return _result(torque, "ratio of nut factors", text, None, unit, _spread(published_for, at_hand))


def _refuse_contradiction(percent: float, published_for: ThreadCondition, at_hand: ThreadCondition) -> None:
    slicker = at_hand.high < published_for.low or (at_hand.lubricated and not published_for.lubricated)
    rougher = at_hand.low > published_for.high or (published_for.lubricated and not at_hand.lubricated)
    if (slicker and percent > 0) or (rougher and percent < 0):
        raise BadBolting(
            f"from '{published_for.name}' to '{at_hand.name}' threads a change of {percent:+g} % is given",
            remedy=f"'{at_hand.name}' needs {'less' if slicker else 'more'} torque than '{published_for.name}': "
            "check the sign, and which condition the torque was published for.",
        )


def _spread(published_for: ThreadCondition, at_hand: ThreadCondition) -> tuple[float, float]:
    return at_hand.low / published_for.high, at_hand.high / published_for.low


def _result(
    chosen: Quantity,
    rule: str,
    text: str,
    other: Quantity | None,
    unit: str,
    spread: tuple[float, float] | None = None,
) -> ConvertedTorque:
    warnings: tuple[str, ...] = ()
    if spread is not None:
        ratio = f"published nut factors allow a ratio from {spread[0]:.2f} to {spread[1]:.2f}"
        warnings = (f"{ratio}; the lubricant's own tested value is better",)
    newton_metres = magnitude(chosen, _UNIT, name="torque")
    gap = 0.0 if other is None else abs(magnitude(other, _UNIT, name="torque") - newton_metres) / newton_metres
    if other is not None and gap > DISAGREEMENT:
        warnings = (
            *warnings,
            f"the ratio of nut factors would give {show(other, unit)}, {100 * gap:.0f} % away: "
            "have the instruction and the lubricant checked before tightening",
        )
    return ConvertedTorque(
        torque=of(newton_metres, _UNIT),
        rule=rule,
        explanation=text,
        other_torque=other,
        disagreement=gap,
        warnings=warnings,
        spread=spread,
    )
