"""What heat and cold do to a tightened joint: remaining strength, grades and coatings out of range, hot preload."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.bolting.joint import thermal
from assistant.bolting.joint.pressure_rating import rating_at
from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.planning.group_figures import GroupFigures
from assistant.bolting.planning.hot_expectation import hot_shares, steady_shares
from assistant.bolting.reason import Reason, Term
from assistant.bolting.remark import Remark, figure, percent
from assistant.bolting.threads_and_strength import temperature_properties
from assistant.bolting.units import Quantity, magnitude, of, show
from assistant.errors import BadBolting

_ROOM_DEGC = 50.0
_SLACK_SHARE = 0.8  # hot preload over cold below which there is a remark (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class HotBolt:
    """A bolt at the hottest temperature of its service.

    Args:
        temperature: of flange and bolt. yield_: minimum yield there, MPa; None where no table has it.
        known: where that yield comes from.
        steady: F_hot/F with everything equally warm; start_up: with the bolts lagging behind; None when not known.
        stress: highest mean stress of the two and of the cold bolt, MPa.
    """

    temperature: Quantity
    yield_: Quantity | None
    known: str
    steady: float | None
    start_up: float | None
    stress: Quantity

    @property
    def share_of_yield(self) -> float | None:
        """Highest hot stress over the yield that is left; None where it is not known."""
        if self.yield_ is None:
            return None
        return magnitude(self.stress, "MPa", name="stress") / magnitude(self.yield_, "MPa", name="yield")


def hot_bolt(joint: Joint, figures: GroupFigures) -> HotBolt | None:
    """The bolt when hot; None where the joint file states no service."""
    if joint.service is None:
        return None
    hottest = joint.service.highest_temperature
    steady, start_up = (
        shares[0] if shares else None
        for shares in (steady_shares(joint, figures, [hottest]), hot_shares(joint, figures, [hottest]))
    )
    most = max(1.0, *(share for share in (steady, start_up) if share is not None), 0.0)
    yield_, known = _yield_hot(figures, hottest)
    return HotBolt(
        temperature=hottest,
        yield_=yield_,
        known=known,
        steady=steady,
        start_up=start_up,
        stress=of(most * magnitude(figures.load.stress, "MPa", name="stress"), "MPa"),
    )


def _yield_hot(figures: GroupFigures, temperature: Quantity) -> tuple[Quantity | None, str]:
    own = figures.group.own_strength
    if own is not None and own.yield_hot is not None:
        return own.yield_hot, own.source
    if magnitude(temperature, "degC", name="temperature") <= _ROOM_DEGC:
        return figures.strength.yield_, figures.strength.standard
    try:
        found = temperature_properties.yield_at(figures.strength, temperature)
    except BadBolting as error:
        return None, error.message
    return found, "ASME II-D Y-1, or annexes of ISO 898-1:1999 and ISO 3506-1 (from memory)"


def service_remarks(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """Stops and cautions on the temperatures of service; a hot re-check counts as service too."""
    yield from _range(joint, figures)
    found = hot_bolt(joint, figures)
    if found is None:
        return
    if found.share_of_yield is None:
        if magnitude(found.temperature, "degC", name="temperature") > _ROOM_DEGC:
            text = f"Strength at {show(found.temperature, 'degC')} is not known here ({found.known})."
            yield Remark(
                "caution",
                "strength when hot not known",
                text,
                "give own_strength.yield_hot from the standard",
                (figure(found.temperature, "degC"),),
            )
    elif found.share_of_yield > 1 and found.yield_ is not None:
        when = "while it heats up" if found.stress > figures.load.stress else "when it is hot"
        text = (
            f"A bolt carries {show(found.stress, figures.stress_unit)} {when} at {show(found.temperature, 'degC')}, "
            f"where its yield is {show(found.yield_, figures.stress_unit)}: it yields and goes slack."
        )
        yield Remark("stop", "bolts yield when hot", text, found.known, (figure(found.temperature, "degC"),))
    yield from _slack(found)
    yield from _pressure(joint)


def _slack(found: HotBolt) -> Iterator[Remark]:
    if found.steady is not None and found.steady < _SLACK_SHARE:
        text = f"At {show(found.temperature, 'degC')} a bolt keeps {100 * found.steady:.0f} % of its preload."
        grade = "stop" if found.steady <= 0 else "caution"
        parts = (figure(found.temperature, "degC"), percent(max(0.0, 100 * found.steady), digits=2))
        source = "ASME II-D expansion tables; joint share taken as 1"
        yield Remark(grade, "bolts slacken when hot", text, source, parts)
    if found.steady is None and magnitude(found.temperature, "degC", name="temperature") > 150:
        text = "The steels' expansion is not known here: hot preload is not checked."
        yield Remark("caution", "hot preload not checked", text, "write [clamped] with the steel of the clamped parts")


def _range(joint: Joint, figures: GroupFigures) -> Iterator[Remark]:
    """Grade and coating against the temperatures that the file names."""
    service, own = joint.service, figures.group.own_strength
    hot = [
        each.highest_temperature
        for each in joint.rechecks
        if each.kind == "hot" and each.highest_temperature is not None
    ]
    hot += [] if service is None else [service.highest_temperature]
    cold = [] if service is None or service.lowest_temperature is None else [service.lowest_temperature]
    limits = temperature_properties.grade_range(figures.strength.grade) if own is None else None
    low = None if limits is None else limits.low
    high, source = (None, "") if limits is None else (limits.high, limits.source)
    if own is not None:
        low = None if own.lowest_temperature is None else magnitude(own.lowest_temperature, "degC", name="lowest")
        high = None if own.highest_temperature is None else magnitude(own.highest_temperature, "degC", name="highest")
        source = own.source
    hottest = max((magnitude(each, "degC", name="temperature") for each in hot), default=None)
    coldest = min((magnitude(each, "degC", name="temperature") for each in cold), default=None)
    grade = figures.strength.grade
    if hottest is not None and high is not None and hottest > high:
        text = f"{grade} is for up to {high:g} degC, and the joint gets {hottest:g} degC."
        hot_parts = tuple(figure(of(t, "degC"), "degC") for t in (high, hottest))
        yield Remark("stop", "grade too hot", text, source, hot_parts)
    if coldest is not None and low is not None and coldest < low:
        text = (
            f"{grade} is for down to {low:g} degC, and the joint gets {coldest:g} degC: it may break without warning."
        )
        yield Remark("stop", "grade too cold", text, source)
    coating = temperature_properties.COATING_LIMITS.get(figures.condition.finish)
    if coating is not None and hottest is not None and hottest > coating[0]:
        finish = figures.condition.finish
        text = f"The {finish} finish is for up to {coating[0]:g} degC, and the joint gets {hottest:g} degC."
        parts = tuple(figure(of(t, "degC"), "degC") for t in (coating[0], hottest))
        yield Remark("stop", "coating too hot", text, coating[1], parts)


def _pressure(joint: Joint) -> Iterator[Remark]:
    """Pressure against the flange's rating at temperature."""
    if joint.flange is None or joint.gasket is None or joint.service is None:
        return
    flange, hottest = joint.flange.bolting, joint.service.highest_temperature
    rated = rating_at(flange.rating, hottest)
    if rated is None:
        if magnitude(hottest, "degC", name="temperature") > 120:
            text = (
                f"The rating of {flange.rating} at {show(hottest, 'degC')} is not known here: look it up for its steel."
            )
            yield Remark("caution", "rating when hot not checked", text, flange.standard, (figure(hottest, "degC"),))
    elif joint.gasket.pressure > rated:
        text = (
            f"{flange.rating} in carbon steel bears {show(rated, 'bar')} at {show(hottest, 'degC')}, and the line has "
            f"{show(joint.gasket.pressure, 'bar')}."
        )
        parts = (figure(rated, "bar"), figure(joint.gasket.pressure, "bar"))
        yield Remark("stop", "pressure over the rating", text, "ASME B16.5 Table 2-1.1, group 1.1 (from memory)", parts)


def service_reason(joint: Joint, figures: GroupFigures) -> Iterator[Reason]:
    """The line of the calculation sheet on heat; nothing without a [service] table."""
    found = hot_bolt(joint, figures)
    if found is None:
        return
    terms = [Term("t", "hottest in service", show(found.temperature, "degC"), "joint file")]
    if found.yield_ is not None:
        terms.append(Term("Sy(t)", "minimum yield there", show(found.yield_, figures.stress_unit), found.known))
    for symbol, what, share in (
        ("r", "F_hot/F, all equally warm", found.steady),
        ("rs", "at start-up", found.start_up),
    ):
        if share is not None:
            terms.append(Term(symbol, what, f"{share:.2f}", "ASME II-D expansion and modulus; joint share taken as 1"))
    share_of_yield = found.share_of_yield
    told = "strength there not known" if share_of_yield is None else f"{100 * share_of_yield:.0f} % of the yield there"
    yield Reason(
        title="Hot bolt",
        formula="S(t) = S max(1, r, rs)",
        terms=tuple(terms),
        result=f"S(t) = {show(found.stress, figures.stress_unit)}, {told}",
        source=f"springs in series, {thermal.ASSEMBLY_NOTE}",
    )
