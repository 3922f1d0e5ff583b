"""An answer for people: text, CSV, a picture (SVG), or one HTML page that holds its pictures and needs no network."""

from __future__ import annotations

import csv
import html
import io
import math
from collections.abc import Iterator, Sequence
from typing import Any

from assistant.archive.questions import Answer, Bar, Control
from assistant.archive.statistics import BASE

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 860, 250, 66, 14, 26, 44
NAMES, LINE = 300, 22
MOST_CHARTS, MOST_BARS = 30, 40
"""Pictures of one answer; the table beside them is always whole."""
_CUT = 60


def answer_text(answer: Answer) -> str:
    """A table in fixed columns, then the notes."""
    rows = [[_shown(value) for value in row] for row in answer.rows]
    lines = [f"{answer.title}: {len(rows)}"]
    wide = [min(_CUT, max(len(row[at]) for row in (answer.heads, *rows))) for at in range(len(answer.heads))]
    for row in (answer.heads, *rows) if rows else ():
        cut = (text if len(text) <= width else f"{text[: width - 1]}~" for text, width in zip(row, wide, strict=True))
        lines.append("  ".join(f"{text:{width}}" for text, width in zip(cut, wide, strict=True)).rstrip())
    return "\n".join([*lines, *(f"note: {note}" for note in answer.notes)]) + "\n"


def answer_csv(answer: Answer) -> str:
    """A table for a spreadsheet. A text that it would take for a formula gets an apostrophe before it."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(answer.heads)
    for row in answer.rows:
        table.writerow([f"'{v}" if isinstance(v, str) and v[:1] in "=+-@\t\r" else "" if v is None else v for v in row])
    return out.getvalue()


def answer_html(answer: Answer) -> str:
    """One page."""
    figures = [all(isinstance(row[at], int | float | None) for row in answer.rows) for at in range(len(answer.heads))]
    kinds = [' class="figure"' if each else "" for each in figures]  # a column of figures stands at its right
    parts = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{_esc(answer.title)}</title><style>{_STYLE}</style></head><body><h1>{_esc(answer.title)}</h1>",
        *(f"<figure>{_svg(width, height, body)}</figure>" for width, height, body in _pictures(answer)),
        '<div class="scroll"><table><thead><tr>',
        *(f'<th scope="col"{kind}>{_esc(head)}</th>' for head, kind in zip(answer.heads, kinds, strict=True)),
        "</tr></thead><tbody>",
        *(
            f"<tr>{''.join(f'<td{kind}>{_esc(_shown(v))}</td>' for v, kind in zip(row, kinds, strict=True))}</tr>"
            for row in answer.rows
        ),
        "</tbody></table></div>",
        *(f"<p>{_esc(note)}</p>" for note in (*answer.notes, *_left_out(answer))),
        "</body></html>\n",
    ]
    return "\n".join(parts)


def answer_svg(answer: Answer) -> str:
    """All pictures of an answer, one below the other; the title alone where it has none."""
    body, at = [f'<text x="12" y="24" font-size="18" font-weight="700">{_esc(answer.title)}</text>'], 36.0
    for _, height, picture in _pictures(answer):
        body.append(f'<g transform="translate(0 {at})">{picture}</g>')
        at += height + 14
    for line in _left_out(answer):
        body.append(f'<text x="12" y="{at + 14}">{_esc(line)}</text>')
        at += 20
    return _svg(WIDTH, at + 8, "".join(body)) + "\n"


_STYLE = """
body { font: 1rem/1.45 system-ui, sans-serif; margin: 1.5rem auto; max-width: 76rem; padding: 0 1rem; }
body { color: #16222c; background: #fff; } figure { margin: 1rem 0; } .scroll { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
th, td { text-align: left; padding: .35rem .6rem; border-bottom: 1px solid #8a949c; }
.figure { text-align: right; } svg { max-width: 100%; height: auto; } p { max-width: 60rem; }
"""


def _svg(width: float, height: float, body: str) -> str:
    size = f'viewBox="0 0 {width:g} {height:g}" width="{width:g}" height="{height:g}"'
    style = 'font-family="system-ui, sans-serif" font-size="13" fill="#16222c"'
    paper = '<rect width="100%" height="100%" fill="#fff"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {style} role="img">{paper}{body}</svg>'


def _pictures(answer: Answer) -> Iterator[tuple[float, float, str]]:
    """Width, height and content of each picture, the most conspicuous first."""
    ordered = sorted(answer.charts.items(), key=lambda each: (each[1].chart.since is None, not each[1].chart.out))
    for name, control in ordered[:MOST_CHARTS]:
        yield WIDTH, HEIGHT, "".join(_control(name, control))
    if answer.bars:
        bars = answer.bars[:MOST_BARS]
        yield WIDTH, TOP + LINE * len(bars) + BOTTOM, "".join(_bars(bars, answer.unit))


def _left_out(answer: Answer) -> Iterator[str]:
    for drawn, most in ((len(answer.charts), MOST_CHARTS), (len(answer.bars), MOST_BARS)):
        if drawn > most:
            yield f"{most} of {drawn} are drawn, those that stand out first; the table holds all."


def _control(name: str, control: Control) -> Iterator[str]:
    """Individuals as dots, the EWMA as a line, both pairs of limits; out of limits as filled squares."""
    values, made = control.values, control.chart
    everything = [*values, made.low, made.high, *made.smooth_low, *made.smooth_high]
    least, most = min(everything), max(everything)
    span = (most - least) or 1.0
    step = (WIDTH - LEFT - RIGHT) / max(1, len(values) - 1)
    floor = HEIGHT - BOTTOM

    def x(at: float) -> float:
        return LEFT + at * step

    def y(value: float) -> float:
        return TOP + 4 + (most - value) / span * (floor - TOP - 8)

    def line(points: Sequence[float], style: str) -> str:
        path = " ".join(f"{x(at):.1f},{y(value):.1f}" for at, value in enumerate(points))
        return f'<polyline points="{path}" fill="none" {style}/>'

    yield f'<text x="{LEFT}" y="16" font-weight="700">{_esc(name)}</text>'
    for place, words in control.marks[-3:]:
        left = x(place - 0.5)
        yield f'<line x1="{left:.1f}" x2="{left:.1f}" y1="{TOP}" y2="{floor}" stroke="#5a3d8a" stroke-dasharray="1 3"/>'
        anchor, shift = ("end", -4) if left > WIDTH / 2 else ("start", 4)
        yield (
            f'<text x="{left + shift:.1f}" y="{TOP - 8}" text-anchor="{anchor}" font-size="11" fill="#5a3d8a">'
            f"{_esc(words)}</text>"
        )
    for value in (made.centre, made.low, made.high):
        dash = "" if value == made.centre else 'stroke-dasharray="7 4"'
        level = f'y1="{y(value):.1f}" y2="{y(value):.1f}"'
        yield f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" {level} stroke="#4b5965" {dash}/>'
        yield f'<text x="{LEFT - 6}" y="{y(value) + 4:.1f}" text-anchor="end" font-size="12">{value:+.2f} %</text>'
    for limits in (made.smooth_low, made.smooth_high):
        yield line(limits, 'stroke="#7a4a00" stroke-dasharray="2 3"')
    out = set(made.out)
    small = 2.6 if len(values) < 200 else 1.6
    for at, value in enumerate(values):
        if at in out and at >= BASE:
            half = small + 1.2
            size = f'width="{2 * half:.1f}" height="{2 * half:.1f}"'
            yield f'<rect x="{x(at) - half:.1f}" y="{y(value) - half:.1f}" {size} fill="#94211c"/>'
        else:
            yield f'<circle cx="{x(at):.1f}" cy="{y(value):.1f}" r="{small}" fill="#0b5563"/>'
    yield line(made.smooth, 'stroke="#d07a00" stroke-width="2.2"')
    if len(values) > BASE:
        edge = x(BASE - 0.5)
        yield f'<line x1="{edge:.1f}" x2="{edge:.1f}" y1="{TOP}" y2="{floor}" stroke="#9aa5ad"/>'
    for at, anchor in ((0, "start"), (len(values) - 1, "end")):
        spot = f'x="{x(at):.1f}" y="{floor + 16}" text-anchor="{anchor}"'
        yield f'<text {spot} font-size="12">{control.times[at]:%Y-%m-%d}</text>'
    yield (
        f'<text x="{(LEFT + WIDTH) / 2}" y="{HEIGHT - 8}" text-anchor="middle" font-size="12">dots: sessions; squares: '
        "out of limits; line: EWMA; dashes: limits; judged right of the grey upright line</text>"
    )


def _bars(bars: Sequence[Bar], unit: str) -> Iterator[str]:
    """One line for each bar: the interval as a rule, the middle as a dot, the figure at the end."""
    most = max((bar.high for bar in bars), default=1.0) or 1.0
    right = WIDTH - RIGHT - 60
    floor = TOP + LINE * len(bars)

    def x(value: float) -> float:
        return NAMES + value / most * (right - NAMES)

    for value in _round_steps(most):
        place = x(value)
        yield f'<line x1="{place:.1f}" x2="{place:.1f}" y1="{TOP - 8}" y2="{floor}" stroke="#d5dadd"/>'
        yield f'<text x="{place:.1f}" y="{floor + 16}" text-anchor="middle" font-size="12">{value:g}</text>'
    for at, bar in enumerate(bars):
        height = TOP + LINE * at + 4
        name = bar.name if len(bar.name) <= 44 else f"{bar.name[:43]}~"
        yield f'<text x="{NAMES - 8}" y="{height + 4}" text-anchor="end">{_esc(_shown(name))}</text>'
        yield (
            f'<line x1="{x(bar.low):.1f}" x2="{x(bar.high):.1f}" y1="{height}" y2="{height}" stroke="#0b5563" '
            'stroke-width="3"/>'
        )
        yield f'<circle cx="{x(bar.middle):.1f}" cy="{height}" r="5" fill="#0b5563"/>'
        yield f'<text x="{right + 10}" y="{height + 4}">{bar.middle:.3g}</text>'
    yield f'<text x="{(NAMES + right) / 2}" y="{floor + 34}" text-anchor="middle" font-size="12">{_esc(unit)}</text>'


def _round_steps(most: float) -> Iterator[float]:
    """0 and up to five round figures below `most`."""
    step = 10.0 ** math.floor(math.log10(most))
    while most / step < 2.5:
        step /= 2
    while most / step > 5:
        step *= 2
    for at in range(math.floor(most / step) + 1):
        yield round(at * step, 10)


def _shown(value: Any) -> str:
    if value is None:
        return "-"
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _esc(text: str) -> str:
    return html.escape(_shown(text))
