"""The table of sessions for people: text and one HTML page that needs no network."""

from __future__ import annotations

import html
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from assistant.journal.keyring import THIS_MACHINE
from assistant.replay.overview import Overview, Row, counted, due_words, standing
from assistant.report.printable import printable
from assistant.report.wording import Words, words_in, words_shared

HEADS = ("joint", "verdict", "next", "to decide", "signed by", "session")
_WIDEST = (34, 12, 44, 14, 18, 60)
BY_RECORD = "Verdicts by the record alone; sound is checked by"
PLAYED = "Rehearsals and practices: nothing was tightened"
_CLASSES = {0: "overdue", 1: "due", 2: "later"}


def _words(found: Overview, language: str) -> Words:
    """The words of what stands around the rows; each row speaks the language of its session."""
    return words_shared((row.language for row in (*found.work, *found.played) if row.language), otherwise=language)


def overview_text(found: Overview, *, now: datetime, played: bool = False, language: str = "en") -> str:
    """The table, then what a lead must know beside it.

    Args:
        found: in order.
        now: aware.
        played: list rehearsals and practices too.
        language: of the reader, where the sessions are not all in one.
    """
    words = _words(found, language)
    lines = [words.say(counted(found)), ""]
    rows = [_cells(row, now) for row in found.work]
    if rows:
        lines += [*_table(rows, words), ""]
    if played and found.played:
        lines += [
            words.say(PLAYED),
            *_table([_cells(r, now) for r in found.played], words),
            "",
        ]
    lines += _notes(found, words)
    return "\n".join(printable(line) for line in lines).rstrip() + "\n"


def _cells(row: Row, now: datetime) -> tuple[str, ...]:
    own = words_in(row.language)
    name = row.joint or own.say("(not readable)")
    tagged = f"{name} [{row.tag}]" if row.tag else name
    due = "; ".join(own.say(due_words(each, now)) for each in row.due) or "-"
    decisions = str(len(row.decisions)) if row.decisions else "-"
    return tagged, own.say(row.verdict), due, decisions, _signer(row), Path(row.folder).name


def _signer(row: Row) -> str:
    ours = row.signer in ("", THIS_MACHINE)  # all else is the name that a person gave a key
    return words_in(row.language).say(row.signer or "nobody") if ours else row.signer


def _table(rows: list[tuple[str, ...]], words: Words) -> Iterator[str]:
    heads = tuple(words.say(head) for head in HEADS)
    wide = [min(most, max(len(line[at]) for line in (heads, *rows))) for at, most in enumerate(_WIDEST)]
    for line in (heads, *rows):
        cut = (text if len(text) <= width else f"{text[: width - 1]}~" for text, width in zip(line, wide, strict=True))
        yield "  ".join(f"{text:{width}}" for text, width in zip(cut, wide, strict=True)).rstrip()


def _notes(found: Overview, words: Words) -> Iterator[str]:
    for row in found.work:
        for why in row.trouble:
            yield words.say(f"cannot be trusted: {Path(row.folder).name}: {why}")
    for original, copies in found.copies:
        names = ", ".join(Path(row.folder).name for row in copies[:3])
        names += " " + words.say(f"and {len(copies) - 3} more") if len(copies) > 3 else ""
        yield words.say(f"copies of {Path(original.folder).name}, counted once: {names}")
    for folder, where in found.parted:
        name = Path(folder).name
        yield words.say(f"not one session any more: {name} differs from what it is a copy of from {where} on")
    for name in found.vanished:
        yield words.say(f"vanished: {name} was recorded here by this machine and is not here any more")
    if found.register_trouble:
        yield words.say(
            f"the register of this machine is damaged, so vanished sessions are not known: {found.register_trouble}"
        )


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


def overview_html(found: Overview, *, now: datetime, title: str, language: str = "en") -> str:
    """The table as one page; a click on a column's head sorts by it. Joint names link to `NAME.html` beside the page.

    Args:
        found: in order.
        now: aware; stands on the page.
        title: of the folder.
        language: of the reader, where the sessions are not all in one.
    """
    words = _words(found, language)
    say = words.say
    parts = [
        "<!doctype html>",
        f'<html lang="{words.language}"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
        "script-src 'unsafe-inline'\">",
        f"<title>{say('Sessions')}: {_esc(title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{say('Sessions')}: {_esc(title)}</h1>",
        f"<p>{_esc(say(counted(found)))}. {say(f'As of {now:%Y-%m-%d %H:%M} UTC')}. {say(BY_RECORD)} "
        "<code>assistant verify</code>.</p>",
        *_html_table(found.work, now, words),
    ]
    notes = list(_notes(found, words))
    if notes:
        parts += [f"<h2>{say('Beside the table')}</h2><ul>", *(f"<li>{_esc(note)}</li>" for note in notes), "</ul>"]
    if found.played:
        parts += [f"<h2>{say(PLAYED)}</h2>", *_html_table(found.played, now, words)]
    return "\n".join([*parts, f"<script>{_SCRIPT}</script></body></html>"]) + "\n"


def _html_table(rows: tuple[Row, ...], now: datetime, words: Words) -> Iterator[str]:
    if not rows:
        yield f"<p>{words.say('None')}.</p>"
        return
    heads = "".join(f'<th scope="col"><button type="button">{words.say(head)}</button></th>' for head in HEADS)
    yield f'<div class="scroll"><table><thead><tr>{heads}</tr></thead><tbody>'
    for at, row in enumerate(rows):
        own = words_in(row.language)
        spoken = f' lang="{row.language}"' if row.language and row.language != words.language else ""
        dues = "".join(
            f'<div class="{_CLASSES[standing(due, now)[0]]}">{_esc(own.say(due_words(due, now)))}</div>'
            for due in row.due
        )
        decisions = "".join(f"<small>{_esc(own.say(text))}</small>" for text in row.decisions[:5])
        more = len(row.decisions) - 5
        further = f"<small>{own.say(f'and {more} more')}</small>" if more > 0 else ""
        about = " · ".join(filter(None, (row.tag, row.place)))
        verdict = f'<span class="{_esc(row.verdict)}">{_esc(own.say(row.verdict))}</span>'
        cells = (
            f"<td>{_esc(row.joint or own.say('(not readable)'))}<small>{_esc(about)}</small></td>",
            f"<td>{verdict}<small>{_esc(own.say(row.words))}</small></td>",
            f'<td data-key="{at:06}">{dues or "-"}</td>',
            f'<td data-key="{len(row.decisions)}">{len(row.decisions) or "-"}{decisions}',
            f"{further}</td>",
            f"<td>{_esc(_signer(row))}</td><td><code>{_esc(Path(row.folder).name)}</code></td>",
        )
        yield f"<tr{spoken}>{''.join(cells)}</tr>"
    yield "</tbody></table></div>"


def _esc(text: str) -> str:
    return html.escape(printable(text))
