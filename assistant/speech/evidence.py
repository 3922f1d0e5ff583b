"""What speaks for each meaning that any listener found, and for 'something else': named figures for the combiner.

The combiner is a conditional logit: each candidate, and 'something else' besides, gets the score sum(weight x figure);
the probabilities are the softmax of the scores. All figures are bounded, so that no single one can run away.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.speech.heard import Reading
from assistant.speech.lettered import Lettered, lettered
from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.quality import Quality

EAR, LETTERS, VOSK = "constrained", "letters", "vosk"
FLOOR = -10.0  # nats; where a listener did not find a meaning at all, or found it hopeless
MISSED = -15.0  # nats; the ear's own log-probability of a meaning that it did not find
SYLLABLE_S = 0.17  # a syllable of brisk speech (common practice, no source); only ratios to it count
FILLERS = frozenset(
    "a about ah and done er erm its it's is it less make minus more no ok okay over plus rather reading reads so sorry"
    " than that that's the uh um under was well".split()
)
"""Small words around a number. A figure half drowned comes back as one of them ('eight seventy five' as 'it's seventy
five'), so a reading that holds one has to be clearer."""
LONGEST_NUMBER = 10_000  # no torque is said with five figures, in any unit; a figure heard twice makes such numbers
Figures = dict[str, float]


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that the listeners say of one utterance.

    Args:
        meanings: found by any listener; openings of free speech without their text.
        texts: likeliest wording of each.
        figures: of each, by name.
        otherwise: figures of 'something else'.
        best: listener -> its own best meaning; listeners that found nothing are left out.
    """

    meanings: tuple[Meaning, ...]
    texts: tuple[str, ...]
    figures: tuple[Figures, ...]
    otherwise: Figures
    best: Mapping[str, Meaning]


def bare(meaning: Meaning) -> Meaning:
    """The meaning as it is compared between listeners: a note without its text."""
    return Note(meaning.opening) if isinstance(meaning, Note) else meaning


def weigh(readings: Sequence[Reading], quality: Quality) -> Evidence:
    """Collect the evidence.

    Args:
        readings: of EAR and VOSK, in any order, one of them or both.
        quality: of the sound.
    """
    by_name = {r.listener: r for r in readings}
    found = {name: {bare(c.meaning): c for c in reversed(r.candidates)} for name, r in by_name.items()}
    best = {name: bare(r.candidates[0].meaning) for name, r in by_name.items() if r.candidates}
    meanings: dict[Meaning, str] = {}
    for name in (EAR, VOSK):
        for candidate in by_name[name].candidates if name in by_name else ():
            meanings.setdefault(bare(candidate.meaning), candidate.text)
    noise = _noise(quality)
    spoken = _spoken(readings, meanings)
    figures = []
    for meaning, text in meanings.items():
        own = _form(meaning, text, quality)
        for name, candidates in found.items():
            if name in best:
                top = by_name[name].candidates[0].log_probability if name == EAR else 0.0
                gap = max(candidates[meaning].log_probability - top, FLOOR) if meaning in candidates else FLOOR
                own |= {name: gap, f"{name} in noise": gap * noise, f"{name} squared": gap * gap / 10}
                own |= _with_noise(f"{name} first", float(best[name] == meaning), noise)
                own |= _with_noise(f"{name} missing", float(meaning not in candidates), noise)
        all_first = len(best) == len(by_name) and all(b == meaning for b in best.values())
        own |= _with_noise("all first", float(all_first), noise)
        if spoken is not None:
            own |= _spelt(meaning, spoken, own, noise)
        if EAR in own and VOSK in own:
            own["both"] = own[EAR] * own[VOSK] / 10
        if EAR in by_name:
            own |= _free(meaning, text, by_name[EAR].free_text)
            heard = found[EAR][meaning].log_probability if meaning in found[EAR] else MISSED
            own["ear for its length"] = max(heard / (1 + syllables(text)), -4.0)
        figures.append(own)
    return Evidence(
        tuple(meanings), tuple(meanings.values()), tuple(figures), _otherwise(by_name, meanings, quality, spoken), best
    )


def sources(readings: Sequence[Reading]) -> str:
    """Which combiner these readings need: names of what speaks in them, sorted and joined by '+'."""
    names = {r.listener for r in readings} | {LETTERS for r in readings if r.letters is not None}
    return "+".join(sorted(names))


def _spoken(readings: Sequence[Reading], meanings: Mapping[Meaning, str]) -> Lettered | None:
    """Every meaning, in all wordings in which it was found, held against the letters; None without letters."""
    letters = next((r.letters for r in readings if r.letters is not None), None)
    if letters is None:
        return None
    texts = {m: tuple(c.text for r in readings for c in r.candidates if bare(c.meaning) == m) for m in meanings}
    return lettered(letters, texts)


def _spelt(meaning: Meaning, spoken: Lettered, own: Figures, noise: float) -> Figures:
    """What the letters say of one meaning; `own`: what the listeners say of it."""
    score = spoken.scores[meaning]
    gap = FLOOR if score is None else max(score - spoken.top, FLOOR)
    figures = {LETTERS: gap, f"{LETTERS} in noise": gap * noise, f"{LETTERS} squared": gap * gap / 10}
    figures |= _with_noise(f"{LETTERS} first", float(spoken.best == meaning), noise)
    size = max(1, spoken.sizes[meaning])
    figures[f"{LETTERS} for its length"] = -4.0 if score is None else max(10 * score / size, -20.0) / 5
    figures[f"{LETTERS} against free"] = FLOOR if score is None else max(score - spoken.free, FLOOR)
    figures[f"{LETTERS} unspelt"] = float(score is None)
    for name in (EAR, VOSK):
        if name in own:
            figures[f"{LETTERS} and {name}"] = own[name] * gap / 10
            first = own[f"{name} first"] * float(spoken.best == meaning)
            figures |= _with_noise(f"{LETTERS} first with {name}", first, noise)
    return figures


def _noise(quality: Quality) -> float:
    """0 in quiet, 1 about 0 dB, by the sound's own estimate."""
    return min(1.0, max(0.0, (25.0 - quality.snr_db) / 20.0))


def _with_noise(name: str, figure: float, noise: float) -> Figures:
    return {name: figure, f"{name} in noise": figure * noise}


def _free(meaning: Meaning, text: str, free_text: str) -> Figures:
    """Whether free wording says the same; for free speech ('note ...'), whether it begins with the opening."""
    begins = _plain(free_text).startswith(_plain(text))
    return {
        "free wording": float(_plain(text) == _plain(free_text)),
        "opening unheard": float(isinstance(meaning, Note) and not begins),
    }


def _form(meaning: Meaning, text: str, quality: Quality) -> Figures:
    """What the wording itself says: its length against the length of the sound, how much there is of it, of what."""
    words = text.lower().split()
    count = syllables(text)
    expected = SYLLABLE_S * max(1, count)
    pace = (quality.speech_s + 0.1) / (expected + 0.1)
    return {
        "syllables": min(count, 14),
        "long": math.log(1 + count),
        "words": float(min(len(words), 12)),
        "begins with a filler": float(bool(words) and words[0] in FILLERS),
        "fillers": float(min(sum(w in FILLERS for w in words), 4)),
        "numerals": float(any(c.isdigit() for c in text)),
        "five figures": float(isinstance(meaning, Value) and meaning.number >= LONGEST_NUMBER),
        "too long for it": min(max(pace - 1.6, 0.0), 3.0),
        "too short for it": min(max(1 / max(pace, 0.1) - 1.6, 0.0), 3.0),
        "one word": float(len(words) <= 1),
        "two words": float(len(words) == 2),
        "command": float(isinstance(meaning, Command)),
        "unclear": float(isinstance(meaning, Command) and meaning.name.startswith("unclear-")),
        "note": float(isinstance(meaning, Note)),
        "decimal": float(isinstance(meaning, Value) and meaning.number % 1 != 0),
        "bolt": float(not isinstance(meaning, Note) and meaning.bolt is not None),
        "unit": float(isinstance(meaning, Value) and meaning.unit is not None),
    }


def _otherwise(
    by_name: Mapping[str, Reading], meanings: Mapping[Meaning, str], quality: Quality, spoken: Lettered | None
) -> Figures:
    noise = _noise(quality)
    figures = {"any": 1.0, "noise": noise, "noise squared": noise * noise, "clipped": min(quality.clipped * 20, 1.0)}
    ear, vosk = by_name.get(EAR), by_name.get(VOSK)
    if ear is not None:
        fit = FLOOR if ear.fit is None else ear.fit
        first = ear.candidates[0] if ear.candidates else None
        words = len(first.text.split()) if first else 0
        low = min(max(-first.log_probability, 0.0), -MISSED) if first else -MISSED
        figures |= {
            "ear low": low,
            "ear low for its length": low / (1 + (syllables(first.text) if first else 0)),
            "fit bad": min(max(-fit, 0.0), 10.0),
            "fit bad in noise": min(max(-fit, 0.0), 10.0) * noise,
            "fit very bad": min(max(-fit - 2.0, 0.0), 10.0),
            "fit too good": min(max(fit - 3.0, 0.0), 6.0),
            "more free words": min(max(ear.extra.get("free_words", 0.0) - words - 1, 0.0), 6.0),
            "ear nothing": float(not ear.candidates),
        }
    if vosk is not None:
        figures |= {
            "vosk unreadable": 1.0 - vosk.extra.get("readable", 0.0),
            "vosk first unreadable": 1.0 - vosk.extra.get("first_readable", 0.0),
            "vosk nothing": float(not vosk.candidates),
            "vosk unsure word": 1.0 - vosk.extra.get("confidence", 0.0),
        }
    if spoken is not None:
        bad = min(max(spoken.free - spoken.top, 0.0), 15.0)
        best = spoken.best
        size = spoken.sizes[best] if best is not None else 0
        figures |= {
            f"{LETTERS} fit bad": bad,
            f"{LETTERS} fit bad in noise": bad * noise,
            f"{LETTERS} fit very bad": max(bad - 4.0, 0.0),
            f"{LETTERS} low for their number": min(-10 * spoken.top / max(1, size), 20.0) / 5,
            f"{LETTERS} free low": min(-10 * spoken.free / max(1, spoken.free_size), 20.0) / 5,
            f"{LETTERS} more than said": min(max(spoken.free_size - size, 0) / 4, 5.0),
            f"{LETTERS} fewer than said": min(max(size - spoken.free_size, 0) / 4, 5.0),
            f"{LETTERS} nothing": float(spoken.free_size == 0),
        }
        if ear is not None and ear.candidates and best is not None:
            figures[f"{LETTERS} against ear"] = float(bare(ear.candidates[0].meaning) != best)
    if len(by_name) == 2 and ear is not None and vosk is not None and ear.candidates and vosk.candidates:
        figures["disagreement"] = float(bare(ear.candidates[0].meaning) != bare(vosk.candidates[0].meaning))
    if not meanings:
        figures["any"] += 20.0
    return figures


def syllables(text: str) -> int:
    """About how many syllables a wording has; a numeral counts as one figure."""
    count = 0
    for word in text.lower().split():
        if any(c.isdigit() for c in word):
            count += sum(2 if c in "07" else 1 for c in word if c.isdigit()) + (1 if "." in word else 0)
        else:
            groups = len(re.findall(r"[aeiouy]+", word))
            silent = word.endswith("e") and not word.endswith("le") and groups > 1
            count += max(1, groups - (1 if silent else 0))
    return count


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "", text.lower())
