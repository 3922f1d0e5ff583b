"""Where people pause inside a number, and where they do not: how long to wait before a number counts as finished. Pure.

Measured on the places of words in recordings of real people (66 speakers who read figures and numbers; 33 who ordered
'twelve ounce'; the silence between two words, share of at least 128 / 256 / 320 / 448 ms):

| between | n | share, % |
|---|---|---|
| a ten and its figure ('twenty', 'five') | 195 | 0 / 0 / 0 / 0 |
| hundred, thousand, and, point and what follows | 22 | 0 / 0 / 0 / 0 |
| a number and its unit | 78 | 0 / 0 / 0 / 0 |
| two figures said one by one | 1298 | 24 / 13 / 9 / 3 |
| a figure and a ten or a teen ('three', 'ten') | 102 | 20 / 10 / 4 / 1 |
| a teen and a ten or a teen ('twelve', 'fifty') | 49 | 20 / 10 / 4 / 2 |

People who read telephone numbers figure by figure, many accents, pause longer (32 people, 286 pauses inside of the
numbers; at least 320 / 448 / 704 / 896 ms: 52 / 30 / 7 / 1 %). What so far cannot be a reading of the bolt that is due,
while a longer number could, is therefore waited for as long as a sentence that is surely unfinished
(`procedure.acceptance.may_go_on`).

So what can only be followed by a ten's figure, a point or a unit is over after a short silence; a number that ends in a
figure said alone, or in a teen that may be the first half, is not.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.speech.number_words import FIGURES, NOUGHTS, TEENS, TENS

_FIGURES = frozenset({*FIGURES, *NOUGHTS})
_JOINTS = frozenset({"hundred", "thousand", "and", "point", "decimal"})
_NUMBER = frozenset({*_FIGURES, *TEENS, *TENS, *_JOINTS, "double", "triple"})
USUAL_STRING = 3  # figures of most torques said one by one


def number_end(words: Sequence[str]) -> str:
    """How a sentence that ends in a number ends, in words as people say them.

    Returns:
        'closed': only a ten's figure, a point or a unit can follow, and people do not pause before those;
        'whole': figures one by one, as many as most torques have; 'open': half a number, as likely as not;
        'hundreds': a hundred or thousand, with nothing behind it yet;
        'none': it does not end in a number, or not in one written in words.
    """
    run: list[str] = []
    for word in reversed(words):
        if word not in _NUMBER:
            break
        run.insert(0, word)
    if not run:
        return "none"
    last, before = run[-1], run[-2] if len(run) > 1 else ""
    if last in ("hundred", "thousand"):
        return "hundreds"
    if last in _JOINTS or last in ("double", "triple"):
        return "open"
    if last in TENS:
        return "closed"
    if last in TEENS:
        return "closed" if before in _FIGURES or before in TEENS or before in _JOINTS else "open"
    if before in TENS or (before in _JOINTS and before != "thousand"):
        return "closed"
    if before == "thousand":
        return "open"  # 'one thousand two', 'fifty'
    figures = 0
    while figures < len(run) and run[-1 - figures] in _FIGURES:
        figures += 1
    return "whole" if figures >= USUAL_STRING or (figures == len(run) - 1 and run[0] in TEENS) else "open"
