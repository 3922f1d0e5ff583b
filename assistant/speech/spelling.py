"""Names that are spelled: by the letters' own names, or by the words of the ICAO alphabet. Pure.

Source of the words: ICAO Annex 10, volume II, the radiotelephony spelling alphabet (from memory).
"""

from __future__ import annotations

ICAO = (
    "alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar papa quebec romeo "
    "sierra tango uniform victor whiskey x-ray yankee zulu"
).split()
_LETTERS = {word: word[0] for word in ICAO} | {
    **{"alpha": "a", "juliet": "j", "whisky": "w", "xray": "x"},
    **dict(zip("bee cee see sea dee ee eff gee aitch jay kay el ell em en".split(), "bcccdefghjkllmn", strict=True)),
    **dict(zip("oh pee pea queue cue ar are ess tee tea vee ex why zed zee".split(), "oppqqrrsttvxyzz", strict=True)),
    **dict(zip(("you", "double-you", "eye", "ay"), "uwia", strict=True)),
}
_GAPS = frozenset({"space", "blank", "next"})
FEWEST_LETTERS = 2


def spelled_name(text: str) -> str:
    """The name that was spelled out ('romeo oscar bravo', 'r o b'), a new word behind 'space'; "" where nothing was.

    Every word has to be a letter: 'Mike' alone is a name, not an m.
    """
    words = text.lower().replace("x ray", "x-ray").replace("double you", "double-you").split()
    names, letters = [], ""
    for word in words:
        if word in _GAPS and letters:
            names.append(letters)
            letters = ""
            continue
        letter = word if len(word) == 1 and word.isalpha() else _LETTERS.get(word.strip(".,"))
        if letter is None:
            return ""
        letters += letter
    names.append(letters)
    if sum(len(name) for name in names) < FEWEST_LETTERS:
        return ""
    return " ".join(name.capitalize() for name in names if name)
