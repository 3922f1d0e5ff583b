"""Walks a whole catalogue: every public method called with samples, every constant, as (name, sentence)."""

from __future__ import annotations

import inspect
import itertools
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, get_type_hints

from assistant.bolting.remark import Figure, Spoken
from assistant.speech.wording import Wording
from assistant.speech.wording.english import English
from assistant.speech.wording.english_methods import NAMES, PULLS, WHYS
from assistant.speech.wording.remarks import REMARKS

CONSTANTS = ("told", "equipment", "help", "entries", "moments", "troubles", "no_reason")
NUMBER = Decimal("185")
TEXT = "zzz"
"""Stands for a text of a file: in no language."""
PHRASE = "qqq qqq"
"""Stands for a phrase that people must say."""
PHRASES = frozenset(
    {
        ("hold_point", "phrase"),
        ("answered", "phrase"),
        ("phrase_named", "phrase"),
        ("whole_phrase", "phrase"),
        ("once_more", "phrase"),
        ("wrong_answer", "answer"),
        ("wrong_tool", "answer"),
        ("wrong_tool", "planned"),
        ("wrong_state", "answer"),
        ("did_you_say", "what"),
        ("did_you_say_again", "what"),
        ("what_changed", "what"),
    }
)
UNITS = ("N*m", "lbf*ft", "lbf*in", "kgf*m", "degC", "degF", "mm", "in", "deg", "bar")
FAMILIES = (
    *("cross", "star", "modified cross", "four points", "quadrant", "circular", "groups", "line", "rectangle"),
    *("clamp", "split hub"),
)


def _spoken(name: str) -> Spoken:
    """A remark with a figure at each of its places."""
    places = set(re.findall(r"\{(\d)\}", REMARKS[name].en))
    return Spoken(name, (Figure(NUMBER, "%"),) * len(places))


SAMPLES: dict[str, tuple[Any, ...]] = {
    "role": ("", "lead", "technician", "second technician", "supervisor"),
    "side": ("low", "high"),
    "unit": UNITS,
    "hint_unit": ("lbf*ft",),
    "other_unit": ("", "lbf*ft"),
    "unit_said": ("",),
    "family": FAMILIES,
    "wrench": ("wrench 14", "wrenches 41 to 44"),
    "multiplier": ("multiplier 3",),
    "percent": (87, 100, 112),
    "seconds": (60, 3600, 86_400, 100_000),
    "group": (None, TEXT),
    "bolts": ((12,), (12, 3), (1, 2, 3, 4)),
    "moments": ((), (TEXT,)),
    "round_number": (1, 2),
    "through": ("multiplier", "adapter", "multiplier and adapter"),
    "method": tuple(NAMES),
    "spoken": tuple(_spoken(name) for name in REMARKS),
}
OWN: dict[tuple[str, str], tuple[Any, ...]] = {
    ("where_pass", "kind"): ("snug", "circular", "seat", "pattern"),
    ("moment", "event"): tuple(English.moments),
    ("name_please", "purpose"): (
        *("tightens", "settles", "supervisor", "witness", "measured", "takes-over", "competent"),
    ),
    ("reason_please", "purpose"): ("keep", "skip", "cut-short"),
    ("impossible", "reason"): ("no-reading-due", "unit", "tool-range", "far"),
    ("why_method", "method"): tuple(WHYS),
    ("pressure_called", "name"): tuple(PULLS),
    ("restarted", "reason"): ("gasket", "pass"),
    ("together", "setting"): (None, TEXT),
    **{(name, "answers"): ((PHRASE, PHRASE),) for name in ("one_of", "states", "choose_answer")},
}
"""What one method alone takes under that name."""


def methods() -> list[str]:
    """Names of everything public that a catalogue can say."""
    return [n for n, _ in inspect.getmembers(English, inspect.isfunction) if not n.startswith("_")]


def constants() -> list[str]:
    """Names of everything public that a catalogue holds."""
    return [n for n in dir(English) if not n.startswith("_") and n not in methods()]


def sentences(words: Wording, *, number: Decimal = NUMBER) -> Iterator[tuple[str, str]]:
    """Everything that a catalogue says about one number, with the name and the arguments it came from."""
    for name in methods():
        for arguments in _arguments(name, number):
            made = getattr(words, name)(**arguments)
            for each in (made,) if isinstance(made, str) else made:
                yield f"{name}({', '.join(f'{k}={v}' for k, v in arguments.items())})", each
    for name in CONSTANTS:
        for key, text in getattr(words, name).items():
            yield f"{name}.{key}", text


def _arguments(name: str, number: Decimal) -> Iterator[dict[str, Any]]:
    """Every combination of samples for one method; a parameter of an unknown type is an error of this table."""
    function = getattr(English, name)
    hints = get_type_hints(function)
    parameters = [p for p in inspect.signature(function).parameters if p != "self"]
    pools: list[tuple[Any, ...]] = []
    for parameter in parameters:
        hint = hints[parameter]
        if (name, parameter) in PHRASES:
            pools.append((PHRASE,) if hint is str else ((PHRASE, PHRASE),))
        elif (name, parameter) in OWN:
            pools.append(OWN[name, parameter])
        elif parameter in SAMPLES and not (parameter == "group" and hint is str):
            pools.append(SAMPLES[parameter])
        elif hint is Decimal:
            pools.append((number,))
        elif hint is bool:
            pools.append((False, True))
        elif hint is int:
            pools.append((12,))
        elif hint == Decimal | None:
            pools.append((number, None))
        elif hint == int | None:
            pools.append((12, None))
        else:
            assert hint in (str, str | None), f"no sample for {name}({parameter})"
            pools.append((TEXT,))
    for combination in itertools.product(*pools):
        yield dict(zip(parameters, combination, strict=True))


def without_quotes(text: str) -> str:
    """A German sentence without what stands between its quotation marks."""
    return re.sub("„[^“]*“", " ", text)


def plain_words(text: str) -> list[str]:
    """Its words in small letters."""
    return re.findall(r"[^\W\d_]+(?:[-'][^\W\d_]+)*", text.casefold())
