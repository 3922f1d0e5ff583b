"""The table of sessions for people: text and one HTML page that needs no network."""

from __future__ import annotations

import html
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from assistant.replay.overview import Overview, Row, counted, due_words, standing
from assistant.report.printable import printable

HEADS = ("joint", "verdict", "next", "to decide", "signed by", "session")
_WIDEST = (34, 10, 44, 9, 18, 60)
_CLASSES = {0: "overdue", 1: "due", 2: "later"}


def overview_text(found: Overview, *, now: datetime, played: bool = False) -> str:
    """The table, then what a lead must know beside it.

    Args:
        found: in order.
        now: aware.
        played: list rehearsals and practices too.
    """
    lines = [counted(found), ""]
    rows = [_cells(row, now) for row in found.work]
    if rows:
        lines += [*_table(rows), ""]
    if played and found.played:
        lines += [
            "Rehearsals and practices: nothing was tightened",
            *_table([_cells(r, now) for r in found.played]),
            "",
        ]
    lines += _notes(found)
    return "\n".join(printable(line) for line in lines).rstrip() + "\n"


def _cells(row: Row, now: datetime) -> tuple[str, ...]:
    name = row.joint or "(not readable)"
    tagged = f"{name} [{row.tag}]" if row.tag else name
    due = "; ".join(due_words(each, now) for each in row.due) or "-"
    decisions = str(len(row.decisions)) if row.decisions else "-"
    return tagged, row.verdict, due, decisions, row.signer or "nobody", Path(row.folder).name


def _table(rows: list[tuple[str, ...]]) -> Iterator[str]:
    wide = [min(most, max(len(line[at]) for line in (HEADS, *rows))) for at, most in enumerate(_WIDEST)]
    for line in (HEADS, *rows):
        cut = (text if len(text) <= width else f"{text[: width - 1]}~" for text, width in zip(line, wide, strict=True))
        yield "  ".join(f"{text:{width}}" for text, width in zip(cut, wide, strict=True)).rstrip()


def _notes(found: Overview) -> Iterator[str]:
    for row in found.work:
        for why in row.trouble:
            yield f"cannot be trusted: {Path(row.folder).name}: {why}"
    for original, copies in found.copies:
        names = ", ".join(Path(row.folder).name for row in copies[:3])
        names += f" and {len(copies) - 3} more" if len(copies) > 3 else ""
        yield f"copies of {Path(original.folder).name}, counted once: {names}"
    for folder, where in found.parted:
        yield f"not one session any more: {Path(folder).name} differs from what it is a copy of from {where} on"
    for name in found.vanished:
        yield f"vanished: {name} was recorded here by this machine and is not here any more"
    if found.register_trouble:
        yield f"the register of this machine is damaged, so vanished sessions are not known: {found.register_trouble}"


# ------------------------------------------------------------------------------------------------------------------ H
_STYLE = """
:root { color-scheme: light dark; --line: #8a949c; --red: #94211c; --amber: #7a4a00; --green: #1d6237; }
@media (prefers-color-scheme: dark) { :root { --red: #ff9a90; --amber: #f0b45c; --green: #7fd39b; } }
body { font: 1rem/1.45 system-ui, sans-serif; margin: 1.5rem auto; max-width: 80rem; padding: 0 1rem; }
h1 { font-size: 1.5rem; } table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .45rem .6rem; border-bottom: 1px solid var(--line); }
th button { font: inherit; font-weight: 700; background: none; border: 0; color: inherit; cursor: pointer; padding: 0; }
th[aria-sort=ascending] button::after { content: " ▲"; } th[aria-sort=descending] button::after { content: " ▼"; }
small { display: block; opacity: .8; } .scroll { overflow-x: auto; } code { font-size: .85em; overflow-wrap: anywhere; }
.untrusted, .overdue { color: var(--red); font-weight: 700; } .complete, .accepted { color: var(--green); }
.to-decide, .to-redo, .due { color: var(--amber); font-weight: 700; } li { margin: .3rem 0; }
@media print { body { max-width: none; font-size: 11px; } }
"""
_SCRIPT = """
for (const table of document.querySelectorAll("table")) {
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, at) => head.firstElementChild.addEventListener("click", () => {
    const up = head.getAttribute("aria-sort") !== "ascending";
    heads.forEach(each => each.removeAttribute("aria-sort"));
    head.setAttribute("aria-sort", up ? "ascending" : "descending");
    const key = row => row.cells[at].dataset.key ?? row.cells[at].textContent;
    const rows = [...table.tBodies[0].rows].sort((a, b) => key(a).localeCompare(key(b), "en", { numeric: true }));
    table.tBodies[0].append(...(up ? rows : rows.reverse()));
  }));
}
"""


def overview_html(found: Overview, *, now: datetime, title: str) -> str:
    """The table as one page; a click on a column's head sorts by it. Joint names link to `NAME.html` beside the page.

    Args:
        found: in order.
        now: aware; stands on the page.
        title: of the folder.
    """
    parts = [
        "<!doctype html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
        "script-src 'unsafe-inline'\">",
        f"<title>Sessions: {_esc(title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>Sessions in {_esc(title)}</h1>",
        f"<p>{_esc(counted(found))}. As of {now:%Y-%m-%d %H:%M} UTC. Verdicts by the record alone; sound is checked by "
        "<code>assistant verify</code>.</p>",
        *_html_table(found.work, now),
    ]
    notes = list(_notes(found))
    if notes:
        parts += ["<h2>Beside the table</h2><ul>", *(f"<li>{_esc(note)}</li>" for note in notes), "</ul>"]
    if found.played:
        parts += ["<h2>Rehearsals and practices: nothing was tightened</h2>", *_html_table(found.played, now)]
    return "\n".join([*parts, f"<script>{_SCRIPT}</script></body></html>"]) + "\n"


def _html_table(rows: tuple[Row, ...], now: datetime) -> Iterator[str]:
    if not rows:
        yield "<p>None.</p>"
        return
    heads = "".join(f'<th scope="col"><button type="button">{head}</button></th>' for head in HEADS)
    yield f'<div class="scroll"><table><thead><tr>{heads}</tr></thead><tbody>'
    for at, row in enumerate(rows):
        dues = "".join(
            f'<div class="{_CLASSES[standing(due, now)[0]]}">{_esc(due_words(due, now))}</div>' for due in row.due
        )
        decisions = "".join(f"<small>{_esc(text)}</small>" for text in row.decisions[:5])
        more = len(row.decisions) - 5
        about = " · ".join(filter(None, (row.tag, row.place)))
        cells = (
            f"<td>{_esc(row.joint or '(not readable)')}<small>{_esc(about)}</small></td>",
            f'<td><span class="{_esc(row.verdict)}">{_esc(row.verdict)}</span><small>{_esc(row.words)}</small></td>',
            f'<td data-key="{at:06}">{dues or "-"}</td>',
            f'<td data-key="{len(row.decisions)}">{len(row.decisions) or "-"}{decisions}',
            f"{f'<small>and {more} more</small>' if more > 0 else ''}</td>",
            f"<td>{_esc(row.signer or 'nobody')}</td><td><code>{_esc(Path(row.folder).name)}</code></td>",
        )
        yield f"<tr>{''.join(cells)}</tr>"
    yield "</tbody></table></div>"


def _esc(text: str) -> str:
    return html.escape(printable(text))
