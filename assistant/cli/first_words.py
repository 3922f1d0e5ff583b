"""The first seconds of a session: whether it hears and is heard, before anything is asked that counts."""

from __future__ import annotations

import sys
from dataclasses import dataclass

from assistant.cli.edges import Edges
from assistant.config.settings import Settings
from assistant.devices.voice_activity import SileroActivity
from assistant.errors import DeviceMissing
from assistant.events import TroubleFound
from assistant.ports import Block, Canceller, Typed
from assistant.session.sound_test import ADVICE, SoundTest, sound_test
from assistant.speech.wording import catalogue

TRIES = 2
FOR_THE_SCREEN = frozenset({"good", "speaker-unheard"})
"""Nothing that somebody who has just heard and answered must be told aloud."""


@dataclass(frozen=True, slots=True)
class FirstWords:
    """What came of it.

    Args:
        trouble: for the record, where something is to be changed; else empty.
        at_sample: up to which the microphone was read.
    """

    trouble: tuple[TroubleFound, ...] = ()
    at_sample: int = 0


def first_words(edges: Edges, settings: Settings, language: str, canceller: Canceller) -> FirstWords:
    """Ask for two numbers, once more where they were not understood, and say what to change. A person who does not
    answer is not kept from working: the session goes on, and its record tells. Its canceller learns the room by it.

    Raises:
        DeviceMissing: the microphone gives nothing but zeros, also while the loudspeaker sounds and somebody is asked.
        SpeakerFailed: the loudspeaker stayed away.
    """
    if not (settings.sound_test and edges.real_time):
        return FirstWords()
    words, at_sample = catalogue(language), 0
    for attempt in range(1, TRIES + 1):
        told = sound_test(
            edges.microphone,
            edges.speaker,
            edges.hearing,
            SileroActivity(),
            sentence=words.equipment["sound-test"],
            headset=settings.headset,
            canceller=canceller,
            at_sample=at_sample,
        )
        at_sample = told.at_sample
        print(f"sound test: {figures(told)}. {ADVICE[told.found]}", file=sys.stderr)
        if told.found in FOR_THE_SCREEN:
            return FirstWords(at_sample=at_sample)
        spoken = edges.speaker.say(words.equipment[told.found], at_sample)
        at_sample = _passed(edges, spoken.end_sample, at_sample)
        if told.found == "hears-itself" or attempt == TRIES:
            break
    if told.found == "no-sound":
        raise DeviceMissing(ADVICE["no-sound"], remedy="Turn it on in the system's sound settings, or name another.")
    trouble = TroubleFound(what="sound-tested", detail=f"sound test: {told.found}; {figures(told)}")
    return FirstWords((trouble,), at_sample)


def figures(told: SoundTest) -> str:
    """The figures of a test in one line."""
    return "; ".join(f"{name} {figure}" for name, figure in told.lines)


def _passed(edges: Edges, until: int, at_sample: int) -> int:
    """Read on over what was said; the sample up to which the microphone was read."""
    while at_sample < until:
        piece = edges.microphone.read()
        if piece is None:
            break
        if not isinstance(piece, Typed):
            at_sample = piece.at_sample + (len(piece.samples) if isinstance(piece, Block) else piece.samples)
    return at_sample
