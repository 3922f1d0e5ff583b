"""What speaks for each meaning that any listener found, and for 'something else': named figures for the combiner.

The combiner is a conditional logit: each candidate, and 'something else' besides, gets the score sum(weight x figure);
the probabilities are the softmax of the scores. All figures are bounded, so that no single one can run away.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.speech.heard import Reading
from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.quality import Quality

EAR, VOSK = "constrained", "vosk"
FLOOR = -10.0  # nats; where a listener did not find a meaning at all, or found it hopeless
SYLLABLE_S = 0.17  # a syllable of brisk speech (common practice, no source); only ratios to it count
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
    figures = []
    for meaning, text in meanings.items():
        own = _form(meaning, text, quality)
        for name, candidates in found.items():
            if name in best:
                top = by_name[name].candidates[0].log_probability if name == EAR else 0.0
                gap = max(candidates[meaning].log_probability - top, FLOOR) if meaning in candidates else FLOOR
                own |= {name: gap, f"{name} in noise": gap * noise, f"{name} first": float(best[name] == meaning)}
                own[f"{name} missing"] = float(meaning not in candidates)
        own["all first"] = float(len(best) == len(by_name) and all(b == meaning for b in best.values()))
        if EAR in by_name:
            own["free wording"] = float(_plain(text) == _plain(by_name[EAR].free_text))
        figures.append(own)
    return Evidence(
        tuple(meanings), tuple(meanings.values()), tuple(figures), _otherwise(by_name, meanings, quality), best
    )


def _noise(quality: Quality) -> float:
    """0 in quiet, 1 about 0 dB, by the sound's own estimate."""
    return min(1.0, max(0.0, (25.0 - quality.snr_db) / 20.0))


def _form(meaning: Meaning, text: str, quality: Quality) -> Figures:
    """What the wording itself says: its length against the length of the sound, and how much there is of it."""
    words = text.split()
    expected = SYLLABLE_S * max(1, syllables(text))
    pace = (quality.speech_s + 0.1) / (expected + 0.1)
    return {
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


def _otherwise(by_name: Mapping[str, Reading], meanings: Mapping[Meaning, str], quality: Quality) -> Figures:
    figures = {"any": 1.0, "noise": _noise(quality), "clipped": min(quality.clipped * 20, 1.0)}
    ear, vosk = by_name.get(EAR), by_name.get(VOSK)
    if ear is not None:
        fit = FLOOR if ear.fit is None else ear.fit
        words = len(ear.candidates[0].text.split()) if ear.candidates else 0
        figures |= {
            "fit bad": min(max(-fit, 0.0), 10.0),
            "fit bad in noise": min(max(-fit, 0.0), 10.0) * _noise(quality),
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
