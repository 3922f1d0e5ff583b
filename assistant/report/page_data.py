"""The conversation as data for a page's scripts: a small index of all moments, the rest in pieces read when seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from assistant.events import Alternative, UtteranceHeard
from assistant.replay.moments import MARKS, Moment
from assistant.replay.outcomes import heard_words
from assistant.replay.story import Story
from assistant.report.page_sound import Sounds
from assistant.report.printable import printable
from assistant.report.wording import ENGLISH, Words

PIECE = 250
"""Moments in one piece."""
_SOUND_SIGNS = {"kept": "k", "changed": "c", "damaged": "d", "missing": "m"}
_MOST_BOLTS = 400


def page_index(story: Story, sounds: Sounds, *, beside: str, texts: Words = ENGLISH) -> dict[str, Any]:
    """What the scripts need of every moment at once: kind, time, marks, bolt, pass, sound.

    Keys: `t` milliseconds UTC, the first whole, the rest as differences; `who` one letter a moment (h, a, r); `id` the
    number in its anchor; `mark` bits of `marks`; `bolt` 0 for none; `stage` place in `stages` or -1; `sound` one letter
    a moment (k kept, c changed, d damaged, m missing, t typed, n not kept, p prompt, - none); `ms` how long it lasted;
    `no` the line of the journal; `words` what the scripts say in another language, by the English
    text.
    """
    found = story.moments
    stages = {key: place for place, key in enumerate(story.stages)}
    return {
        "piece": PIECE,
        "marks": list(MARKS),
        "stages": [[number, texts.say(printable(title))] for (number, _), title in story.stages.items()],
        "t": _differences([round(moment.utc.timestamp() * 1000) for moment in found]),
        "who": "".join(moment.who[0] for moment in found),
        "id": [int(moment.anchor[2:]) for moment in found],
        "named": "".join("u" if moment.anchor.startswith("u") else "e" for moment in found),
        "mark": [sum(1 << MARKS.index(mark) for mark in moment.marks) for moment in found],
        "bolt": [moment.bolt or 0 for moment in found],
        "stage": [stages.get((moment.stage, moment.round), -1) for moment in found],
        "ms": [max(0, moment.end_sample - moment.sample) // 16 for moment in found],
        "no": _differences([moment.number for moment in found]),
        "sound": "".join(_sound_of(moment, sounds) for moment in found),
        "words": texts.scripts,
        "beside": beside,
        "promptType": sounds.prompt_type,
        "promptEnding": sounds.prompt_ending,
    }


def page_pieces(story: Story, sounds: Sounds, texts: Words = ENGLISH) -> Iterator[list[list[Any]]]:
    """The rest of every moment, PIECE at a time: [text, outcomes, ms of sound, prompt's key or outline, heard]."""
    for first in range(0, max(1, len(story.moments)), PIECE):
        yield [_row(moment, sounds, texts) for moment in story.moments[first : first + PIECE]]


def page_film(story: Story, texts: Words = ENGLISH) -> dict[str, Any]:
    """Frames as [entry's number, group, place in the index' stages, signs, text], and each group's bolts in the end."""
    stages = {key: place for place, key in enumerate(story.stages)}
    return {
        "groups": [list(group.bolts[:_MOST_BOLTS]) for group in story.groups],
        "frames": [
            [f.number, f.group, stages.get((f.stage, f.round), -1), f.signs[:_MOST_BOLTS], texts.say(printable(f.text))]
            for f in story.film
        ],
        "final": [signs[:_MOST_BOLTS] for signs in story.final],
        "closed": story.record.session.closed_utc is not None,
    }


def _differences(values: Sequence[int]) -> list[int]:
    return [value - (values[place - 1] if place else 0) for place, value in enumerate(values)]


def _sound_of(moment: Moment, sounds: Sounds) -> str:
    if moment.who == "assistant":
        return "p" if moment.text in sounds.prompts else "-"
    if moment.heard is None:
        return "-"
    if moment.heard.audio_sha256 is None:
        return "t" if moment.heard.typed else "n"
    return _SOUND_SIGNS[sounds.states.get(moment.name, "missing")]


def _row(moment: Moment, sounds: Sounds, texts: Words) -> list[Any]:
    ms = max(0, moment.end_sample - moment.sample) // 16
    shown: list[Any] = [_text(moment, texts), [texts.say(printable(words)) for words in moment.outcomes], ms]
    if moment.heard is not None:
        return [*shown, sounds.outlines.get(moment.name, ""), _heard(moment.heard, texts)]
    return [*shown, sounds.prompts.get(moment.text, "")] if moment.who == "assistant" else shown


def _text(moment: Moment, texts: Words) -> str:
    """What was said stays in the words that were said; what the record says is ours."""
    return printable(moment.text) if moment.who != "record" else texts.say(printable(moment.text))


def _heard(event: UtteranceHeard, texts: Words) -> dict[str, Any]:
    """All that was understood; what is as usual is left out."""
    best = event.alternatives[0].text if event.alternatives else ""
    same = {name: text for name, text in event.listeners.items() if text != best}
    found: dict[str, Any] = {
        "name": printable(event.utterance),
        "sha": (event.audio_sha256 or "")[:16],
        "alt": [_alternative(each, texts) for each in event.alternatives[:8]],
        "by": sorted(printable(name) for name in event.listeners if name not in same),
        "decision": event.decision,
        "from": _share(event.accept_at),
        "at": event.start_sample,
    }
    if same:
        found["other"] = {printable(name): printable(text) for name, text in same.items()}
    if event.free_text and event.free_text != best:
        found["free"] = printable(event.free_text)
    optional = {"fit": _finite(event.fit), "snr": _finite(event.snr_db), "state": event.state}
    found.update({name: value for name, value in optional.items() if value not in (None, "")})
    flags = {"differed": not event.agreed, "clipped": event.clipped, "under": event.while_speaking}
    found.update({name: 1 for name, set_ in flags.items() if set_})
    return found


def _alternative(each: Alternative, texts: Words) -> list[Any]:
    words = [printable(each.text), texts.say(printable(heard_words(each))), _share(each.probability)]
    return [*words, each.bolt] if each.bolt else words


def _share(probability: float) -> float:
    return round(min(1.0, max(0.0, probability)), 4) if probability == probability else 0.0


def _finite(value: float | None) -> float | None:
    return round(value, 2) if value is not None and abs(value) < 1e9 else None
