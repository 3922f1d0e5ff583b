"""Text from a record, made fit to be shown: control and direction signs become visible, nothing else changes."""

from __future__ import annotations

import unicodedata

LONGEST = 4000
"""Letters of one text on a page; what is longer is cut and says so."""


def printable(text: str) -> str:
    """The text with every control, format, private, line-ending or surrogate sign replaced by one that is seen."""
    shown = text[:LONGEST]
    if not shown.isprintable():
        shown = "".join("\N{REPLACEMENT CHARACTER}" if _hidden(c) else c for c in shown)
    return shown if len(text) <= LONGEST else f"{shown} … ({len(text) - LONGEST} letters more)"


def _hidden(sign: str) -> bool:
    category = unicodedata.category(sign)
    return category[0] == "C" or category in ("Zl", "Zp")
