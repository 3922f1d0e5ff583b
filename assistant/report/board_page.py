"""The glance board as a page: what a browser shows of `report.board.Glance`. Only shows; nothing is sent back."""

from __future__ import annotations

import json
from importlib.resources import files

from assistant.report.board import Glance

FILES = {
    "/": ("board.html", "text/html; charset=utf-8"),
    "/board.css": ("board.css", "text/css; charset=utf-8"),
    "/board.js": ("board.js", "text/javascript; charset=utf-8"),
}
"""What the page is made of, by its path: file and type."""


def page_file(path: str) -> tuple[bytes, str] | None:
    """A file of the page and its type; None where there is none at that path."""
    found = FILES.get(path)
    if found is None:
        return None
    return (files("assistant.report") / "templates" / found[0]).read_bytes(), found[1]


def picture(seen: Glance) -> str:
    """One state for the page, as JSON in one line."""
    told = {
        "kind": seen.kind,
        "heading": seen.heading,
        "figures": [{"label": label, "figure": figure} for label, figure in seen.figures],
        "text": seen.text,
        "say": seen.say,
        "place": seen.place,
        "joint": seen.joint,
        "last": seen.last,
    }
    return json.dumps(told, ensure_ascii=False)
