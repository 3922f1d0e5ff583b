"""Two minutes to learn to talk to it: each word is said once, what was heard badly is said in a better way.

The assistant says a word, the person says it back. What was not taken at once is tried a second time in another form,
and the form that worked is told at the end. The sentences are in `speech.wording.practice`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from assistant.events import SAMPLE_RATE_HZ
from assistant.ports import Activity, Lost, Microphone, Notice, Samples, Speaker, Typed
from assistant.session.hearing import Hearing, alternative
from assistant.session.sound_watch import why_unheard
from assistant.speech.endpoint import Endpointer
from assistant.speech.utterance import SpeechEnded, Utterance
from assistant.speech.vocabulary import everything
from assistant.speech.wording.practice import EnglishPractice

ANSWER_S = 6.0
"""How long a word is waited for."""
TAIL_S = 0.2
"""The microphone stays closed so long for a prompt's echo."""


@dataclass(frozen=True, slots=True)
class Word:
    """Something that is said at work.

    Args:
        say: the usual form.
        means: the number or the name of the command that it has to be understood as.
        better: another form of the same meaning, longer or figure by figure, that is told apart more easily.
    """

    say: str
    means: Decimal | str
    better: str


WORDS = (
    Word("one twenty seven", Decimal(127), "one two seven"),
    Word("three forty", Decimal(340), "three four zero"),
    Word("fifty six", Decimal(56), "five six"),
    Word("ninety eight", Decimal(98), "nine eight"),
    Word("fifteen", Decimal(15), "one five"),
    Word("fifty", Decimal(50), "five zero"),
    Word("yes", "yes", "that's correct"),
    Word("no", "no", "that's not correct"),
    Word("stop", "stop", "stop stop stop"),
    Word("snug", "snug", "it's snug"),
    Word("clicked", "clicked", "it clicked"),
    Word("it moved", "moved", "the nut moved"),
    Word("did not move", "did not move", "the nut did not move"),
    Word("correction", "correction", "scratch that"),
    Word("say again", "say again", "repeat that"),
    Word("speak up", "louder", "speak louder"),
)
"""All ten figures, the two numbers that are told apart worst, the answers, 'stop', and the words of a report."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """How a word was heard.

    Args:
        word: that was to be said.
        first: "sure", "asked" (it would have been asked about), "other" (something else, or nothing, was understood),
            or "nothing" (no sound came).
        second: the same of the better form; "" where the first was sure.
        heard: what was understood instead, "" where nothing was.
    """

    word: Word
    first: str
    second: str = ""
    heard: str = ""

    @property
    def form(self) -> str:
        """The form that was heard surely; "" where neither was."""
        if self.first == "sure":
            return self.word.say
        return self.word.better if self.second == "sure" else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """What came of it.

    Args:
        tried: every word, in order.
        sound: what is wrong with the sound, a key of the catalogues' `equipment`; "" where nothing is.
        level_dbfs, snr_db: of the middle one of all that was said; None where nothing was.
    """

    tried: tuple[Tried, ...]
    sound: str
    level_dbfs: float | None
    snr_db: float | None

    @property
    def better(self) -> tuple[tuple[str, str], ...]:
        """(word, form to say instead) of those that are heard better so."""
        return tuple((t.word.say, t.word.better) for t in self.tried if t.first != "sure" and t.second == "sure")

    @property
    def hard(self) -> tuple[str, ...]:
        """Words that were heard surely in neither form."""
        return tuple(t.word.say for t in self.tried if not t.form)


def voice_lesson(
    microphone: Microphone,
    speaker: Speaker,
    hearing: Hearing,
    activity: Activity,
    *,
    words: EnglishPractice,
    real_time: bool,
    told: Callable[[Tried], None] = lambda _tried: None,
) -> Lesson:
    """Hold the lesson.

    Args:
        microphone, speaker: on one running clock.
        real_time: sound comes by itself, and what comes under a prompt is thrown away; else it waits (a file).
        told: told of each word as it is done.
    """
    ear = _Ear(microphone, speaker, hearing, Endpointer(activity), real_time=real_time)
    ear.say(words.lesson_opening())
    tried: list[Tried] = []
    for word in WORDS:
        if ear.over:
            break
        first, heard = ear.ask(words.say_back(word.say), word)
        if first == "nothing" and not ear.over:
            first, heard = ear.ask(words.say_back(word.say), word)
        done = Tried(word=word, first=first, heard=heard)
        if first in ("asked", "other") and not ear.over:
            done = replace(done, second=ear.ask(words.try_instead(word.better), word)[0])
        tried.append(done)
        told(done)
    middle = sorted(ear.said, key=lambda each: each.level_dbfs)[len(ear.said) // 2] if ear.said else None
    return Lesson(
        tried=tuple(tried),
        sound="" if middle is None else why_unheard(middle.level_dbfs, middle.snr_db, middle.clipped),
        level_dbfs=None if middle is None else round(middle.level_dbfs, 1),
        snr_db=None if middle is None or middle.snr_db is None else round(middle.snr_db, 1),
    )


class _Ear:
    """Says something, and hears one utterance after it."""

    def __init__(
        self, microphone: Microphone, speaker: Speaker, hearing: Hearing, endpointer: Endpointer, *, real_time: bool
    ) -> None:
        self.said: list[Utterance] = []
        self.over = False
        self._microphone, self._speaker, self._hearing, self._endpointer = microphone, speaker, hearing, endpointer
        self._real_time = real_time
        self._at = 0

    def say(self, text: str) -> None:
        """Speak; sound under the prompt and its echo is thrown away."""
        spoken = self._speaker.say(text, self._at)
        until = spoken.end_sample + round(TAIL_S * SAMPLE_RATE_HZ)
        while self._real_time and self._at < until and not self.over:
            self._endpointer.skip(len(self._next()))

    def ask(self, text: str, word: Word) -> tuple[str, str]:
        """Speak, wait for one utterance; how it was heard, and what was understood in place of the word."""
        self.say(text)
        utterance = self._utterance()
        if utterance is None:
            return "nothing", ""
        self.said.append(utterance)
        heard = self._hearing.listen(utterance.samples, everything()).heard
        best = alternative(heard.ranked[0]) if heard.ranked else None
        if best is None or heard.decision == "reject":
            return "other", ""
        meant = best.value if best.value is not None else best.command
        if meant != word.means:
            return "other", best.text
        return ("sure" if heard.decision == "accept" else "asked"), ""

    def _utterance(self) -> Utterance | None:
        until = self._at + round(ANSWER_S * SAMPLE_RATE_HZ)
        while self._at < until and not self.over:
            for event in self._endpointer.feed(self._next()):
                if isinstance(event, SpeechEnded):
                    return event.utterance
        rest = self._endpointer.finish() if self.over else ()
        return next((event.utterance for event in rest if isinstance(event, SpeechEnded)), None)

    def _next(self) -> Samples:
        piece = self._microphone.read()
        if piece is None or isinstance(piece, Typed):
            self.over = True
            return np.zeros(0, np.int16)
        if isinstance(piece, Notice):
            return np.zeros(0, np.int16)
        samples = np.zeros(piece.samples, np.int16) if isinstance(piece, Lost) else piece.samples
        self._at = piece.at_sample + len(samples)
        return samples
