"""A bolt group drawn for the terminal in plain characters, numbered the way crews chalk it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from assistant.errors import BadBolting
from assistant.report.bolt_layout import Layout, checked_states, checked_turns, layout

WIDTH = 78
"""Columns that a picture never exceeds."""

MARKS = {"pending": "", "current": ">", "done": "=", "skipped": "x", "out of window": "!"}
"""The character before a bolt's number for each state; pending bolts carry none."""


def text_picture(
    family: str,
    bolts: int,
    *,
    order: Sequence[int] | None = None,
    states: Mapping[int, str] | None = None,
    columns: int | None = None,
    rows: int | None = None,
    say: Callable[[str], str] = str,
) -> str:
    """The bolt group as lines of ASCII text, at most 78 columns wide.

    Args:
        family: a key of `pattern.FAMILIES`; it decides the shape.
        bolts: 1..96 as the family allows.
        order: the order to show as turn numbers inside (or beside) the bolt numbers; None shows bolt numbers only.
        states: state of bolts, keys 1..bolts, values of `layout.STATES`; the rest is pending.
        columns: as for `pattern.order`.
        rows: as for `pattern.order`.
        say: says a sentence of ours in the language of the sheet.

    Returns:
        Lines joined by newlines, no trailing blanks, no newline at the end: picture, caption, legend.

    Raises:
        BadBolting: as `pattern.order`; an unknown bolt or state; an order that is not one.
    """
    where = layout(family, bolts, columns=columns, rows=rows)
    known = checked_states(states, bolts)
    visited = checked_turns(order, bolts)
    marked = any(state != "pending" for state in known.values())
    numbers = [f"{MARKS[known[bolt]]}{bolt}" for bolt in range(1, bolts + 1)]
    turns = None if visited is None else [str(turn) for turn in visited]
    if where.shape == "sides":
        drawn = _sides(numbers, turns, say)
    else:
        drawn = {"circle": _circle, "line": _line, "rectangle": _rectangle}[where.shape](where, numbers, turns)
    legend = [say(line) for line in _legend(where, visited is not None, marked)]
    return "\n".join([*drawn, "", *_wrapped(say(where.caption)), *legend])


class _Canvas:
    """Characters on a grid that grows downwards; a label is only put where it and a blank around it are free."""

    def __init__(self, height: int) -> None:
        self.lines = [[" "] * WIDTH for _ in range(height)]

    def put(self, column: float, row: float, text: str) -> bool:
        """Put text centred at column and row when there is room; says whether it was put."""
        line, first = round(row), round(column - len(text) / 2)
        last = first + len(text)
        if not (0 <= line < len(self.lines) and first >= 0 and last <= WIDTH):
            return False
        if any(mark != " " for mark in self.lines[line][max(first - 1, 0) : last + 1]):
            return False
        self.lines[line][first:last] = text
        return True

    def text(self) -> list[str]:
        """The lines without trailing blanks, without empty lines above and below."""
        lines = ["".join(line).rstrip() for line in self.lines]
        while lines and not lines[0]:
            lines.pop(0)
        while lines and not lines[-1]:
            lines.pop()
        return lines


def _circle(where: Layout, numbers: list[str], turns: list[str] | None) -> list[str]:
    cell = max(map(len, numbers)) + 1
    half_width = min(max(round(len(numbers) * cell / 6), 14), WIDTH // 2 - 2)
    half_height = round(half_width / 2)
    canvas = _Canvas(2 * half_height + 1)
    _ring(canvas, where, numbers, (half_width, half_height), 1.0)
    if turns is not None:
        _ring(canvas, where, turns, (half_width, half_height), 1 - max(5 / half_width, 2 / half_height))
    return canvas.text()


def _ring(canvas: _Canvas, where: Layout, texts: list[str], half: tuple[int, int], start: float) -> None:
    """Put each text on its bolt's ray, as far out as there is room; every second bolt first, so that rings stagger."""
    every = range(len(texts))
    for at in (*every[::2], *every[1::2]):
        x, y = where.places[at]
        share = start
        while not canvas.put(WIDTH / 2 + x * half[0] * share, half[1] * (1 + y * share), texts[at]):
            share -= 0.02
            if share < 0.05:
                raise BadBolting(f"picture: no room for {len(texts)} bolts", remedy="draw bolts or turns, not both")


def _line(_where: Layout, numbers: list[str], turns: list[str] | None) -> list[str]:
    cell = max(map(len, numbers + (turns or []))) + 2
    a_row = (WIDTH - 6) // cell
    lines = []
    for first in range(0, len(numbers), a_row):
        part = slice(first, first + a_row)
        lines.append(("bolt  " + "".join(f"{text:>{cell}}" for text in numbers[part])).rstrip())
        if turns is not None:
            lines.append(("turn  " + "".join(f"{text:>{cell}}" for text in turns[part])).rstrip())
            lines.append("")
    return lines[:-1] if lines[-1] == "" else lines


def _rectangle(where: Layout, numbers: list[str], turns: list[str] | None) -> list[str]:
    labels = numbers if turns is None else [f"{number}:{turn}" for number, turn in zip(numbers, turns, strict=True)]
    cell = max(map(len, labels)) + 2
    across = round(max(x for x, _ in where.places)) + 1
    if across * cell > WIDTH:
        return _line(where, numbers, turns)
    canvas = _Canvas(2 * round(max(y for _, y in where.places)) + 1)
    for (x, y), label in zip(where.places, labels, strict=True):
        canvas.put(cell * (x + 0.5), 2 * y, label)
    return canvas.text()


def _sides(numbers: list[str], turns: list[str] | None, say: Callable[[str], str]) -> list[str]:
    side = len(numbers) // 2
    labels = numbers if turns is None else [f"{number}:{turn}" for number, turn in zip(numbers, turns, strict=True)]
    width = max(map(len, labels))
    far, near = say("far end"), say("near end")
    wide = max(len(far), len(near)) + 1
    lines = [f"{'A':>{width + 2}}   {far:<{wide}}  B"]
    for row in range(side):
        left, right = labels[side - 1 - row], labels[side + row]
        lines.append(f"{left:>{width + 2}}   |{'|':>{wide - 3}}   {right}")
    return [*lines, f"{'A':>{width + 2}}   {near:<{wide}}  B"]


def _wrapped(text: str) -> list[str]:
    lines = [""]
    for word in text.split():
        if len(lines[-1]) + 1 + len(word) > WIDTH:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _legend(where: Layout, with_turns: bool, marked: bool) -> list[str]:
    lines = []
    if with_turns and where.shape == "circle":
        lines.append("Outer numbers: bolts. Inner numbers: turn in the order.")
    elif with_turns and where.shape != "line":
        lines.append("Before the colon: bolt. After it: turn in the order.")
    if marked:
        lines.append("; ".join(f"{mark} {state}" for state, mark in MARKS.items() if mark) + ".")
    return lines
