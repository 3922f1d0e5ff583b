"""An answer for people: text, CSV, and one HTML page with its charts drawn as SVG; no network is needed."""

from __future__ import annotations

import csv
import html
import io
from collections.abc import Iterator, Sequence
from typing import Any

from assistant.archive.questions import Answer
from assistant.archive.statistics import BASE, Chart

WIDTH, HEIGHT, LEFT, BOTTOM = 760, 230, 56, 34
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
    """For a spreadsheet; a text that it would take for a formula gets an apostrophe before it."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(answer.heads)
    for row in answer.rows:
        table.writerow([f"'{v}" if isinstance(v, str) and v[:1] in "=+-@\t\r" else "" if v is None else v for v in row])
    return out.getvalue()


def answer_html(answer: Answer) -> str:
    """One page."""
    parts = [
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_esc(answer.title)}</title><style>{_STYLE}</style></head><body><h1>{_esc(answer.title)}</h1>",
        *(
            f"<figure><figcaption>{_esc(name)}</figcaption>{''.join(_drawn(*drawn))}</figure>"
            for name, drawn in answer.charts.items()
        ),
        '<div class="scroll"><table><thead><tr>',
        *(f'<th scope="col">{_esc(head)}</th>' for head in answer.heads),
        "</tr></thead><tbody>",
        *(f"<tr>{''.join(f'<td>{_esc(_shown(value))}</td>' for value in row)}</tr>" for row in answer.rows),
        "</tbody></table></div>",
        *(f"<p>{_esc(note)}</p>" for note in answer.notes),
        "</body></html>\n",
    ]
    return "\n".join(parts)


_STYLE = """
body { font: 1rem/1.45 system-ui, sans-serif; margin: 1.5rem auto; max-width: 76rem; padding: 0 1rem; }
body { color: #16222c; background: #fff; } figure { margin: 1rem 0; } .scroll { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
th, td { text-align: left; padding: .35rem .6rem; border-bottom: 1px solid #8a949c; } figcaption { font-weight: 700; }
svg { max-width: 100%; height: auto; } p { max-width: 60rem; }
"""


def _drawn(times: Sequence[str], values: Sequence[float], made: Chart) -> Iterator[str]:
    """Individuals as dots, the EWMA as a line, both pairs of limits; out of limits as filled squares."""
    everything = [*values, made.low, made.high, *made.smooth_low, *made.smooth_high]
    least, most = min(everything), max(everything)
    span = (most - least) or 1.0
    step = (WIDTH - LEFT - 12) / max(1, len(values) - 1)

    def x(at: int) -> float:
        return LEFT + at * step

    def y(value: float) -> float:
        return 10 + (most - value) / span * (HEIGHT - BOTTOM - 16)

    def line(points: Sequence[float], style: str) -> str:
        path = " ".join(f"{x(at):.1f},{y(value):.1f}" for at, value in enumerate(points))
        return f'<polyline points="{path}" fill="none" {style}/>'

    yield f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" role="img" aria-label="control chart">'
    for value in (made.centre, made.low, made.high):
        dash = "" if value == made.centre else 'stroke-dasharray="7 4"'
        yield f'<line x1="{LEFT}" x2="{WIDTH - 12}" y1="{y(value):.1f}" y2="{y(value):.1f}" stroke="#4b5965" {dash}/>'
        yield f'<text x="{LEFT - 6}" y="{y(value) + 4:.1f}" text-anchor="end" font-size="12">{value:+.2f} %</text>'
    for limits in (made.smooth_low, made.smooth_high):
        yield line(limits, 'stroke="#7a4a00" stroke-dasharray="2 3"')
    yield line(made.smooth, 'stroke="#7a4a00" stroke-width="2"')
    out = set(made.out)
    for at, value in enumerate(values):
        if at in out and at >= BASE:
            yield f'<rect x="{x(at) - 4:.1f}" y="{y(value) - 4:.1f}" width="8" height="8" fill="#94211c"/>'
        else:
            yield f'<circle cx="{x(at):.1f}" cy="{y(value):.1f}" r="2.6" fill="#0b5563"/>'
    if len(values) > BASE:
        edge = x(BASE) - step / 2
        yield f'<line x1="{edge:.1f}" x2="{edge:.1f}" y1="8" y2="{HEIGHT - BOTTOM}" stroke="#9aa5ad"/>'
    for at, anchor in ((0, "start"), (len(values) - 1, "end")):
        place = f'x="{x(at):.1f}" y="{HEIGHT - 12}" text-anchor="{anchor}"'
        yield f'<text {place} font-size="12">{_esc(times[at][:10])}</text>'
    middle = (LEFT + WIDTH) / 2
    yield (
        f'<text x="{middle}" y="{HEIGHT - 12}" text-anchor="middle" font-size="12">dots: sessions; squares: out; '
        "line: EWMA; judged right of the upright line</text></svg>"
    )


def _shown(value: Any) -> str:
    if value is None:
        return "-"
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _esc(text: str) -> str:
    return html.escape(text)
