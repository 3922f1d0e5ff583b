"""Two sessions side by side, as plain text and as one HTML page with a plot."""

from __future__ import annotations

import io
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

WIDTH = 120
_STEP, _HEIGHT, _TOP, _LEFT = 30.0, 150.0, 24.0, 58.0


def comparison_text(found: Comparison, *, width: int = WIDTH) -> str:
    """The comparison as plain text."""
    out = io.StringIO()
    console = Console(file=out, width=width, color_system=None, force_terminal=False, legacy_windows=False)
    console.print(Text(printable(f"First:  {found.first}")))
    console.print(Text(printable(f"Second: {found.second}")))
    console.print(Text(summary_words(found)))
    _table(
        console,
        ("", "First", "Second"),
        [(("" if line.same else "* ") + line.name, line.first or "-", line.second or "-") for line in found.facts],
    )
    console.print(Text("\nLAST TORQUE OF EACH BOLT"))
    remarks = any(line.remark for line in found.last)
    head = ("Group", "Bolt", "First", "Second", "Change", *(("Remark",) if remarks else ()))
    _table(console, head, [row(line)[: len(head)] for line in found.last])
    for each in found.passes:
        console.print()
        console.print(Text(printable(pass_title(each.first, each.second))))
        _table(console, ("Bolt", "First", "Second", "Change", "Remark"), [row(line)[1:] for line in each.bolts])
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def comparison_html(found: Comparison) -> str:
    """The comparison as one HTML page: no scripts, no outside references, printable."""
    pages = Environment(
        loader=PackageLoader("assistant.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    groups = tuple(dict.fromkeys(line.group for line in found.last))
    return pages.get_template("comparison.html.j2").render(
        found=found,
        tokens=tokens_css(),
        remarks=any(line.remark for line in found.last),
        summary=summary_words(found),
        plots=[(printable(group), change_plot(found, group)) for group in groups],
        row=row,
        printable=printable,
        pass_title=pass_title,
    )


def pass_title(first: str, second: str) -> str:
    """What a pass is called where both sessions have it, and where one has."""
    return f"{first or second}" + ("" if first and second else f" (in the {'first' if first else 'second'} only)")


def summary_words(found: Comparison) -> str:
    """The comparison in a sentence or two."""
    summary = found.summary
    file = "One joint file." if found.same_joint_file else "The joint files differ."
    if summary.mean_change_percent is None or summary.largest_loss_percent is None:
        return f"{file} No bolt has a torque in both."
    bolts = "1 bolt has" if summary.in_both == 1 else f"{summary.in_both} bolts have"
    return (
        f"{file} {bolts} a torque in both: {_percent(summary.mean_change_percent)} on average, "
        f"{_percent(summary.largest_loss_percent)} at the lowest ({printable(summary.largest_loss_at)}), "
        f"{_percent(summary.largest_gain_percent or 0.0)} at the highest. Only in the first: {summary.only_first}, "
        f"only in the second: {summary.only_second}."
    )


def row(line: BoltLine) -> tuple[str, str, str, str, str, str]:
    """Group, bolt, both torques, change, remark."""
    change = "" if line.change_percent is None else _percent(line.change_percent)
    return line.group, str(line.bolt), shown(line.first) or "-", shown(line.second) or "-", change, line.remark


def _percent(change: float) -> str:
    return f"{change:+g}\N{NO-BREAK SPACE}%" if change else "0\N{NO-BREAK SPACE}%"


def _table(console: Console, head: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
    for heading in head:
        table.add_column(heading)
    for cells in rows:
        table.add_row(*(Text(printable(cell)) for cell in cells))
    console.print(table)


def change_plot(found: Comparison, group: str) -> Markup:
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
        words = escape(f"bolt {line.bolt}: {shown(line.first)} to {shown(line.second)}, {change:+g} %", quote=True)
        kind = "gain" if change > 0 else "loss"
        parts.append(
            f"<g><title>{words}</title><rect x='{x - 8:.1f}' y='{top:.1f}' width='16' height='{max(tall, 1.5):.1f}' "
            f"class='{kind}'/></g><text x='{x:.1f}' y='{_TOP + _HEIGHT + 18:.1f}' class='x'>{line.bolt}</text>"
        )
    unit = lines[0].first.unit if lines[0].first is not None else ""
    label = escape(
        f"Change of the last torque of {len(lines)} bolts of {printable(group)}, {UNIT_SIGNS.get(unit, unit)}",
        quote=True,
    )
    return Markup(
        f"<svg viewBox='0 0 {width:.0f} {_TOP + _HEIGHT + 28:.0f}' role='img' aria-label='{label}' "
        f"style='max-width:{width:.0f}px'>{''.join(parts)}</svg>"
    )
