"""Two sessions side by side, as plain text and as one HTML page with a plot."""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from rich.console import Console
from rich.table import Table
from rich.text import Text

from assistant.replay.comparison import BoltLine, Comparison
from assistant.replay.titles import UNIT_SIGNS
from assistant.report.look import tokens_css
from assistant.report.printable import printable
from assistant.report.record_tables import shown
from assistant.report.wording import ENGLISH, Words, words_shared

WIDTH = 120
LAST = "Last torque of each bolt"
OWN_FACTS = frozenset({"Joint", "Tag", "Instruction", "Joint file", "Tools"})
"""Facts that are people's own words, or names."""
PARTED_FACTS = frozenset({"Threads", "Rounds until still", "Waits", "Measured", "Found"})
"""Facts of several parts, each with its name."""
_STEP, _HEIGHT, _TOP, _LEFT = 30.0, 150.0, 24.0, 58.0


def comparison_text(found: Comparison, *, width: int = WIDTH, language: str = "en") -> str:
    """The comparison as plain text.

    Args:
        found: both sessions.
        width: columns.
        language: of the reader, where the two sessions are not in one.
    """
    words = words_shared(found.languages, otherwise=language)
    say = words.say
    out = io.StringIO()
    console = Console(file=out, width=width, color_system=None, force_terminal=False, legacy_windows=False)
    for text in told_of(found, words):
        console.print(Text(text))
    heads = ("", say("First"), say("Second"))
    facts = [(("" if same else "* ") + name, one, two) for name, one, two, same in fact_rows(found, words)]
    _table(console, heads, facts)
    console.print(Text(f"\n{say(LAST).upper()}"))
    remarks = any(line.remark for line in found.last)
    head = ("Group", "Bolt", "First", "Second", "Change", *(("Remark",) if remarks else ()))
    _table(console, tuple(map(say, head)), [row(line, words)[: len(head)] for line in found.last])
    for each in found.passes:
        console.print()
        console.print(Text(printable(pass_title(each.first, each.second, words))))
        columns = tuple(map(say, ("Bolt", "First", "Second", "Change", "Remark")))
        _table(console, columns, [row(line, words)[1:] for line in each.bolts])
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def comparison_html(found: Comparison, *, language: str = "en") -> str:
    """The comparison as one HTML page: no scripts, no outside references, printable. Arguments as `comparison_text`."""
    words = words_shared(found.languages, otherwise=language)
    pages = Environment(
        loader=PackageLoader("assistant.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    groups = tuple(dict.fromkeys(line.group for line in found.last))
    return pages.get_template("comparison.html.j2").render(
        found=found,
        language=words.language,
        say=words.say,
        tokens=tokens_css(),
        remarks=any(line.remark for line in found.last),
        told=told_of(found, words),
        facts=fact_rows(found, words),
        last=LAST,
        plots=[(printable(group), change_plot(found, group, words)) for group in groups],
        row=lambda line: row(line, words),
        printable=printable,
        pass_title=lambda first, second: pass_title(first, second, words),
    )


def told_of(found: Comparison, words: Words) -> tuple[str, str, str]:
    """Which two sessions, and the comparison in a sentence or two."""
    say = words.say
    one, two = (printable(words.say(name)) for name in (found.first, found.second))
    return f"{say('First')}: {one}", f"{say('Second')}: {two}", summary_words(found, words)


def fact_rows(found: Comparison, words: Words) -> list[tuple[str, str, str, bool]]:
    """Name of each fact, both texts, and whether they are the same; people's own words and names stay."""
    rows = []
    for line in found.facts:
        one, two = (
            text if line.name in OWN_FACTS else _parted(text, words) if line.name in PARTED_FACTS else words.say(text)
            for text in (line.first, line.second)
        )
        rows.append((words.say(line.name), printable(one) or "-", printable(two) or "-", line.same))
    return rows


def _parted(text: str, words: Words) -> str:
    """A fact of several parts, each `name: words`."""
    said = []
    for part in text.split("; "):
        name, parted, rest = part.partition(": ")
        said.append(f"{words.say(name)}: {words.say(rest)}" if parted else words.say(part))
    return "; ".join(said)


def pass_title(first: str, second: str, words: Words = ENGLISH) -> str:
    """What a pass is called where both sessions have it, and where one has."""
    only = "" if first and second else "in the first only" if first else "in the second only"
    return words.say(first or second) + (f" ({words.say(only)})" if only else "")


def summary_words(found: Comparison, words: Words = ENGLISH) -> str:
    """The comparison in a sentence or two."""
    summary = found.summary
    file = words.say("One joint file." if found.same_joint_file else "The joint files differ.")
    if summary.mean_change_percent is None or summary.largest_loss_percent is None:
        return f"{file} {words.say('No bolt has a torque in both.')}"
    bolts = "1 bolt has" if summary.in_both == 1 else f"{summary.in_both} bolts have"
    told = (
        f"{bolts} a torque in both: {_percent(summary.mean_change_percent)} on average, "
        f"{_percent(summary.largest_loss_percent)} at the lowest ({printable(summary.largest_loss_at)}), "
        f"{_percent(summary.largest_gain_percent or 0.0)} at the highest.",
        f"Only in the first: {summary.only_first}, only in the second: {summary.only_second}.",
    )
    return " ".join((file, *map(words.say, told)))


def row(line: BoltLine, words: Words = ENGLISH) -> tuple[str, str, str, str, str, str]:
    """Group, bolt, both torques, change, remark."""
    change = "" if line.change_percent is None else words.figure(_percent(line.change_percent))
    first, second = (words.figure(shown(torque)) or "-" for torque in (line.first, line.second))
    return line.group, str(line.bolt), first, second, change, words.say(line.remark)


def _percent(change: float) -> str:
    return f"{change:+g}\N{NO-BREAK SPACE}%" if change else "0\N{NO-BREAK SPACE}%"


def _table(console: Console, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> None:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
    for heading in head:
        table.add_column(heading)
    for cells in rows:
        table.add_row(*(Text(printable(cell)) for cell in cells))
    console.print(table)


def change_plot(found: Comparison, group: str, words: Words = ENGLISH) -> Markup:
    """Change of each bolt's last torque in percent, as bars up and down from nothing; '' where no bolt has both."""
    lines = [line for line in found.last if line.group == group and line.change_percent is not None]
    if not lines:
        return Markup("")
    most = max(5.0, *(abs(line.change_percent or 0.0) for line in lines))
    width = _LEFT + _STEP * len(lines) + 16
    middle = _TOP + _HEIGHT / 2
    parts = []
    for value in (most, 0.0, -most):
        y = middle - value / most * _HEIGHT / 2
        parts.append(f"<line x1='{_LEFT}' y1='{y:.1f}' x2='{width - 8:.1f}' y2='{y:.1f}' class='grid'/>")
        parts.append(f"<text x='{_LEFT - 6}' y='{y + 4:.1f}' class='y'>{_percent(round(value))}</text>")
    for at, line in enumerate(lines):
        x, change = _LEFT + _STEP * (at + 0.5), line.change_percent or 0.0
        tall = abs(change) / most * _HEIGHT / 2
        top = middle - tall if change > 0 else middle
        told = words.say(f"bolt {line.bolt}: {shown(line.first)} to {shown(line.second)}, {change:+g} %")
        kind = "gain" if change > 0 else "loss"
        parts.append(
            f"<g><title>{escape(told, quote=True)}</title><rect x='{x - 8:.1f}' y='{top:.1f}' width='16' "
            f"height='{max(tall, 1.5):.1f}' class='{kind}'/></g>"
            f"<text x='{x:.1f}' y='{_TOP + _HEIGHT + 18:.1f}' class='x'>{line.bolt}</text>"
        )
    unit = lines[0].first.unit if lines[0].first is not None else ""
    label = escape(
        words.say(
            f"Change of the last torque of {len(lines)} bolts of {printable(group)}, {UNIT_SIGNS.get(unit, unit)}"
        ),
        quote=True,
    )
    return Markup(
        f"<svg viewBox='0 0 {width:.0f} {_TOP + _HEIGHT + 28:.0f}' role='img' aria-label='{label}' "
        f"style='max-width:{width:.0f}px'>{''.join(parts)}</svg>"
    )
