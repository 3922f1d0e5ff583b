"""JSON with one spelling only: canonical bytes out, and nothing but plain, finite, unambiguous documents in.

The standard reader keeps the last of two equal keys, reads `NaN` and turns `1e400` into infinity; in a record each
of these is a changed number, so all are refused. Output is pure ASCII: no character of it can be taken for a line end.
"""

from __future__ import annotations

import json
import math
from typing import Any, NoReturn

MAX_INT = 2**63 - 1
_MAX_DIGITS = 20


class NotStrictJson(ValueError):
    """Bytes that are not a strict JSON document; the message says why in plain words."""


def canonical(document: object) -> bytes:
    """The document's only spelling: sorted keys, no spaces, ASCII escapes, no line end."""
    return _WRITER.encode(document).encode("ascii")


def strict_document(raw: bytes) -> Any:
    """The document in `raw` (UTF-8), as dict, list, str, int, float, bool or None.

    Raises:
        NotStrictJson: not UTF-8, not JSON, not finite, a key twice, a number out of range, nested too deep.
    """
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotStrictJson(f"not UTF-8 at byte {error.start}") from None
    try:
        return _READER.decode(text)
    except NotStrictJson:
        raise
    except RecursionError:
        raise NotStrictJson("nested too deep") from None
    except ValueError as error:
        raise NotStrictJson(f"not JSON ({error})") from None


def canonical_document(raw: bytes) -> Any:
    """The document in `raw`, which must also be spelled as `canonical` would.

    Raises:
        NotStrictJson: as `strict_document`, or another spelling of the same document.
    """
    document = strict_document(raw)
    try:
        same = canonical(document) == raw
    except RecursionError:
        raise NotStrictJson("nested too deep") from None
    if not same:
        raise NotStrictJson("not spelled as the assistant writes it")
    return document


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise NotStrictJson(f"the key {twice!r} is there twice")
    return found


def _no_constant(text: str) -> NoReturn:
    raise NotStrictJson(f"{text} is not a number")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise NotStrictJson(f"{text[:_MAX_DIGITS]} is out of range")
    return number


def _plain_int(text: str) -> int:
    if len(text) > _MAX_DIGITS or abs(int(text)) > MAX_INT:
        raise NotStrictJson(f"{text[:_MAX_DIGITS]}... is out of range")
    return int(text)


_WRITER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
_READER = json.JSONDecoder(
    object_pairs_hook=_no_key_twice, parse_constant=_no_constant, parse_float=_finite, parse_int=_plain_int
)
