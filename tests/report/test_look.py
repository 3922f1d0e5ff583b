"""The tokens of the look: words can be read on their ground by day and by night."""

from __future__ import annotations

import pytest

from assistant.report.look import DARK, LIGHT, VERDICT_COLOURS, tokens_css

PAIRS = [
    *((words, ground) for words in ("ink", "soft", "petrol", "red", "green") for ground in ("paper", "card")),
    *(("ink", ground) for ground in ("pale", "amber-pale", "red-pale", "green-pale", "raised", "moved")),
    *VERDICT_COLOURS.values(),
    ("on-petrol", "petrol"),
]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (read)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["day", "night"])
@pytest.mark.parametrize(("words", "ground"), PAIRS)
def test_words_stand_out_from_their_ground(tokens, words: str, ground: str):
    one, two = sorted((luminance(tokens[words]), luminance(tokens[ground])), reverse=True)
    assert (one + 0.05) / (two + 0.05) >= 4.5, (words, ground, round((one + 0.05) / (two + 0.05), 2))


def test_day_and_night_have_the_same_tokens_and_the_sheet_holds_both():
    assert LIGHT.keys() == DARK.keys()
    text = tokens_css()
    assert all(f"--{name}: {tokens[name]};" in text for tokens in (LIGHT, DARK) for name in tokens)
    assert "prefers-color-scheme: dark" in text
