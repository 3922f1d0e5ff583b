"""A bolt group drawn as SVG: plain black on white, readable in greyscale, every bolt state with its own shape."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from html import escape
from itertools import pairwise

from assistant.report.bolt_layout import STATES, Layout, checked_states, checked_turns, layout

_GLYPH = 15.0  # half size of a bolt's shape, in user units
_PITCH = 46.0  # between neighbours
_MARGIN = 58.0
_WIDE = 640.0  # pictures wider than this get larger words, as they will be shown smaller
_FONT = "font-family='sans-serif'"
_INK = "#111"

# state -> fill, stroke width, dash, colour of the number. Shape and shade both tell the state.
_LOOK = {
    "pending": ("#fff", 1.5, "", _INK),
    "current": ("#fff", 4.5, "", _INK),
    "done": ("#3a3a3a", 1.5, "", "#fff"),
    "skipped": ("#fff", 1.5, "4 3", _INK),
    "out of window": ("#c4c4c4", 3.0, "", _INK),
}


def svg_picture(
    family: str,
    bolts: int,
    *,
    order: Sequence[int] | None = None,
    states: Mapping[int, str] | None = None,
    columns: int | None = None,
    rows: int | None = None,
    title: str = "",
    say: Callable[[str], str] = str,
) -> str:
    """The bolt group as one SVG element, to be written to a file or put into a page.

    Bolts are pending (circle), current (thick diamond), done (dark square), skipped (dashed triangle) or out of
    window (grey star). Numbers inside the shapes are bolt numbers; small slanted ones beside them are turns.

    Args:
        family: a key of `pattern.FAMILIES`; it decides the shape.
        bolts: 1..96 as the family allows.
        order: the order to show as turn numbers, with arrows for its first four steps; None shows bolt numbers only.
        states: state of bolts, keys 1..bolts, values of `layout.STATES`; the rest is pending.
        columns: as for `pattern.order`.
        rows: as for `pattern.order`.
        title: name of the joint or group, any text; it is escaped.
        say: a sentence of ours -> in another language.

    Returns:
        '<svg ...>...</svg>' in user units with a viewBox; no scripts, no outside references, no ids.

    Raises:
        BadBolting: as `pattern.order`; an unknown bolt or state; an order that is not one.
    """
    where = layout(family, bolts, columns=columns, rows=rows)
    known = checked_states(states, bolts)
    visited = checked_turns(order, bolts)
    points, inward = _points(where, top=_MARGIN + (26 if title else 0))
    parts: list[str] = []
    if where.shape == "sides":
        parts.append(_pipe(points, say))
    if order is not None and (where.shape in ("circle", "sides") or (rows or 0) > 2):
        parts += _arrows(points, order, free=46.0 if bolts <= 16 else 64.0)
    for bolt in range(1, bolts + 1):
        x, y = points[bolt - 1]
        parts.append(_bolt(x, y, str(bolt), known[bolt]))
        if visited is not None:
            dx, dy = inward[bolt - 1]
            parts.append(_turn(x + 33 * dx, y + 33 * dy, str(visited[bolt - 1])))
    if where.shape == "circle":
        parts.append(_start_mark(*points[0]))
    right = max(max(x for x, _ in points) + _MARGIN, 400.0)
    scale = max(1.0, right / _WIDE)
    foot, bottom = _foot(where, known, visited is not None, max(y for _, y in points) + _MARGIN, right, scale, say)
    if title:
        foot.append(_text(right / 2, 8 + 9 * scale, title, size=15 * scale))
    label = escape(title or say(f"{bolts} bolts"), quote=True)
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {right:g} {bottom:g}' role='img' "
        f"aria-label='{label}'><rect width='{right:g}' height='{bottom:g}' fill='#fff'/>"
        + "".join(parts)
        + "".join(foot)
        + "</svg>"
    )


def _points(where: Layout, *, top: float) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """User-unit places of the bolts, and for each the direction in which its turn number stands."""
    if where.shape == "circle":
        count = len(where.places)
        radius = max(3 * _PITCH, count * (_PITCH if count <= 32 else 0.8 * _PITCH) / (2 * math.pi))
        points = [(_MARGIN + radius * (1 + x), top + radius * (1 + y)) for x, y in where.places]
        return points, [(-x, -y) for x, y in where.places]
    if where.shape == "sides":
        points = [(_MARGIN + 4 * _PITCH * x, top + 1.3 * _PITCH * y) for x, y in where.places]
        return points, [(1.0 - 2 * x, 0.0) for x, _ in where.places]
    pitch = 1.4 * _PITCH
    points = [(_MARGIN + pitch * x, top + pitch * y) for x, y in where.places]
    lowest, widest = (max(place[axis] for place in where.places) for axis in (1, 0))
    if where.shape == "line":
        return points, [(0.0, 1.0)] * len(points)
    down = 1.0 if lowest > 1 else -1.0  # two rows only: the turns stand outside
    inward = {0.0: (0.0, down), lowest: (0.0, -down)}
    return points, [inward.get(y, (1.0 if x < widest else -1.0, 0.0)) for x, y in where.places]


def _bolt(x: float, y: float, number: str, state: str) -> str:
    fill, stroke, dash, ink = _LOOK[state]
    style = f"fill='{fill}' stroke='{_INK}' stroke-width='{stroke:g}'" + (f" stroke-dasharray='{dash}'" if dash else "")
    shift = 0.0
    if state == "pending":
        drawn = f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{_GLYPH:g}' {style}/>"
    elif state == "done":
        drawn = f"<rect x='{x - 14:.1f}' y='{y - 14:.1f}' width='28' height='28' {style}/>"
    elif state == "current":
        drawn = _polygon(x, y, [(0, -22), (22, 0), (0, 22), (-22, 0)], style)
    elif state == "skipped":
        drawn, shift = _polygon(x, y, [(-22, -15), (22, -15), (0, 22)], style), -4.0
    else:
        spikes = [(21 if at % 2 == 0 else 14, math.pi * at / 8) for at in range(16)]
        drawn = _polygon(x, y, [(size * math.sin(turn), -size * math.cos(turn)) for size, turn in spikes], style)
    return drawn + (_text(x, y + shift, number, size=13, ink=ink) if number else "")


def _polygon(x: float, y: float, corners: Sequence[tuple[float, float]], style: str) -> str:
    points = " ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in corners)
    return f"<polygon points='{points}' {style}/>"


def _text(x: float, y: float, text: str, *, size: float, ink: str = _INK, left: bool = False) -> str:
    anchor = "start" if left else "middle"
    return (
        f"<text x='{x:.1f}' y='{y + 0.36 * size:.1f}' {_FONT} font-size='{size:g}' text-anchor='{anchor}' "
        f"fill='{ink}'>{escape(text)}</text>"
    )


def _turn(x: float, y: float, turn: str) -> str:
    """A slanted number on a small white ground, so that an arrow below it does not strike it out."""
    slanted = _text(x, y, turn, size=11).replace("<text ", "<text font-style='italic' ")
    return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='8.5' fill='#fff'/>{slanted}"


def _arrows(points: Sequence[tuple[float, float]], order: Sequence[int], *, free: float) -> list[str]:
    """Thin arrows for the first four steps, drawn under the bolts and ending `free` before their centres."""
    parts = []
    for here, there in pairwise(order[:4]):
        (x1, y1), (x2, y2) = points[here - 1], points[there - 1]
        long = math.hypot(x2 - x1, y2 - y1)
        if long < 2 * free + 12:  # no room for an arrow between neighbours
            continue
        ux, uy = (x2 - x1) / long, (y2 - y1) / long
        tip_x, tip_y = x2 - free * ux, y2 - free * uy
        parts.append(
            f"<line x1='{x1 + free * ux:.1f}' y1='{y1 + free * uy:.1f}' x2='{tip_x:.1f}' y2='{tip_y:.1f}' "
            "stroke='#8a8a8a' stroke-width='1.2'/>"
        )
        head = [(0.0, 0.0), (-9 * ux - 4 * uy, -9 * uy + 4 * ux), (-9 * ux + 4 * uy, -9 * uy - 4 * ux)]
        parts.append(_polygon(tip_x, tip_y, head, "fill='#8a8a8a'"))
    return parts


def _start_mark(x: float, y: float) -> str:
    """A painted wedge outside bolt 1 and an arrow for the sense of the numbers."""
    wedge = _polygon(x, y - 26, [(0, 0), (-6, -10), (6, -10)], f"fill='{_INK}'")
    high = y - 31
    way = f"<line x1='{x + 14:.1f}' y1='{high:.1f}' x2='{x + 38:.1f}' y2='{high:.1f}' stroke='{_INK}'/>"
    return wedge + way + _polygon(x + 46, high, [(0, 0), (-9, -4), (-9, 4)], f"fill='{_INK}'")


def _pipe(points: Sequence[tuple[float, float]], say: Callable[[str], str]) -> str:
    left, right = points[0][0] + 1.3 * _PITCH, points[-1][0] - 1.3 * _PITCH
    top, bottom = min(y for _, y in points) - 24, max(y for _, y in points) + 24
    sides = "".join(
        f"<line x1='{x:.1f}' y1='{top:.1f}' x2='{x:.1f}' y2='{bottom:.1f}' stroke='#8a8a8a' stroke-width='1.5'/>"
        for x in (left, right)
    )
    middle = (left + right) / 2
    names = _text(points[0][0], top - 8, "A", size=14) + _text(points[-1][0], top - 8, "B", size=14)
    return sides + names + _text(middle, top, say("far end"), size=11) + _text(middle, bottom, say("near end"), size=11)


def _foot(
    where: Layout,
    known: Mapping[int, str],
    with_turns: bool,
    bottom: float,
    right: float,
    scale: float,
    say: Callable[[str], str],
) -> tuple[list[str], float]:
    """Caption and legend below the picture, in words `scale` times as large; and the new bottom edge."""
    size = 12 * scale
    words = (say(where.caption) + (f" {say('Slanted: turn in the order.')}" if with_turns else "")).split()
    lines = [""]
    for word in words:
        if len(lines[-1]) + len(word) > (right - 24) / (0.56 * size):
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    parts = [_text(12, bottom + 1.5 * size * at, line, size=size, left=True) for at, line in enumerate(lines)]
    bottom += 1.5 * size * len(lines)
    shown = [state for state in STATES if state in known.values()]
    x = 12.0
    for state in shown if shown != ["pending"] else []:
        named = say(state)
        wide = 3.2 * size + 0.6 * size * len(named) + size
        if x + wide > right and x > 12:
            x, bottom = 12.0, bottom + 3 * size
        glyph = _bolt(0, 0, "", state)
        parts.append(
            f"<g transform='translate({x + 1.4 * size:.1f} {bottom + size:.1f}) scale({0.65 * scale:.2f})'>{glyph}</g>"
        )
        parts.append(_text(x + 3.2 * size, bottom + size, named, size=size, left=True))
        x += wide
    return parts, bottom + (3 * size if x > 12 else 0) + 6
