"""How one field of an event becomes JSON and comes back, by the field's declared type alone.

| declared | in JSON |
|---|---|
| str, bool, int, None, `X | None`, Literal | itself |
| float | a number, finite |
| Decimal | a string, exactly `str(value)`, so that 310 and 310.0 stay what was said |
| tuple | an array |
| dict[str, X], dict[int, X] | an object (whole-number keys as text) |
| frozen dataclass | an object of exactly its fields |
| Any | plain JSON: no tuples, at most 32 deep |

Encoding a wrong value is our bug (`Misfit`, a ValueError); decoding one is somebody's damaged file, and the caller
turns the `Misfit` into its own error with file and line.
"""

from __future__ import annotations

import dataclasses
import functools
import math
import numbers
import operator
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from assistant.journal.strict_json import MAX_INT

_DEEPEST = 32
_MOST_FIGURES = 64  # digits of a Decimal, and places it may lie from the point: more is never a reading


class Misfit(ValueError):
    """A value that is not of its field's type. `path` grows on the way out: `.alternatives[2].probability`."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.path = ""

    def inside(self, step: str) -> Misfit:
        """The same misfit, seen from the thing that holds it."""
        self.path = step + self.path
        return self


@dataclass(frozen=True, slots=True)
class Codec:
    """Both directions for one declared type; each raises Misfit."""

    encode: Callable[[Any], Any]
    decode: Callable[[Any], Any]


@functools.cache
def codec_for(declared: Any) -> Codec:
    """The codec of a declared type.

    Raises:
        TypeError: a type that the table above does not list (our bug: the event needs another field type).
    """
    if declared in _PLAIN:
        return _PLAIN[declared]
    origin, inner = typing.get_origin(declared), typing.get_args(declared)
    if origin is typing.Literal:
        return _literal(inner)
    if origin in (typing.Union, types.UnionType):
        rest = [each for each in inner if each is not type(None)]
        if len(rest) == 1 and len(inner) == 2:
            return _optional(codec_for(rest[0]))
    if origin is tuple and inner and inner != ((),):
        return _tuple(inner)
    if origin in (dict, Mapping) and inner[0] in (str, int):
        return _dict(inner[0], codec_for(inner[1]))
    if isinstance(declared, type) and dataclasses.is_dataclass(declared):
        return record_codec(declared)
    raise TypeError(f"the journal cannot keep a field of type {declared}")


def record_codec(cls: type) -> Codec:
    """The codec of a frozen dataclass: an object with exactly its fields, none left out, none added."""
    if not cls.__dataclass_params__.frozen:  # type: ignore[attr-defined]
        raise TypeError(f"{cls.__name__} is not frozen")
    hints = typing.get_type_hints(cls)
    codecs = {each.name: codec_for(hints[each.name]) for each in dataclasses.fields(cls)}
    encoders = [(name, codec.encode) for name, codec in codecs.items()]
    decoders = [(name, codec.decode) for name, codec in codecs.items()]

    def encode(value: Any) -> dict[str, Any]:
        if type(value) is not cls:
            raise Misfit(f"is {_shown(value)}, not a {cls.__name__}")
        found = {}
        try:
            for name, step in encoders:
                found[name] = step(getattr(value, name))
        except Misfit as misfit:
            raise misfit.inside(f".{name}") from None
        return found

    def decode(value: Any) -> Any:
        if type(value) is not dict:
            raise Misfit(f"is {_shown(value)}, not an object")
        if value.keys() != codecs.keys():
            raise Misfit(_wrong_fields(set(value), set(codecs)))
        found = {}
        try:
            for name, step in decoders:
                found[name] = step(value[name])
        except Misfit as misfit:
            raise misfit.inside(f".{name}") from None
        try:
            return cls(**found)
        except ValueError as error:
            raise Misfit(f"cannot be: {error}") from None

    return Codec(encode, decode)


def _wrong_fields(there: set[str], wanted: set[str]) -> str:
    lacks, unknown = sorted(wanted - there), sorted(there - wanted)
    parts = [f"lacks {', '.join(lacks)}"] if lacks else []
    parts += [f"has unknown {', '.join(name[:40] for name in unknown)}"] if unknown else []
    return " and ".join(parts)


def _within(step: Callable[[Any], Any], value: Any, name: str) -> Any:
    try:
        return step(value)
    except Misfit as misfit:
        raise misfit.inside(name) from None


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _exactly(kind: type) -> Codec:
    def check(value: Any) -> Any:
        if type(value) is not kind:
            raise Misfit(f"is {_shown(value)}, not {kind.__name__}")
        return value

    return Codec(check, check)


def _encode_str(value: Any) -> str:
    if not isinstance(value, str):
        raise Misfit(f"is {_shown(value)}, not text")
    return str.__str__(value)  # a text enum's own str() would be its name


def _encode_bool(value: Any) -> bool:
    if type(value).__name__ not in ("bool", "bool_"):  # the second is numpy's
        raise Misfit(f"is {_shown(value)}, not true or false")
    return bool(value)


def _encode_int(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, numbers.Integral):
        raise Misfit(f"is {_shown(value)}, not a whole number")
    number = operator.index(value)  # also takes numpy's integers
    if abs(number) > MAX_INT:
        raise Misfit(f"is {_shown(value)}, out of range")
    return number


def _encode_float(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, numbers.Real):
        raise Misfit(f"is {_shown(value)}, not a number")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise Misfit(f"is {_shown(value)}, not a finite number")
    return number


def _encode_decimal(value: Any) -> str:
    if not isinstance(value, Decimal):
        raise Misfit(f"is {_shown(value)}, not a Decimal")
    if not value.is_finite() or len(value.as_tuple().digits) > _MOST_FIGURES or not _near_the_point(value):
        raise Misfit(f"is {_shown(value)}, not a plain finite number")
    return str(value)


def _near_the_point(value: Decimal) -> bool:
    exponent = value.as_tuple().exponent
    return isinstance(exponent, int) and abs(exponent) <= _MOST_FIGURES


def _decode_decimal(value: Any) -> Decimal:
    if type(value) is not str:
        raise Misfit(f"is {_shown(value)}, not a number in quotes")
    try:
        number = Decimal(value) if len(value) <= 2 * _MOST_FIGURES else None
    except InvalidOperation:
        number = None
    if number is None or not number.is_finite() or _encode_decimal(number) != value:
        raise Misfit(f"is {_shown(value)}, not a plain finite number")
    return number


def _literal(allowed: tuple[Any, ...]) -> Codec:
    def check(value: Any) -> Any:
        if not any(type(value) is type(each) and value == each for each in allowed):
            raise Misfit(f"is {_shown(value)}, not one of {', '.join(map(str, allowed))}")
        return value

    return Codec(check, check)


def _optional(codec: Codec) -> Codec:
    return Codec(
        lambda value: None if value is None else codec.encode(value),
        lambda value: None if value is None else codec.decode(value),
    )


def _tuple(inner: tuple[Any, ...]) -> Codec:
    endless = len(inner) == 2 and inner[1] is Ellipsis
    codecs = [codec_for(each) for each in inner if each is not Ellipsis]

    def each_with(value: Any, kind: type[Any]) -> list[tuple[Codec, Any]]:
        if type(value) is not kind:
            raise Misfit(f"is {_shown(value)}, not a {'tuple' if kind is tuple else 'list'}")
        if not endless and len(value) != len(codecs):
            raise Misfit(f"has {len(value)} parts, not {len(codecs)}")
        return list(zip(codecs * len(value) if endless else codecs, value, strict=True))

    def encode(value: Any) -> list[Any]:
        return [_within(c.encode, part, f"[{n}]") for n, (c, part) in enumerate(each_with(value, tuple))]

    def decode(value: Any) -> tuple[Any, ...]:
        return tuple(_within(c.decode, part, f"[{n}]") for n, (c, part) in enumerate(each_with(value, list)))

    return Codec(encode, decode)


def _dict(key_type: type, codec: Codec) -> Codec:
    def key_read(key: str) -> Any:
        if key_type is str:
            return key
        if not (key.removeprefix("-").isdecimal() and len(key) < 20 and str(int(key)) == key):
            raise Misfit(f"has the key {_shown(key)}, not a whole number")
        return int(key)

    def encode(value: Any) -> dict[str, Any]:
        if not isinstance(value, Mapping) or any(type(key) is not key_type for key in value):
            raise Misfit(f"is {_shown(value)}, not a dict with {key_type.__name__} keys")
        return {str(key): _within(codec.encode, part, f"[{key!r}]") for key, part in value.items()}

    def decode(value: Any) -> dict[Any, Any]:
        if type(value) is not dict:
            raise Misfit(f"is {_shown(value)}, not an object")
        return {key_read(key): _within(codec.decode, part, f"[{key!r}]") for key, part in value.items()}

    return Codec(encode, decode)


def _plain_json(value: Any, depth: int = 0) -> Any:
    if depth > _DEEPEST:
        raise Misfit("is nested too deep")
    if value is None or type(value) in (str, bool):
        return value
    if type(value) is int:
        return _encode_int(value)
    if type(value) is float:
        return _encode_float(value)
    if type(value) is list:
        return [_plain_json(part, depth + 1) for part in value]
    if type(value) is dict and all(type(key) is str for key in value):
        return {key: _plain_json(part, depth + 1) for key, part in value.items()}
    raise Misfit(f"is {_shown(value)}, not plain JSON")


_PLAIN: dict[Any, Codec] = {
    str: Codec(_encode_str, _exactly(str).decode),
    bool: Codec(_encode_bool, _exactly(bool).decode),
    int: Codec(_encode_int, lambda value: _encode_int(_exactly(int).decode(value))),
    float: Codec(_encode_float, _encode_float),
    Decimal: Codec(_encode_decimal, _decode_decimal),
    type(None): _exactly(type(None)),
    Any: Codec(_plain_json, _plain_json),
}
