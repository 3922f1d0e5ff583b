"""From a typed line to the words of a grammar: case, punctuation, hyphens, figures and written units.

What has two meanings in the world is refused rather than guessed: a comma inside figures ("20,5", "1,200"), a point
without a figure before it (".5"), a minus sign, any sign that is no word of the trade. Pure; never raises.
"""

from __future__ import annotations

import re

_DOT = r"\s?[*.·⋅-]?\s?"
_SIGN_UNITS = (
    (rf"n{_DOT}m", "newton metres"),
    (rf"(?:lb|lbs|lbf){_DOT}(?:ft|foot|feet)|(?:ft|foot){_DOT}(?:lb|lbs|lbf)", "foot pounds"),
    (rf"(?:lb|lbs|lbf){_DOT}(?:in|inch)|(?:in|inch){_DOT}(?:lb|lbs|lbf)", "inch pounds"),
    (rf"(?:kg|kgf|kp){_DOT}m|m{_DOT}(?:kg|kgf|kp)", "kilogram metres"),
    (rf"kn{_DOT}m", "kilonewton metres"),
    ("lb|lbs|lbf", "pounds"),
    ("kg|kgf", "kilograms"),
    ("mm", "millimetres"),
    ("deg|°", "degrees"),
)
_UNITS = tuple((re.compile(rf"(?<![a-z'])(?:{p})(?![a-z'*])"), f" {words} ") for p, words in _SIGN_UNITS)
_PHRASES = (
    (re.compile(r"\+\s?/\s?-|±"), " plus or minus "),
    (re.compile(r"~|≈"), " about "),
    (re.compile(r"(?<=[0-9])\s?[-–]\s?(?=[0-9])"), " to "),
)
_REFUSED = re.compile(r"[0-9],\s?[0-9]|(?<![0-9])\.[0-9]|(?:^|\s)[-–][0-9]|[0-9]\.(?=[0-9]+\.[0-9])")
_TOKEN = re.compile(r"[0-9]+(?:\.[0-9]+)?|[a-z]+(?:'[a-z]+)?|\S")
_SILENT = frozenset(".,;:!?-–—\"'()…")
_SPELLINGS = {
    "naught": "nought",
    "fourty": "forty",
    "ninty": "ninety",
    "didnt": "didn't",
    "whats": "what's",
    "thats": "that's",
    "its": "it's",
    "antiseize": "anti seize",
    "handover": "hand over",
}


def typed_words(text: str) -> tuple[str, ...] | None:
    """The words that a typed line stands for: figures become one word each, those after the first glued ('3', '+1',
    '+0', '+.', '+5'). None when a sign in it has no safe meaning; () for an empty line.
    """
    line = text.lower().replace("’", "'").replace("‘", "'")
    if _REFUSED.search(line):
        return None
    for pattern, words in (*_PHRASES, *_UNITS):
        line = pattern.sub(words, line)
    out: list[str] = []
    for token in _TOKEN.findall(line):
        if "0" <= token[0] <= "9":
            out.append(token[0])
            out.extend(f"+{c}" for c in token[1:])
        elif "a" <= token[0] <= "z":
            out.extend(_SPELLINGS.get(token, token).split())
        elif token not in _SILENT:
            return None
    return tuple(out)
