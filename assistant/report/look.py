"""The one look of pages and papers: colours by what they mean, for light, for dark and for paper.

The lead's page, the comparison and the PDF of the joint record take their colours from here and nowhere else. Every
pair that carries text has a contrast of at least 4.5 to 1 (WCAG 2.2, read), which `tests/report/test_look.py` checks.
"""

from __future__ import annotations

import types

from markupsafe import Markup

LIGHT: types.MappingProxyType[str, str] = types.MappingProxyType(
    {
        "ink": "#14212b",
        "soft": "#4a5863",
        "line": "#c3cad0",
        "paper": "#f4f5f3",
        "card": "#ffffff",
        "raised": "#e9edee",
        "petrol": "#0b5563",
        "on-petrol": "#ffffff",
        "pale": "#d9ebee",
        "amber": "#e2982c",
        "amber-ink": "#6f4300",
        "amber-pale": "#fdf1da",
        "red": "#94211c",
        "red-pale": "#fbe4e2",
        "green": "#1b5e35",
        "green-pale": "#dff1e5",
        "moved": "#8fc3ca",
        "focus": "#1a5fc4",
    }
)
"""Colours by day and on paper."""
DARK: types.MappingProxyType[str, str] = types.MappingProxyType(
    {
        "ink": "#e8edf0",
        "soft": "#a9b6bf",
        "line": "#3a4852",
        "paper": "#10171c",
        "card": "#18222a",
        "raised": "#22303a",
        "petrol": "#6cc5d3",
        "on-petrol": "#08242a",
        "pale": "#173a42",
        "amber": "#e9a94a",
        "amber-ink": "#f3c67e",
        "amber-pale": "#36280f",
        "red": "#ff9d94",
        "red-pale": "#421a18",
        "green": "#7fd6a0",
        "green-pale": "#14331f",
        "moved": "#2c6c77",
        "focus": "#8db8ff",
    }
)
"""The same by night."""
VERDICT_COLOURS: types.MappingProxyType[str, tuple[str, str]] = types.MappingProxyType(
    {"green": ("green", "green-pale"), "amber": ("amber-ink", "amber-pale"), "red": ("red", "red-pale")}
)
"""Colour of a verdict -> the tokens of its words and of its ground."""


def tokens_css() -> Markup:
    """The tokens as custom properties of a style sheet: light, and dark where the reader's machine asks for it."""
    light, dark = (_properties(tokens) for tokens in (LIGHT, DARK))
    return Markup(
        f":root {{ {light} color-scheme: light dark; }}\n"
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {dark} }} }}\n"
    )


def _properties(tokens: types.MappingProxyType[str, str]) -> str:
    return " ".join(f"--{name}: {colour};" for name, colour in tokens.items())


def rgb(token: str) -> tuple[int, int, int]:
    """A colour by day as red, green and blue, 0 to 255: for paper."""
    colour = LIGHT[token]
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
