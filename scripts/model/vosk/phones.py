"""The phone set, and how phones are numbered: units, pdfs and the names with a place in the word.

39 phones of North American English and silence. Each has one emitting state with two outputs of the network (pdfs):
one for the frame that enters it, one for every further frame. Unit 0 is silence, unit 1 + k is phone k; unit u has the
pdfs 2u (entering) and 2u + 1 (staying). In the graph a phone is named by its place in the word (B begin, E end, I
inside, S alone), as word_boundary.int wants; the four share their pdfs. `[unk]` is made of three phones of its own (B,
E, I), each of which may take the pdfs of any real phone: phone sequences then differ only in number, so that the
lattice stays small.
"""

from __future__ import annotations

PHONES = tuple(
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split()
)
SILENCE = 1  # phone id
UNITS = 1 + len(PHONES)
PDFS = 2 * UNITS
GARBAGE = 2 + 4 * len(PHONES)  # first phone id, and first transition unit, of [unk]
PLACES = "BEIS"

Unit = tuple[int, int, int, float]  # phone id, entering pdf, staying pdf, probability of staying


def unit_of(name: str) -> int:
    """Unit of a phone (1 ... 39). Raises ValueError for a name that is no phone."""
    return 1 + PHONES.index(name)


def phone_id(name: str, place: str) -> int:
    """Phone id (2 ... 157) of a phone at a place in the word."""
    return 2 + 4 * PHONES.index(name) + PLACES.index(place)


def placed(pronunciation: list[str]) -> list[int]:
    """Phone ids of a word."""
    if len(pronunciation) == 1:
        return [phone_id(pronunciation[0], "S")]
    last = len(pronunciation) - 1
    return [phone_id(p, "B" if i == 0 else "E" if i == last else "I") for i, p in enumerate(pronunciation)]


def pdfs_of(phone: int) -> tuple[int, int]:
    """(entering, staying) pdf of a phone id that is no garbage phone."""
    unit = 0 if phone == SILENCE else 1 + (phone - 2) // 4
    return 2 * unit, 2 * unit + 1


def garbage_phone(place: str) -> int:
    """Phone id of [unk] at the beginning, end or inside."""
    return GARBAGE + "BEI".index(place)


def garbage_unit(k: int, place: str) -> int:
    """Transition unit (from 1) that lets the garbage phone at this place take the pdfs of phone k."""
    return GARBAGE + "BEI".index(place) * len(PHONES) + k


def transition_units(stay: list[float]) -> list[Unit]:
    """The transition model's units in order; for real phones the unit's number is the phone id.

    Args:
        stay: probability of staying, one for silence and each phone: shape (UNITS,).
    """
    out: list[Unit] = []
    for phone in range(1, GARBAGE):
        enter, hold = pdfs_of(phone)
        out.append((phone, enter, hold, stay[enter // 2]))
    for place in "BEI":
        out += [(garbage_phone(place), 2 * u, 2 * u + 1, stay[u]) for u in range(1, UNITS)]
    return out
