"""All listeners on one utterance: they read it side by side, and their readings become one verdict."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, TimeoutError
from dataclasses import dataclass, replace
from decimal import Decimal
from queue import SimpleQueue
from typing import Any, TypeVar

from assistant.events import SAMPLE_RATE_HZ, Alternative
from assistant.ports import Follower, Recogniser, Samples, Transcriber
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Candidate, Heard, Ranked, Reading
from assistant.speech.meaning import Command, Note, Value
from assistant.speech.pauses import number_end
from assistant.speech.typed import typed_words

T = TypeVar("T")

Combine = Callable[[Sequence[Reading], Samples], Heard]
"""Readings of one utterance and its sound -> the verdict, by the calibrated thresholds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listened:
    """A verdict, how long it took, and whether the speaker is likely to go on.

    Args:
        heard: the verdict.
        milliseconds: wall time from the sound being there to the verdict.
        processor_ms: processor time of the slowest listener on its own thread: what it would take on an idle machine.
        patience_ms: silence after the last word until the utterance counts as over.
    """

    heard: Heard
    milliseconds: float
    processor_ms: float
    patience_ms: int


@dataclass(frozen=True, slots=True)
class Fault:
    """A listener that is listened to no more: its name and why."""

    listener: str
    reason: str


DEADLINE_S = 15.0
"""Longer than this, beside the sound's own length, no reading takes; a busy machine needs one or two. Then it hangs."""
CLOSE_S = 5.0  # what an engine has begun is done by then; a busy machine needs one or two
FAULTS = 2
"""Readings in a row that a listener may fail: one may be the memory of a moment."""


class Hearing:
    """Runs the recognisers, each in its own thread (engines are not made for several), and combines their readings.

    A listener that raises has no say in that utterance; one that does it twice running, or does not answer in time, is
    listened to no more, and the others go on under the thresholds that were calibrated for them alone.

    Args:
        recognisers: one or two; their order does not matter.
        combine: the calibrated vote.
        deadline_s: beside the sound's own length, how long a listener may take.
    """

    def __init__(self, recognisers: Sequence[Recogniser], combine: Combine, *, deadline_s: float = DEADLINE_S) -> None:
        self.names = tuple(r.name for r in recognisers)
        self._listeners = [_Listener(r) for r in recognisers]
        self._combine, self._deadline_s = combine, deadline_s
        self._knows: dict[tuple[str, str], bool] = {}
        self._following: _Listener | None = None
        self._given: list[Future[Any]] = []  # work of the follower that nobody has waited for yet
        self._faults: list[Fault] = []

    @property
    def deaf(self) -> bool:
        """Whether no listener is left of those that there were."""
        return bool(self.names) and not self._listeners

    def faults(self) -> tuple[Fault, ...]:
        """Listeners that were given up since the last call."""
        found, self._faults = tuple(self._faults), []
        return found

    def prepare(self, grammar: Grammar) -> None:
        """Let engines that want it build what they need for a grammar, in their own threads, without waiting."""
        for listener in self._listeners:
            listener.submit(listener.recogniser.prepare, grammar)

    def listen(self, samples: Samples, grammar: Grammar) -> Listened:
        """Read an utterance within a grammar."""
        start = time.perf_counter()
        able = [each for each in self._listeners if self._knows_words(each.recogniser, grammar)] or self._listeners
        jobs = [(each, each.submit(_timed, each.recogniser, samples, grammar)) for each in able]
        done = []
        for each, job in jobs:
            for result in self._result(each, job, samples):
                each.failed = 0  # a step of following that went well tells nothing about reading
                done.append(result)
        heard = self._combine([reading for reading, _ in done], samples)
        return Listened(
            heard=heard,
            milliseconds=1000 * (time.perf_counter() - start),
            processor_ms=1000 * max((seconds for _, seconds in done), default=0.0),
            patience_ms=patience_ms(heard, grammar),
        )

    def follow(self, grammar: Grammar) -> None:
        """Somebody began to speak: let the first listener that can and knows the words follow, in its own thread."""
        able = [
            each
            for each in self._listeners
            if isinstance(each.recogniser, Follower) and self._knows_words(each.recogniser, grammar)
        ]
        self._following, self._given = (able[0] if able else None), []
        if (follower := self._follower) is not None:
            self._give(follower.follow, grammar)

    def take(self, samples: Samples) -> None:
        """The next piece of what is said, for the listener that follows; nobody waits for it."""
        if (follower := self._follower) is not None:
            self._give(follower.take, samples)

    def words_so_far(self) -> tuple[str, ...] | None:
        """Words in what the following listener was given; None where nobody follows, or it failed."""
        following, follower, given = self._following, self._follower, self._given
        if following is None or follower is None:
            return None
        self._given = []
        words = following.submit(follower.words_so_far)
        for job in given:
            if not self._result(following, job):
                self._following = None
                return None
        answer = self._result(following, words)
        if not answer:
            self._following = None
            return None
        return answer[0]

    @property
    def _follower(self) -> Follower | None:
        listener = self._following
        return listener.recogniser if listener is not None and isinstance(listener.recogniser, Follower) else None

    def _give(self, step: Callable[[T], None], what: T) -> None:
        if self._following is not None:
            self._given.append(self._following.submit(step, what))

    def _knows_words(self, recogniser: Recogniser, grammar: Grammar) -> bool:
        """A listener that lacks a word of a joint's own phrase cannot recognise it: it has no vote on that phrase."""
        key = (recogniser.name, grammar.name)
        if key not in self._knows:
            self._knows[key] = not recogniser.unknown_words(grammar)
        return self._knows[key]

    def transcribe(self, samples: Samples) -> str:
        """Free speech as text, by the first engine that can; "" where none does."""
        for each in list(self._listeners):
            if isinstance(each.recogniser, Transcriber):
                for text in self._result(each, each.submit(each.recogniser.transcribe, samples), samples):
                    return text
        return ""

    def close(self) -> None:
        """Let the threads end, and wait for it: one that comes back from its engine while the interpreter goes
        down would abort the process (a thread's end unwinds through the engine's C++). One that hangs is left behind.
        """
        for each in self._listeners:
            each.close()
        until = time.monotonic() + CLOSE_S
        for each in self._listeners:
            each.join(until - time.monotonic())

    def _result(self, listener: _Listener, job: Future[T], samples: Samples | None = None) -> tuple[T, ...]:
        """What came of a job, in a tuple; an empty one where it failed, and the listener is given up if that is due."""
        sound_s = 0.0 if samples is None else len(samples) / SAMPLE_RATE_HZ
        try:
            fault = job.exception(self._deadline_s + sound_s)
        except TimeoutError:
            self._give_up(listener, f"no answer in {self._deadline_s + sound_s:.0f} s")
            return ()
        if fault is None:
            return (job.result(),)
        listener.failed += 1
        if listener.failed >= FAULTS:
            self._give_up(listener, f"{type(fault).__name__}: {fault}"[:300])
        return ()

    def _give_up(self, listener: _Listener, reason: str) -> None:
        if listener in self._listeners:
            self._listeners.remove(listener)
            listener.close()
            self._faults.append(Fault(listener.recogniser.name, reason))


class _Listener:
    """A recogniser and its thread. The thread is a daemon: an engine that never comes back must not keep the process.

    Args:
        recogniser: used from the thread alone.
    """

    def __init__(self, recogniser: Recogniser) -> None:
        self.recogniser = recogniser
        self.failed = 0  # readings in a row
        self._work: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._thread = threading.Thread(target=self._run, daemon=True, name=recogniser.name)
        self._thread.start()

    def submit(self, call: Callable[..., T], *arguments: object) -> Future[T]:
        """Have something done in the thread."""
        future: Future[T] = Future()

        def work() -> None:
            try:
                future.set_result(call(*arguments))
            except BaseException as fault:  # SystemExit and MemoryError too: the thread must answer
                future.set_exception(fault)

        self._work.put(work)
        return future

    def close(self) -> None:
        """Let the thread end after what it has to do."""
        self._work.put(None)

    def join(self, seconds: float) -> None:
        """Wait for its end, so long at most."""
        self._thread.join(max(0.0, seconds))

    def _run(self) -> None:
        while (work := self._work.get()) is not None:
            work()


def _timed(recogniser: Recogniser, samples: Samples, grammar: Grammar) -> tuple[Reading, float]:
    start = time.thread_time()
    return recogniser.hear(samples, grammar), time.thread_time() - start


AT_ONCE_MS, FINISHED_MS, DOUBTFUL_MS, USUAL_MS, MORE_TO_COME_MS = 192, 224, 320, 608, 896
"""Silence that ends an utterance: nothing can follow; the same, but not surely understood, or a command that something
might follow; not surely understood; nothing understood; surely unfinished."""
HALF_HEARD_MS = 512
"""The least where the verdict understood nothing but partial words begin a sentence. Of 21 such pauses in rehearsals at
10 and 5 dB nothing came after 15; after words that can be the whole, noise came twice, 320 and 512 ms later.
"""
NUMBER_MS = {"closed": 224, "whole": 320, "open": 448, "hundreds": 512, "none": 320}
"""The same for a number that might go on, by how it ends (`speech.pauses`, which also says what was measured)."""
HALF_SAID = frozenset({"point", "double", "triple", "and", "oh"})


def patience_ms(heard: Heard, grammar: Grammar) -> int:
    """How much silence to wait for, given what was understood so far: the grammar knows what may follow, and how the
    number ends whether people pause there.
    """
    if not heard.ranked or heard.decision == "reject":
        return USUAL_MS
    best = heard.ranked[0]
    words = typed_words(best.text) or ()
    number = isinstance(best.meaning, Value) or "bolt" in words
    return _patience_ms(words, _as_said(words, heard), grammar, number=number, sure=heard.decision == "accept")


def first_patience_ms(words: tuple[str, ...], grammar: Grammar) -> int:
    """The same by the partial words of one listener, who is never sure; the usual where no sentence begins so."""
    if not words or not grammar.begins(words):
        return USUAL_MS
    number = isinstance(grammar.meaning(words), Value) or "bolt" in words
    return _patience_ms(words, words, grammar, number=number, sure=False)


def _patience_ms(words: tuple[str, ...], as_said: Sequence[str], grammar: Grammar, *, number: bool, sure: bool) -> int:
    follows = grammar.patience(words) if words else "may"
    if follows == "over":
        return AT_ONCE_MS if sure else FINISHED_MS
    if follows == "must" or (words and words[-1] in HALF_SAID):
        return MORE_TO_COME_MS
    patience = NUMBER_MS[number_end(as_said)] if number else FINISHED_MS
    return patience if sure else max(patience, DOUBTFUL_MS)


def _as_said(words: Sequence[str], heard: Heard) -> Sequence[str]:
    """The wording in words: a listener that writes numerals does not tell how they were said, another one may."""
    if heard.agreed and any(word[:1].isdigit() for word in words):
        for text in heard.by_listener.values():
            said = typed_words(text) or ()
            if said and not any(word[:1].isdigit() for word in said):
                return said
    return words


def alternative(ranked: Ranked) -> Alternative:
    """A ranked meaning as the journal keeps it."""
    meaning, text, probability = ranked.meaning, ranked.text, min(1.0, max(0.0, ranked.probability))
    if isinstance(meaning, Value):
        return Alternative(
            kind="value",
            text=text,
            probability=probability,
            value=Decimal(meaning.number),
            unit=meaning.unit,
            bolt=meaning.bolt,
            corrected=meaning.corrected,
            by_figures=meaning.by_figures,
        )
    if isinstance(meaning, Command):
        return Alternative(kind="command", text=text, probability=probability, command=meaning.name, bolt=meaning.bolt)
    return Alternative(kind="note", text=meaning.text, probability=probability, command=meaning.opening)


def typed(text: str, grammar: Grammar) -> Heard:
    """A typed line as a verdict: sure when it is a sentence of the grammar, else nothing."""
    meaning = grammar.parse(text)
    ranked = () if meaning is None else (Ranked(meaning, text, 1.0),)
    return Heard(
        ranked=ranked,
        decision="accept" if ranked else "reject",
        fit=None,
        free_text=text,
        by_listener={"typed": text},
        agreed=True,
    )


def with_note_text(heard: Heard, text: str) -> Heard:
    """The verdict with the free speech of its note replaced by a full transcript."""
    if not heard.ranked or not isinstance(heard.ranked[0].meaning, Note):
        return replace(heard, free_text=text or heard.free_text)
    first = heard.ranked[0]
    opening = first.meaning.opening if isinstance(first.meaning, Note) else "note"
    kept = Ranked(Note(opening, text), text, first.probability)
    return replace(heard, ranked=(kept, *heard.ranked[1:]), free_text=text or heard.free_text)


__all__ = [
    "Candidate",
    "Combine",
    "Hearing",
    "Listened",
    "alternative",
    "first_patience_ms",
    "patience_ms",
    "typed",
    "with_note_text",
]
