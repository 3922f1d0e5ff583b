"""The joint record for the terminal: the answer and the open points first; plain text in a file or pipe."""

from __future__ import annotations

import io
from collections.abc import Iterator

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from assistant.replay.record_fields import JointRecord
from assistant.replay.verdict import COLOURS
from assistant.report import record_around, record_groups, record_tables
from assistant.report.printable import printable
from assistant.report.record_blocks import Block
from assistant.report.wording import words_in

WIDTH = 120
"""Columns of plain text."""


def record_text(record: JointRecord, *, width: int = WIDTH) -> str:
    """The record as plain text without colours."""
    out = io.StringIO()
    print_record(record, Console(file=out, width=width, color_system=None, force_terminal=False, legacy_windows=False))
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def print_record(record: JointRecord, console: Console) -> None:
    """Print the record; colours only where the console has them. Entries pass by pass are in the PDF and the CSV."""
    words = words_in(record.session.language)
    answer, reason, facts = record_tables.headline(record)
    console.print(Text(words.say(printable(f"Joint record: {record.joint.name or record.session.folder}")), "bold"))
    console.print(Text(words.say(answer), f"bold {_COLOURS[COLOURS[record.verdict]]}"))
    console.print(Text(words.say(reason)))
    for fact in facts:
        console.print(Text(words.say(fact)))
    for block in _blocks(record):
        _block(console, words.block(block))


def _blocks(record: JointRecord) -> Iterator[Block]:
    yield Block(title="Open points", lines=tuple(f"- {printable(p)}" for p in record.open_points) or ("none",))
    yield from (record_tables.identification(record), record_tables.tools(record), record_tables.questions(record))
    for name in record_groups.group_names(record):
        yield from record_groups.group_blocks(record, name)
    yield from (*record_around.around_blocks(record), *record_around.apprentice_blocks(record))
    yield from (*record_tables.events(record), record_tables.later(record), *record_tables.trust(record))


_COLOURS = {"green": "green", "amber": "yellow", "red": "red"}


def _block(console: Console, block: Block) -> None:
    console.print()
    console.print(Text(block.title.upper(), "bold"))
    if block.facts:
        facts = Table.grid(padding=(0, 2, 0, 0))
        facts.add_column(no_wrap=True)
        facts.add_column()
        for name, text in block.facts:
            facts.add_row(Text(f"  {name}"), Text(text))
        console.print(facts)
    if block.rows:
        table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
        for heading in block.head:
            table.add_column(heading)
        for row in block.rows:
            table.add_row(*(Text(cell) for cell in row))
        console.print(Padding(table, (0, 0, 0, 2)))
    for line in block.lines:
        console.print(Padding(Text(line), (0, 0, 0, 2)))
