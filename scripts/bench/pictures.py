"""Pictures of the bench as SVG, by hand: reliability of the probabilities, and what is accepted over SNR.

Black on white, readable in greyscale; every line has its own dash and mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 460, 380, 62, 40, 20, 58
INK, FAINT = "#111", "#bbb"
DASHES = ("", "7 4", "2 3", "9 3 2 3")
MARKS = ("circle", "square", "ring", "cross")


@dataclass(frozen=True)
class Line:
    """One line of a picture.

    Args:
        name: for the key.
        points: (place on the lower axis, share 0..1, low, high of its 95 % interval).
    """

    name: str
    points: tuple[tuple[float, float, float, float], ...]


def reliability_picture(rows: Sequence[tuple[float, float, float, int]], error: float, title: str) -> str:
    """Probability said against share right; the circles' area grows with the number of utterances.

    Args:
        rows: (lowest probability of the bin, mean probability, share right, count).
        error: expected calibration error, 0..1.
        title: what was judged.
    """
    most = max(count for *_, count in rows)
    parts = [
        *_frame(title, "probability that was said", "share that was right", [(i / 5, f"{i / 5:.1f}") for i in range(6)])
    ]
    parts.append(_path([(0.0, 0.0), (1.0, 1.0)], dash="4 4", colour=FAINT))
    parts.append(_path([(mean, share) for _, mean, share, _ in rows]))
    for _, mean, share, count in rows:
        radius = 3 + 9 * (count / most) ** 0.5
        parts.append(
            f"<circle cx='{_x(mean):.1f}' cy='{_y(share):.1f}' r='{radius:.1f}' fill='{INK}' fill-opacity='0.55'/>"
        )
        side, anchor = (8, "start") if mean < 0.9 else (-6, "end")
        parts.append(_text(_x(mean) + side, _y(share) + 20, str(count), size=10, anchor=anchor))
    parts.append(_text(LEFT + 10, TOP + 18, f"expected calibration error {100 * error:.1f} %", size=12))
    return _svg(parts, title)


def accuracy_picture(places: Sequence[str], lines: Sequence[Line], budget: Sequence[float], title: str) -> str:
    """Shares over SNR with their intervals, and the budget.

    Args:
        places: names along the lower axis, left to right; `Line` places are their indexes.
        lines: at most four.
        budget: wanted share at each place, 0..1.
        title: what was judged.
    """
    last = max(1, len(places) - 1)
    ticks = [(0.05 + 0.9 * i / last, name) for i, name in enumerate(places)]
    parts = [*_frame(title, "signal-to-noise ratio", "share of the values said", ticks)]
    parts.append(_path([(at, share) for (at, _), share in zip(ticks, budget, strict=True)], colour=FAINT, width=5))
    for k, line in enumerate(lines):
        points = [(ticks[int(at)][0], share, low, high) for at, share, low, high in line.points]
        parts.append(_path([p[:2] for p in points], dash=DASHES[k]))
        for at, share, low, high in points:
            x = _x(at) + 3 * (k - 1)
            parts.append(f"<line x1='{x:.1f}' x2='{x:.1f}' y1='{_y(low):.1f}' y2='{_y(high):.1f}' stroke='{INK}'/>")
            parts.append(_mark(MARKS[k], _x(at), _y(share)))
        parts += _key(k, line.name)
    y = _key_y(len(lines))
    parts.append(f"<path d='M{LEFT + 12} {y}h30' stroke='{FAINT}' stroke-width='5'/>")
    parts.append(_text(LEFT + 50, y + 4, "accepted right: budget", size=11))
    return _svg(parts, title)


def _key_y(k: int) -> float:
    return HEIGHT - BOTTOM - 84 + 17 * k


def _key(k: int, name: str) -> list[str]:
    y = _key_y(k)
    dash = f" stroke-dasharray='{DASHES[k]}'" if DASHES[k] else ""
    line = f"<line x1='{LEFT + 12}' x2='{LEFT + 42}' y1='{y}' y2='{y}' stroke='{INK}' stroke-width='1.6'{dash}/>"
    return [line, _mark(MARKS[k], LEFT + 27, y), _text(LEFT + 50, y + 4, name, size=11)]


def _mark(kind: str, x: float, y: float) -> str:
    if kind == "square":
        return f"<rect x='{x - 4:.1f}' y='{y - 4:.1f}' width='8' height='8' fill='{INK}'/>"
    if kind == "cross":
        return f"<path d='M{x - 4:.1f} {y - 4:.1f}l8 8m0-8l-8 8' stroke='{INK}' stroke-width='2'/>"
    fill = "#fff" if kind == "ring" else INK
    return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4.5' fill='{fill}' stroke='{INK}' stroke-width='1.5'/>"


def _frame(title: str, lower: str, side: str, ticks: Sequence[tuple[float, str]]) -> list[str]:
    parts = [_text(WIDTH / 2, 22, title, size=14, anchor="middle")]
    for i in range(6):
        y = _y(i / 5)
        parts.append(f"<line x1='{LEFT}' x2='{WIDTH - RIGHT}' y1='{y:.1f}' y2='{y:.1f}' stroke='#e4e4e4'/>")
        parts.append(_text(LEFT - 8, y + 4, f"{20 * i} %", size=11, anchor="end"))
    for at, name in ticks:
        parts.append(_text(_x(at), HEIGHT - BOTTOM + 18, name, size=11, anchor="middle"))
    parts.append(f"<path d='M{LEFT} {TOP}V{HEIGHT - BOTTOM}H{WIDTH - RIGHT}' fill='none' stroke='{INK}'/>")
    parts.append(_text((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 16, lower, size=12, anchor="middle"))
    middle = (TOP + HEIGHT - BOTTOM) / 2
    parts.append(
        f"<text transform='translate(16 {middle:.0f}) rotate(-90)' font-family='sans-serif' font-size='12'"
        f" text-anchor='middle' fill='{INK}'>{escape(side)}</text>"
    )
    return parts


def _path(points: Sequence[tuple[float, ...]], *, dash: str = "", colour: str = INK, width: float = 1.6) -> str:
    d = "M" + "L".join(f"{_x(x):.1f} {_y(y):.1f}" for x, y in points)
    dashed = f" stroke-dasharray='{dash}'" if dash else ""
    return f"<path d='{d}' fill='none' stroke='{colour}' stroke-width='{width}'{dashed}/>"


def _text(x: float, y: float, words: str, *, size: int, anchor: str = "start") -> str:
    place = f"x='{x:.1f}' y='{y:.1f}' font-family='sans-serif' font-size='{size}' text-anchor='{anchor}'"
    return f"<text {place} fill='{INK}'>{escape(words)}</text>"


def _x(share: float) -> float:
    return LEFT + share * (WIDTH - LEFT - RIGHT)


def _y(share: float) -> float:
    return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)


def _svg(parts: Sequence[str], title: str) -> str:
    head = f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {WIDTH} {HEIGHT}' role='img'"
    head += f" aria-label='{escape(title)}'>"
    return "".join([head, f"<rect width='{WIDTH}' height='{HEIGHT}' fill='#fff'/>", *parts, "</svg>\n"])
