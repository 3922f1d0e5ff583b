"""Text from a record, made fit to be shown: control and direction signs become visible, nothing else changes."""

from __future__ import annotations

import unicodedata

LONGEST = 4000
"""Letters of one text on a page; what is longer is cut and says so."""


def printable(text: str) -> str:
    """The text with every control, format, private or lone surrogate sign replaced by one that shows it was there."""
    shown = text[:LONGEST]
    if not shown.isprintable():
        shown = "".join(c if unicodedata.category(c)[0] != "C" else "\N{REPLACEMENT CHARACTER}" for c in shown)
    return shown if len(text) <= LONGEST else f"{shown} … ({len(text) - LONGEST} letters more)"
