"""Joint files to start from: a commented file for each kind of joint, with the known facts and marked examples.

Facts that nobody gave are examples. The line of each says so, and `Template.examples` lists them, so that no
invented figure passes for the joint's own.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass

EXAMPLE = "EXAMPLE"
"""Stands in the comment of each line whose value nobody gave."""

FACTS = {
    "name": "name of the joint, as people call it",
    "place": "where it is",
    "instruction": "governing instruction: its title",
    "revision": "revision of that instruction",
    "standard": "flange standard: EN 1092-1 or ASME B16.5 (empty: none)",
    "size": "flange size: DN 80, NPS 6",
    "rating": "flange rating: PN 40, class 300",
    "gasket": "gasket, in words: spiral wound, flat ring",
    "gasket_inner": "inner diameter of the ring that seals",
    "gasket_outer": "outer diameter of the ring that seals",
    "pressure": "design pressure of the line",
    "elastomer": "whether the gasket is rubber or the like: true or false",
    "bolts": "how many bolts",
    "thread": "thread: M16, M20x1.5, 3/4-10 UNC",
    "grade": "property class or material grade: 8.8, A193 B7",
    "length": "length of bolt or stud",
    "condition": "thread condition: dry, oiled, anti-seize, lubricated",
    "torque": "published target torque, with unit",
    "published_for": "thread condition that the torque was published for",
    "wrench": "what the wrench is called, in words that can be said",
    "wrench_kind": "click, dial or digital",
    "serial": "serial number of the wrench",
    "lowest": "lowest mark of its scale",
    "highest": "highest mark of its scale",
    "graduation": "smallest division of its scale",
    "calibrated_until": "last day on which its calibration is valid, like 2027-03-31",
}
"""What a template can be told, and how it is asked for."""

FLANGED = ("gasketed flange", "girth flange")
SEALED = (*FLANGED, "split clamp coupling")
"""Kinds with a gasket."""
GASKET_FACTS = ("gasket", "gasket_inner", "gasket_outer", "pressure", "elastomer")
FLANGE_FACTS = ("standard", "size", "rating")
QUANTITIES = ("gasket_inner", "gasket_outer", "pressure", "length", "torque", "lowest", "highest", "graduation")
"""Facts that are a number with a unit."""
KINDS = (*FLANGED, "split clamp coupling", "machine base", "plain pattern")

_METRIC = {"thread": "M20", "grade": "8.8", "length": "90 mm", "torque": "200 N*m"} | {
    "gasket_inner": "115 mm",
    "gasket_outer": "142 mm",
    "pressure": "16 bar",
}
_US = {"thread": "3/4-10 UNC", "grade": "A193 B7", "length": "4 in", "torque": "150 lbf*ft"} | {
    "gasket_inner": "6.6 in",
    "gasket_outer": "8.5 in",
    "pressure": "250 psi",
}
_SCALES = {
    "N*m": (2, "N*m"),
    "lbf*ft": (5, "lbf*ft"),
    "lbf*in": (10, "lbf*in"),
    "kgf*m": (1, "kgf*m"),
}
_LIKELY = {
    "name": "Joint one",
    "place": "where it is",
    "instruction": "title of the governing instruction",
    "revision": "A",
    "gasket": "flat ring",
    "elastomer": "false",
    "bolts": "8",
    "condition": "anti-seize",
    "wrench": "wrench one",
    "wrench_kind": "dial",
    "serial": "serial number",
    "calibrated_until": "2036-12-31",
}
_LIKELY_OF = {
    "split clamp coupling": {"bolts": "4", "condition": "lubricated"},
    "machine base": {"bolts": "4", "condition": "oiled"},
    "plain pattern": {"bolts": "12", "condition": "oiled"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A joint file to start from.

    Args:
        text: the file.
        examples: keys whose values nobody gave.
    """

    text: str
    examples: tuple[str, ...]


def likely(kind: str, known: Mapping[str, str], *, us: bool) -> dict[str, str]:
    """Every fact of a kind: the known value, else an example that makes the file complete.

    Args:
        kind: one of KINDS.
        known: by the keys of FACTS; an empty text counts as not given.
        us: US customary units in the examples.
    """
    given = {key: value for key, value in known.items() if value}
    facts = _LIKELY | (_US if us else _METRIC) | _LIKELY_OF.get(kind, {}) | given
    facts.setdefault("published_for", facts["condition"])
    facts["thread"] = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", facts["thread"])  # M16x1,5 has one reading only
    number, _, unit = facts["torque"].strip().partition(" ")
    usual, scale = _SCALES.get(unit, _SCALES["N*m"])
    try:
        target = float(number)
    except ValueError:  # the plan says what is wrong with it
        target = 100.0
    step = max(usual // 2, 1) if target < 40 * usual else usual
    low, high = int(target * 0.2 // step) * step or step, (int(target * 1.25 // step) + 1) * step
    facts.setdefault("lowest", f"{low:g} {scale}")
    facts.setdefault("highest", f"{high:g} {scale}")
    facts.setdefault("graduation", f"{step:g} {scale}")
    return facts


def joint_template(kind: str, known: Mapping[str, str], *, us: bool = False) -> Template:
    """A commented joint file of a kind.

    Args:
        kind: one of KINDS.
        known: by the keys of FACTS; what is missing becomes an example.
        us: US customary units in the examples.
    """
    facts = likely(kind, known, us=us)
    examples: list[str] = []

    def line(key: str, fact: str, comment: str = "", *, quoted: bool = True) -> str:
        value = facts[fact]
        written = json.dumps(value, ensure_ascii=False) if quoted else value
        marked = fact not in known or not known[fact]
        if marked:
            examples.append(fact)
        note = "; ".join(part for part in (f"{EXAMPLE}, put the joint's own" if marked else "", comment) if part)
        return f"{key} = {written}" + (f"   # {note}" if note else "")

    unit = facts["graduation"].split(" ")[-1]
    parts = [
        _HEAD.format(kind=kind),
        line("name", "name"),
        line("place", "place"),
        f'kind = "{kind}"',
        *(['variants = ["rope gasket"]   # or "tapered gasket"'] if kind == "split clamp coupling" else []),
        f'torque_unit = "{unit}"   # of every target in the plan: N*m, lbf*ft, lbf*in or kgf*m',
        "",
        "[instruction]   # the manufacturer's instruction or site rule that counts before anything here",
        line("title", "instruction"),
        line("revision", "revision"),
        "",
    ]
    if kind in FLANGED and all(facts.get(key) for key in ("standard", "size", "rating")):
        parts += [
            "[flange]   # checks the bolt count and size against the standard; leave the table out for other flanges",
            *(line(key, key) for key in ("standard", "size", "rating")),
            "",
        ]
    if kind in SEALED:
        parts += [
            "[gasket]",
            line("type", "gasket"),
            line("inner_diameter", "gasket_inner", "of the ring that seals"),
            line("outer_diameter", "gasket_outer"),
            line("pressure", "pressure", "design pressure of the line"),
            line("elastomer", "elastomer", "rubber or the like: once hot it is never re-torqued", quoted=False),
            "",
        ]
    parts += [
        "[[groups]]   # bolts that are tightened as one pattern; numbered 1, 2, ... clockwise from a mark",
        f'name = "{_GROUP[kind]}"',
        line("count", "bolts", quoted=False),
        line("thread", "thread"),
        line("grade", "grade"),
        line("length", "length"),
        line("condition", "condition", "of the threads when they are tightened"),
        line("wrench", "wrench", "the name of one of the wrenches below"),
        "",
        "[groups.target]   # or one of: preload, stress, percent_of_proof",
        line("torque", "torque", "from the governing instruction"),
        line("published_for", "published_for", "converted when the condition above is another"),
        "",
        *(_split_bolts(facts) if kind == "split clamp coupling" else []),
        "[tightening]",
        f'order = "{_ORDER[kind]}"   # {_ORDERS}',
        'passes = ["30 %", "60 %", "100 %"]   # shares of the target',
        "circular = true              # afterwards round until no nut moves",
        'window_low = "-5 %"          # a reading outside the window is never recorded without a word',
        'window_high = "5 %"',
        *(['dwell = "4 h"                # settling time, then round once more'] if kind in FLANGED else []),
        "",
        "[[wrenches]]",
        line("name", "wrench"),
        line("kind", "wrench_kind", "click, dial or digital"),
        line("serial", "serial"),
        f'unit = "{unit}"   # of its scale',
        line("lowest", "lowest", "lowest mark of the scale"),
        line("highest", "highest", "highest mark"),
        line("graduation", "graduation", "smallest division; settings are multiples of it"),
        line("calibration_due", "calibrated_until", "last day on which its calibration is valid", quoted=False),
        "",
        _FOOT,
    ]
    if kind in FLANGED:
        parts.append(_RECHECK)
    if kind == "split clamp coupling":
        examples.append("split bolts")
    return Template(text="\n".join(parts), examples=tuple(dict.fromkeys(examples)))


def _split_bolts(facts: Mapping[str, str]) -> list[str]:
    """The second group of a coupling, which its procedure tightens after the joint bolts."""
    mark = f"   # {EXAMPLE}, put the joint's own"
    values = {key: json.dumps(facts[key], ensure_ascii=False) for key in ("thread", "grade", "condition", "wrench")}
    return [
        "[[groups]]   # they come after the group above",
        'name = "split bolts"',
        f"count = 2{mark}",
        *(f"{key} = {value}{mark}" for key, value in values.items()),
        f"length = {json.dumps(facts['length'])}{mark}",
        "",
        "[groups.target]",
        f"torque = {json.dumps(facts['torque'])}{mark}",
        f"published_for = {json.dumps(facts['published_for'])}",
        "",
    ]


_HEAD = """\
# Joint file: {kind}. Figures are the responsibility of whoever signs this file.
# `assistant plan THIS_FILE` checks it and prints order, passes, targets and wrench settings with the reasons.
# `assistant plan --schema` lists every key. Quantities are text with a unit: "310 N*m", "3.5 in", "-5 %".
"""
_GROUP = {
    "gasketed flange": "flange bolts",
    "girth flange": "girth studs",
    "split clamp coupling": "joint bolts",
    "machine base": "foot bolts",
    "plain pattern": "bolts",
}
_ORDER = dict.fromkeys(KINDS, "cross") | {"split clamp coupling": "clamp"}
_ORDERS = "cross (or star), circular, clamp, line, rectangle (with columns and rows), groups, quadrant, split hub"
_FOOT = """\
[[hold_points]]   # work goes on only after this phrase has been said
name = "lock-out"
phase = "prepare"
ask = "Isolated, locked out and tried?"
phrase = "locked out and tried"
released_by = "lead"
witness = true                # asks for the name
why = "What starts or opens by itself can kill."

[[people]]
role = "technician"

[[people]]
role = "lead"
task = "releases the lock-out, signs the record"
"""
_RECHECK = """\
[[rechecks]]      # takes a second look on another day; leave it out where the instruction asks for none
kind = "cold"
earliest = "24 h"
"""
