"""A plan for the terminal: header, bolt picture, table of passes, remarks, calculation sheet; plain text in a file."""

from __future__ import annotations

import io

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from assistant.bolting.planning.plan import Plan
from assistant.bolting.reason import Reason
from assistant.bolting.remark import Remark
from assistant.report.bolt_picture import text_picture
from assistant.report.plan_content import PASS_HEADINGS, GroupContent, grade_in, plan_content, said_in
from assistant.report.wording import ENGLISH, Words

WIDTH = 100
"""Columns of plain text."""
_STYLES = {"note": "", "caution": "yellow", "stop": "bold red"}


def plan_text(plan: Plan, words: Words = ENGLISH, *, width: int = WIDTH) -> str:
    """The plan as plain text without colours, for files and pipes."""
    out = io.StringIO()
    console = Console(file=out, width=width, color_system=None, force_terminal=False, legacy_windows=False)
    print_plan(plan, console, words)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def print_plan(plan: Plan, console: Console, words: Words = ENGLISH) -> None:
    """Print the plan; colours only where the console has them."""
    content, say = said_in(plan_content(plan), words), words.say
    console.print(Text(content.title, "bold"))
    _facts(console, content.facts)
    _heading(console, say("Safety"))
    for line in content.safety:
        console.print(Padding(Text(line), (0, 0, 0, 2)))
    if content.stops:
        _heading(console, say("Stops before the first bolt"))
        _facts(console, content.stops, stacked=True)
    for group in content.groups:
        _group(console, group, words)
    _heading(console, say("Asked by voice"))
    _facts(console, content.questions, stacked=True)
    if content.remarks:
        _heading(console, say("Remarks on the joint"))
        _remarks(console, content.remarks, words)
    for group in content.groups:
        _heading(console, say(f"Calculation sheet: {group.title}"))
        for number, reason in enumerate(group.reasons, start=1):
            _reason(console, number, reason)


def _heading(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text.upper(), "bold"))


def _facts(console: Console, facts: tuple[tuple[str, str], ...], *, stacked: bool = False) -> None:
    if stacked:
        for name, text in facts:
            console.print(Padding(Text(name), (0, 0, 0, 2)))
            console.print(Padding(Text(text), (0, 0, 0, 6)))
        return
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for name, text in facts:
        table.add_row(Text(f"  {name}"), Text(text))
    console.print(table)


def _group(console: Console, group: GroupContent, words: Words) -> None:
    _heading(console, group.title)
    _facts(console, group.facts)
    plan = group.plan
    console.print()
    own = plan.figures.tightening
    picture = text_picture(plan.family, plan.bolts, order=plan.order, columns=own.columns, rows=own.rows, say=words.say)
    console.print(Padding(Text(picture, no_wrap=True), (0, 0, 0, 2)))
    console.print()
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
    for heading in PASS_HEADINGS:
        table.add_column(
            words.say(heading), justify="right" if heading in ("Pass", "Share", "Bolt target", "Set wrench") else "left"
        )
    for row in group.rows:
        table.add_row(*(Text(cell, "bold" if at == 5 else "") for at, cell in enumerate(row)))
    console.print(Padding(table, (0, 0, 0, 2)))
    console.print()
    _facts(console, group.orders)
    if group.remarks:
        console.print()
        _remarks(console, group.remarks, words)


def _remarks(console: Console, remarks: tuple[Remark, ...], words: Words) -> None:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column()
    for each in remarks:
        source = f" [{each.source}]" if each.source else ""
        table.add_row(Text(f"  {grade_in(each, words)}", _STYLES[each.grade]), Text(each.text + source))
    console.print(table)


def _reason(console: Console, number: int, reason: Reason) -> None:
    console.print(Padding(Text(f"{number}  {reason.title}", "bold"), (0, 0, 0, 2)))
    if reason.formula:
        console.print(Padding(Text(reason.formula), (0, 0, 0, 5)))
    if reason.terms:
        table = Table.grid(padding=(0, 2, 0, 0))
        for _ in range(4):
            table.add_column()
        for term in reason.terms:
            sign = "=" if term.symbol else ""
            table.add_row(Text(term.symbol), Text(f"{sign} {term.value}"), Text(term.meaning), Text(f"[{term.source}]"))
        console.print(Padding(table, (0, 0, 0, 7)))
    console.print(Padding(Text(f"-> {reason.result}"), (0, 0, 0, 5)))
    console.print(Padding(Text(f"[{reason.source}]", "dim"), (0, 0, 0, 5)))
