"""Words and how they are said: dictionaries of lines `word PH PH ...`.

A second pronunciation is a further line, or `word(2) PH PH ...`. Stress marks (AH0) are dropped, `#` begins a comment.
The dictionary of North American English is the one inside the package pocketsphinx (BSD); `../vosk_words.dict` holds
our own pronunciations of words that it lacks.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from scripts.model.vosk.phones import PHONES

OWN = Path(__file__).resolve().parents[1] / "vosk_words.dict"
MOST = 4  # pronunciations of one word

Lexicon = dict[str, list[list[str]]]


class LexiconError(ValueError):
    """A dictionary line that cannot be used; the message names file, line and what is allowed."""


def read_dictionary(path: Path, *, strange: str = "refuse") -> Lexicon:
    """Pronunciations of every word of a dictionary file.

    Args:
        strange: what to do with a line that holds no pronunciation or a name that is no phone: "refuse" or "skip" it.

    Raises:
        LexiconError: the file is not there, or such a line with "refuse".
    """
    if not path.is_file():
        raise LexiconError(f"{path}: not there; give a file of lines 'word PH PH ...'")
    out: Lexicon = {}
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        word, *said = line.split("#")[0].split() or [""]
        if not word:
            continue
        phones = [p.rstrip("012") for p in said]
        unknown = [p for p in phones if p not in PHONES]
        if unknown or not phones:
            if strange == "skip":
                continue
            what = f"{unknown[0]!r} is no phone" if unknown else f"{word!r} has no phones"
            raise LexiconError(f"{path}:{number}: {what}; phones are {' '.join(PHONES)}")
        ways = out.setdefault(word.split("(")[0].lower(), [])
        if phones not in ways:
            ways.append(phones)
    return out


def packaged_dictionary() -> Path:
    """The dictionary file inside the installed package pocketsphinx."""
    import pocketsphinx

    return Path(pocketsphinx.get_model_path("en-us")) / "cmudict-en-us.dict"


def joined(*dictionaries: Lexicon) -> Lexicon:
    """One dictionary; a word is taken from the first that has it."""
    out: Lexicon = {}
    for d in dictionaries:
        for word, ways in d.items():
            out.setdefault(word, ways)
    return out


def chosen(words: Iterable[str], dictionary: Lexicon) -> tuple[Lexicon, list[str]]:
    """(the part of the dictionary that the words need, words that it lacks), both sorted."""
    wanted = sorted(set(words))
    return {w: dictionary[w][:MOST] for w in wanted if w in dictionary}, [w for w in wanted if w not in dictionary]
