"""A transcript as plain text, one line each, for the terminal and for reading afterwards."""

from __future__ import annotations

import unicodedata

from assistant.replay.transcript import Line

SPEAKERS = {"assistant": "assistant", "heard": "heard", "record": "  record"}


def text_line(line: Line) -> str:
    """One line: time of day (UTC), who, what, and how sure. Control signs in spoken text are made visible."""
    remark = f"   [{line.remark}]" if line.remark else ""
    return _printable(f"{line.utc:%H:%M:%S}  {SPEAKERS[line.who]:<10} {line.text}{remark}")


def _printable(text: str) -> str:
    return "".join(c if unicodedata.category(c)[0] != "C" else "\N{REPLACEMENT CHARACTER}" for c in text)
