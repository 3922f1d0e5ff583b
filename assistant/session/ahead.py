"""One utterance from its first sound to its verdict: followed while it is spoken, read ahead at its pauses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from assistant.session.hearing import (
    FINISHED_MS,
    HALF_HEARD_MS,
    MORE_TO_COME_MS,
    Hearing,
    Listened,
    first_patience_ms,
    patience_ms,
)
from assistant.speech.endpoint import Endpointer
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard
from assistant.speech.meaning import Value
from assistant.speech.utterance import Utterance

Outcome = Literal["taken", "refused", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What was made of an utterance, and when.

    Args:
        speech_end: number of the sample after its last one with speech.
        listened: by all listeners.
        begun_at: number of the sample at which they began, at its last pause or at its end.
    """

    speech_end: int
    listened: Listened
    begun_at: int


class ReadAhead:
    """Lets a listener follow what an endpointer finds, and sets how long the endpointer waits for more.

    At a pause the partial words of the listener that follows give a first patience at once; then all listeners hear the
    utterance so far, and their verdict gives the patience that counts. Where they understood nothing, the first one
    stays, but never a short one. Of the partial words nothing else ever comes.

    Args:
        hearing: the listeners.
        endpointer: finds the utterances; its patience is set.
        grammar: what can be said now.
        may_go_on: whether what was heard so far is part of a longer number, by the window that is due.
        comes_of: what would come of it if nothing followed: "taken" at once though the listeners are not sure,
            "refused" with a word about why, or "" for anything else.
    """

    def __init__(
        self,
        hearing: Hearing,
        endpointer: Endpointer,
        grammar: Callable[[], Grammar],
        may_go_on: Callable[[Heard], bool] = lambda _heard: False,
        comes_of: Callable[[Utterance, Heard], Outcome] = lambda _utterance, _heard: "",
    ) -> None:
        self.latest: Verdict | None = None  # of the utterance that ended last
        self._ahead: Verdict | None = None
        self._hearing, self._endpointer, self._grammar = hearing, endpointer, grammar
        self._may_go_on, self._comes_of = may_go_on, comes_of
        self._usual_ms = endpointer.patience_ms
        self._taken: int | None = None  # samples of the utterance that were followed; None before its first
        self._paused = False

    def follow(self) -> None:
        """Give the listener that follows what was said since; to be called after each piece of sound."""
        if self._paused or not self._endpointer.in_speech:
            return
        if self._taken is None:
            self._hearing.follow(self._grammar())
            self._taken = 0
        new = self._endpointer.under_way(self._taken)
        if len(new):
            self._hearing.take(new)
            self._taken += len(new)

    def paused(self, utterance: Utterance, *, now: int) -> Listened:
        """The speaker paused at sample `now`: read ahead, and set the patience."""
        self.follow()
        self._paused = True
        grammar = self._grammar()
        words = self._hearing.words_so_far()
        first_ms = None if words is None else first_patience_ms(words, grammar)
        if first_ms is not None:
            self._endpointer.patience_ms = first_ms
        listened = self._hearing.listen(utterance.samples, grammar)
        outcome = self._comes_of(utterance, listened.heard)
        if listened.heard.decision == "ask" and outcome == "taken":
            listened = replace(listened, patience_ms=patience_ms(replace(listened.heard, decision="accept"), grammar))
        wait_ms = _refined_ms(first_ms, listened)
        goes_on = listened.heard.decision != "reject" and self._may_go_on(listened.heard)
        if outcome == "taken" and _is_value(listened.heard) and wait_ms < MORE_TO_COME_MS:
            wait_ms = min(wait_ms, FINISHED_MS)  # by the window it is whole, however it was said
        if goes_on or outcome == "refused":  # talk among others goes on where somebody who speaks to us is silent
            wait_ms = max(wait_ms, MORE_TO_COME_MS)
        self._endpointer.patience_ms = wait_ms
        self._ahead = Verdict(speech_end=utterance.speech_end, listened=listened, begun_at=now)
        return listened

    def resumed(self) -> None:
        """The speaker went on: what was read ahead is void, and the utterance is followed again from its beginning."""
        self.drop()

    def drop(self) -> None:
        """The utterance is not to be heard any more."""
        self._ahead, self._taken, self._paused = None, None, False

    def ended(self, utterance: Utterance, *, now: int) -> Verdict:
        """The utterance is over at sample `now`: its verdict, read ahead where nothing was said since."""
        ahead = self._ahead
        self.drop()
        self._endpointer.patience_ms = self._usual_ms
        if ahead is None or ahead.speech_end != utterance.speech_end:
            listened = self._hearing.listen(utterance.samples, self._grammar())
            ahead = Verdict(speech_end=utterance.speech_end, listened=listened, begun_at=now)
        self.latest = ahead
        return ahead


def _is_value(heard: Heard) -> bool:
    return bool(heard.ranked) and isinstance(heard.ranked[0].meaning, Value)


def _refined_ms(first_ms: int | None, listened: Listened) -> int:
    """The verdict's patience; where it understood nothing that of the partial words, but not as short."""
    understood = listened.heard.ranked and listened.heard.decision != "reject"
    return listened.patience_ms if understood or first_ms is None else max(first_ms, HALF_HEARD_MS)
