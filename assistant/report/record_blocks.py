"""A titled part of the joint record as plain text: one source for the terminal and the PDF."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.report.printable import printable


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A titled part of the record.

    Args:
        facts: names and texts.
        head, rows: a table; each row has as many cells as `head`.
        widths: of its columns, relative.
        lines: sentences.
        group: bolt group whose pictures stand here; "" for none.
    """

    title: str
    facts: tuple[tuple[str, str], ...] = ()
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    widths: tuple[float, ...] = ()
    lines: tuple[str, ...] = ()
    group: str = ""


def cells(*texts: str) -> tuple[str, ...]:
    """A row of a table, each cell fit to be printed."""
    return tuple(printable(text) for text in texts)
