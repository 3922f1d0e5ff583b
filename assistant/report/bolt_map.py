"""A bolt group as SVG for a page: every bolt carries all its shapes, and its class says which one is seen.

So the picture can be filmed by changing one class a bolt, and is whole without scripts and in print.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from assistant.errors import BadBolting
from assistant.replay.frames import SIGNS
from assistant.report.bolt_layout import layout
from assistant.report.printable import printable

STATE_WORDS = {
    "p": "to do",
    "n": "due now",
    "d": "recorded",
    "m": "nut moved",
    "s": "skipped",
    "o": "kept outside its window",
}
"""Sign of a state in a frame -> its words in the legend."""
_PITCH = 66.0
_MARGIN = 40.0
_RING_LOWERS = 3
"""A ring around a bolt in doubt lowers its figure by this, and so the picture's edge."""
_STATE_OF = {sign: state for state, sign in SIGNS.items()}
_STAR = " ".join(
    f"{(23 if n % 2 == 0 else 14.5) * math.sin(math.pi * n / 8):.1f},"
    f"{-(23 if n % 2 == 0 else 14.5) * math.cos(math.pi * n / 8):.1f}"
    for n in range(16)
)
_SHAPES = (
    '<circle class="p" r="15"/>'
    '<path class="n" d="M0-23 23 0 0 23-23 0Z"/>'
    '<rect class="d" x="-15.5" y="-15.5" width="31" height="31" rx="1.5"/>'
    '<path class="m" d="M-20 0-10-17.3 10-17.3 20 0 10 17.3-10 17.3Z"/>'
    '<path class="s" d="M-22-15 22-15 0 23Z"/>'
    f'<polygon class="o" points="{_STAR}"/>'
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """How a group's bolts are laid out: an order family, and for a rectangle its columns and rows."""

    family: str = "cross"
    columns: int | None = None
    rows: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Got:
    """What a bolt got, beside its state.

    Args:
        torque: its last figure at the full value, without a unit; '' where there is none.
        doubt: something about it is to be decided, or it was corrected, asked about or kept.
        moved: its nut moved in some round, though perhaps not in the last.
        words: all of it, for who points at it.
    """

    torque: str = ""
    doubt: bool = False
    moved: bool = False
    words: str = ""


def bolt_map(
    name: str, bolts: Sequence[int], signs: str, shape: Shape, got: Mapping[int, Got] | None = None
) -> tuple[Markup, str]:
    """The picture, and how its bolts are numbered (one sentence).

    Args:
        name: of the group; goes into the picture's label.
        bolts: marked numbers, ascending; in a plan 1..n. Others (foreign records) are set on a circle as they come.
        signs: the state of each, values of `frames.SIGNS`.
        shape: as planned.
        got: what each bolt got.
    """
    places, caption, closed = _places(bolts, shape)
    right, bottom = max(x for x, _ in places) + _MARGIN, max(y for _, y in places) + _MARGIN
    if any(each.doubt for each in (got or {}).values()):
        bottom += _RING_LOWERS
    parts = [_outline(places)] if closed else []
    for bolt, sign, (x, y) in zip(bolts, signs, places, strict=True):
        state = _STATE_OF.get(sign, "pending")
        parts.append(
            f'<g class="bolt s-{SIGNS[state]}" data-bolt="{bolt}" transform="translate({x:.1f} {y:.1f})">'
            f"{_SHAPES}<text>{bolt}</text></g>"
        )
        parts.append(_beside((got or {}).get(bolt, Got()), x, y))
    label = escape(printable(f"Bolts of {name}, each with its state"))
    picture = (
        f'<svg class="map" viewBox="0 0 {right:.0f} {bottom:.0f}" role="img" aria-label="{label}">'
        f"{''.join(parts)}</svg>"
    )
    return Markup(picture), caption


def _beside(got: Got, x: float, y: float) -> str:
    """The torque under a bolt, a ring around one in doubt, a small mark at one that moved."""
    found = f"<title>{escape(printable(got.words))}</title>" if got.words else ""
    if got.doubt:
        found += '<circle class="doubt" r="25"/>'
    if got.moved:
        found += _MOVED
    if got.torque:
        found += f'<text class="got" y="{33 + _RING_LOWERS * got.doubt}">{escape(printable(got.torque))}</text>'
    return f'<g transform="translate({x:.1f} {y:.1f})">{found}</g>' if found else ""


_MOVED = '<path class="moved-once" d="M16-24 20.5-16 11.5-16Z"/>'


def marks_legend(*, doubt: bool, moved: bool, unit: str) -> Markup:
    """What the marks beside the bolts mean, as a list; those that occur."""
    items = []
    if unit:
        items.append(f"<li>figure under a bolt: its last torque at the full value, {escape(printable(unit))}</li>")
    if doubt:
        items.append(
            '<li><svg viewBox="-28 -28 56 56" aria-hidden="true"><circle class="doubt" r="23"/></svg>'
            "to be looked at: kept, corrected, or asked about</li>"
        )
    if moved:
        items.append(
            f'<li><svg viewBox="4 -30 24 20" aria-hidden="true">{_MOVED}</svg>its nut moved in some round</li>'
        )
    return Markup(f'<ul class="legend marks">{"".join(items)}</ul>') if items else Markup("")


def legend() -> Markup:
    """Each state's shape and words, as a list."""
    parts = "".join(
        f'<li><svg viewBox="-26 -26 52 52" aria-hidden="true"><g class="bolt s-{sign}">{_SHAPES}</g></svg>'
        f"{escape(words)}</li>"
        for sign, words in STATE_WORDS.items()
    )
    return Markup(f'<ul class="legend" aria-label="What the shapes mean">{parts}</ul>')


def _places(bolts: Sequence[int], shape: Shape) -> tuple[list[tuple[float, float]], str, bool]:
    count = len(bolts)
    try:
        if list(bolts) != list(range(1, count + 1)):
            raise BadBolting(f"bolts are {bolts[:3]} ...", remedy="numbers from 1 without a gap")
        where = layout(shape.family, count, columns=shape.columns, rows=shape.rows)
    except BadBolting:
        turns = [2 * math.pi * at / max(count, 1) for at in range(count)]
        return _circle([(math.sin(t), -math.cos(t)) for t in turns]), "Bolts in the order of their numbers.", True
    if where.shape == "circle":
        return _circle(where.places), where.caption, True
    wide = 3.2 if where.shape == "sides" else 1.0
    pitch = _PITCH * (1.1 if where.shape == "sides" else 1.0)
    return [(_MARGIN + pitch * wide * x, _MARGIN + pitch * y) for x, y in where.places], where.caption, False


def _circle(places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    radius = max(2.1 * _PITCH, len(places) * _PITCH / (2 * math.pi))
    return [(_MARGIN + radius * (1 + x), _MARGIN + radius * (1 + y)) for x, y in places]


def _outline(places: Sequence[tuple[float, float]]) -> str:
    """The flange behind the bolts of a circle: the bolt circle and the mark at bolt 1."""
    x, top = places[0]
    middle_y = (top + max(y for _, y in places)) / 2 if len(places) > 1 else top
    radius = max(middle_y - top, 1.0)
    return (
        f'<circle class="ring" cx="{x:.1f}" cy="{middle_y:.1f}" r="{radius:.1f}"/>'
        f'<path class="mark" d="M{x:.1f} {top - 25:.1f}l-6-10h12Z"/>'
    )
