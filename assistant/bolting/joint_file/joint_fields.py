"""Field types of the joint file: quantities written with units, names, phrases and dates, each with what is allowed.

A wrong value raises inside pydantic with type `joint-file` and `ctx["findings"]`; `config.joint_file`
turns them into one line that names file, field, value and what is allowed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TypeAlias

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainValidator, StringConstraints, WithJsonSchema
from pydantic_core import PydanticCustomError

from assistant.bolting import units
from assistant.bolting.unit_kinds import KINDS, READ_AS
from assistant.bolting.units import Quantity
from assistant.errors import AssistantError

_PLACE = "@"
NOT_A_PHRASE_START = ("note", "skip", "because", "correction", "no", "yes")
"""Words that begin something else in every state; an agreed phrase cannot begin with one."""
PLAIN_YES = "yes"
"""The answer of a check where a wrong yes would do no harm; it passes no hold point."""


class Part(BaseModel):
    """Base of every table of a joint file: frozen, and an unknown key is an error."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", arbitrary_types_allowed=True, use_attribute_docstrings=True, allow_inf_nan=False
    )


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong with a joint file.

    Args:
        field: path as people count, e.g. "groups[1].target.torque" is the first group's; "" for the whole file.
        value: what the file has, as text.
        why: what is wrong with it, with the computed figure where there is one.
        allowed: what is allowed, or what to do.
    """

    field: str
    value: str
    why: str
    allowed: str


def as_written(value: Quantity) -> str:
    """A quantity in the unit in which it was written: '310 N*m'."""
    symbol = next((symbol for symbol, unit in units.UNITS.items() if unit == value.units), str(value.units))
    return f"{value.magnitude:g} {symbol}".rstrip()


def written(value: Any) -> str:
    """A value as it stands in a joint file: text and quantities in quotes."""
    return f"'{as_written(value)}'" if isinstance(value, units.REGISTRY.Quantity) else repr(value)


def refuse(why: str, allowed: str, *, field: str = "", value: Any = None) -> NoReturn:
    """Refuse a value inside a pydantic validator.

    Args:
        why: what is wrong with it, without field and value.
        allowed: what is allowed, or what to do.
        field: key below the table that is being checked; "" for the value itself.
        value: what the file has, where it is not what pydantic saw.
    """
    refuse_all([Finding(field, "" if value is None else written(value), why, allowed)])


def refuse_all(findings: Sequence[Finding]) -> NoReturn:
    """Refuse several values of one table at once; each names its key below the table."""
    text = "; ".join(f"{each.field} {each.why} ({each.allowed})".strip() for each in findings)
    raise PydanticCustomError("joint-file", "{text}", {"text": text, "findings": tuple(findings)})


def checked(look_up: Callable[[], Any], *, field: str = "", value: Any = None) -> Any:
    """Run an engineering look-up and turn its refusal into a pydantic one, so that all errors are listed together.

    Args:
        look_up: what to run; its result is returned.
        field: as for `refuse`.
        value: as for `refuse`; not said twice.
    """
    try:
        return look_up()
    except AssistantError as error:
        why = re.sub(rf"^[a-z ]+ is {re.escape(repr(value))}(: )?", "", error.message) or "unknown"
        refuse(why, error.remedy, field=field, value=value)


def _quantity_of(kind: str) -> Any:
    def read(value: Any) -> Quantity:
        if isinstance(value, units.REGISTRY.Quantity):
            return value
        try:
            return units.quantity(value, kind, field=_PLACE)
        except AssistantError as error:
            refuse(error.message.removeprefix(f"{_PLACE} is {value!r}").lstrip(": "), error.remedy)

    allowed = ", ".join(repr(symbol) if symbol else "no unit" for symbol in KINDS[kind].units)
    shown = "; also as wrenches show them: Nm, ft-lb, in-lb, kg-m" if kind in READ_AS else ""
    schema = {
        "type": "string",
        "description": f"{kind}: a number, a space and a unit; units: {allowed}{shown}",
        "examples": [KINDS[kind].example],
    }
    return Annotated[Any, PlainValidator(read), WithJsonSchema(schema)]


def _day(value: Any) -> date:
    """A calendar day, as a TOML date or as text."""
    if type(value) is date:
        return value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    refuse("not a day of the calendar", "write it as year-month-day, like 2027-03-31")


def phrase_words(value: str) -> tuple[str, ...]:
    """The words of a phrase as they are listened for: small letters, hyphens and commas as blanks."""
    return tuple(re.sub(r"[-,]", " ", value.lower()).split())


def _spoken(value: Any, least: int) -> str:
    if not isinstance(value, str):
        refuse("not text", "words to be spoken, in quotes")
    words = phrase_words(value)
    if len(words) < least:
        refuse(
            f"{len(words)} word{'' if len(words) == 1 else 's'}",
            f"at least {least} words, so that no single word can pass it" if least > 1 else "at least one word",
        )
    odd = next((word for word in words if not re.fullmatch(r"[a-z]+('[a-z]+)?", word)), None)
    if odd is not None:
        refuse(f"{odd!r} cannot be listened for", "English words in letters only; write figures as words")
    if words[0] in NOT_A_PHRASE_START:
        refuse(f"begins with {words[0]!r}, which means something else", "any other first word")
    return " ".join(words)


def _hold_phrase(value: Any) -> str:
    return _spoken(value, 3)


def _answer(value: Any) -> str:
    return PLAIN_YES if value == PLAIN_YES else _spoken(value, 1)


Text = Annotated[str, StringConstraints(strict=True, strip_whitespace=True, min_length=1, max_length=400)]
Day = Annotated[date, PlainValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
HoldPhrase = Annotated[str, BeforeValidator(_hold_phrase)]
Answer = Annotated[str, BeforeValidator(_answer)]

if TYPE_CHECKING:
    Torque: TypeAlias = Quantity
    Force: TypeAlias = Quantity
    SeatingStress: TypeAlias = Quantity
    Stress: TypeAlias = Quantity
    Pressure: TypeAlias = Quantity
    Area: TypeAlias = Quantity
    Length: TypeAlias = Quantity
    Percent: TypeAlias = Quantity
    Ratio: TypeAlias = Quantity
    Efficiency: TypeAlias = Quantity
    Friction: TypeAlias = Quantity
    Time: TypeAlias = Quantity
    Angle: TypeAlias = Quantity
    Temperature: TypeAlias = Quantity
    TemperatureDifference: TypeAlias = Quantity
else:
    Torque = _quantity_of("torque")
    Force = _quantity_of("force")
    SeatingStress = _quantity_of("seating-stress")
    Stress = _quantity_of("stress")
    Pressure = _quantity_of("pressure")
    Area = _quantity_of("area")
    Length = _quantity_of("length")
    Percent = _quantity_of("percent")
    Ratio = _quantity_of("ratio")
    Efficiency = _quantity_of("efficiency")
    Friction = _quantity_of("friction")
    Time = _quantity_of("time")
    Angle = _quantity_of("angle")
    Temperature = _quantity_of("temperature")
    TemperatureDifference = _quantity_of("temperature-difference")
