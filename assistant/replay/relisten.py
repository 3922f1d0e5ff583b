"""Today's listeners over the stored audio: where they hear something else than what was recorded.

Each utterance is heard within the grammar of the state in which it was said, rebuilt from the journal before it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Literal

from assistant.errors import BadAudio, BadSession
from assistant.events import Alternative, Event, UtteranceHeard
from assistant.journal.audio import NAME, Samples, decode_flac
from assistant.journal.disk import read_regular
from assistant.journal.reading import Entry
from assistant.journal.sessions import AUDIO_NAME
from assistant.procedure.acceptance import in_context
from assistant.procedure.effects import expecting
from assistant.procedure.evolve import evolve
from assistant.procedure.state import Recording, State
from assistant.replay.titles import plain
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Heard, Ranked
from assistant.speech.meaning import Command, Value
from assistant.speech.vocabulary import Expecting, grammar_for

Listen = Callable[[Samples, Grammar], Heard]
Verdict = Literal[
    "same",
    "another meaning",
    "nothing now",
    "something now",
    "surer now",
    "less sure now",
    "no sound",
    "not kept",
    "typed",
]
_SURE = {"reject": 0, "ask": 1, "accept": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """One utterance, as it was recorded and as it is heard today.

    Args:
        line: of journal.jsonl.
        recorded, now: the best meaning in words; "" for none.
        decision, decision_now: accept, ask or reject, with the window that was due; now "" where there is no sound.
        probability, probability_now: of the best meaning; None for none.
        entries: numbers of the recorded entries that rest on it.
        verdict: how the two stand to each other.
        why: what is wrong with the sound; "" for nothing, also where it was typed or not kept.
    """

    line: int
    utc: datetime
    utterance: str
    state: str
    recorded: str
    decision: str
    probability: float | None
    now: str
    decision_now: str
    probability_now: float | None
    entries: tuple[int, ...]
    verdict: Verdict
    why: str = ""

    @property
    def grave(self) -> bool:
        """An entry rests on it, and today it is surely heard as something else."""
        return bool(self.entries) and self.verdict == "another meaning" and self.decision_now == "accept"


def relisten(folder: Path, entries: Sequence[Entry], listen: Listen) -> Iterator[Again]:
    """Every utterance of a session, in order. Typed ones have no sound.

    Args:
        folder: the session folder.
        entries: of its journal.
        listen: reads one utterance within a grammar.
    """
    resting = _resting(entries)
    grammars: dict[Expecting, Grammar] = {}
    state = State()
    for entry in entries:
        event = entry.event
        if isinstance(event, UtteranceHeard):
            wanted = expecting(state)
            grammar = grammars.setdefault(wanted, grammars.get(wanted) or grammar_for(wanted))
            yield _again(folder, entry, event, state, grammar, listen, tuple(resting.get(event.utterance, ())))
        state = _after(state, event)


def _after(state: State, event: Event) -> State:
    try:
        return evolve(state, event)
    except Exception:  # an event of a foreign record that does not fit what came before it changes nothing
        return state


def _resting(entries: Sequence[Entry]) -> dict[str, list[int]]:
    """Utterance -> numbers of the entries that were recorded from it."""
    found: dict[str, list[int]] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, Recording):
            found.setdefault(event.utterance, []).append(event.entry)
    return found


def _again(
    folder: Path,
    entry: Entry,
    event: UtteranceHeard,
    state: State,
    grammar: Grammar,
    listen: Listen,
    resting: tuple[int, ...],
) -> Again:
    best = event.alternatives[0] if event.alternatives else None
    sound, why = _sound(folder, event)
    now = listen(sound, grammar) if sound is not None else None
    ranked = now.ranked[0] if now is not None and now.ranked else None
    before = in_state(state, event.alternatives, event.decision, event.accept_at)
    after = ""
    if now is not None:
        after = in_state(state, tuple(map(_alternative, now.ranked)), now.decision, now.accept_at)
    return Again(
        line=entry.seq,
        utc=entry.utc,
        utterance=event.utterance,
        state=event.state,
        recorded=_said(best) if best is not None else "",
        decision=before,
        probability=best.probability if best is not None else None,
        now=_words(ranked) if ranked is not None else "",
        decision_now=after,
        probability_now=ranked.probability if ranked is not None else None,
        entries=resting,
        verdict=_verdict(before, best, after, ranked)
        if now is not None
        else "no sound"
        if why
        else "typed"
        if event.typed
        else "not kept",
        why=why,
    )


def _sound(folder: Path, event: UtteranceHeard) -> tuple[Samples | None, str]:
    if event.audio_sha256 is None:
        return None, ""
    if not NAME.fullmatch(event.utterance):
        return None, "its recording has no name that the assistant gives"
    name = f"{AUDIO_NAME}/{event.utterance}.flac"
    try:
        raw = read_regular(folder / name)
    except BadSession:
        return None, f"{name} is missing"
    if hashlib.sha256(raw).hexdigest() != event.audio_sha256:
        return None, f"{name} is not the recording that was kept"
    try:
        return decode_flac(raw, name=name), ""
    except BadAudio:
        return None, f"{name} cannot be decoded"


def in_state(state: State, alternatives: Sequence[Alternative], decision: str, accept_at: float) -> str:
    """The decision with the window that was due (`procedure.acceptance`): a doubtful reading may have been taken."""
    best = alternatives[0] if alternatives else None
    if best is None or decision != "ask" or accept_at >= 1 or best.value is None or state.measurement is not None:
        return decision
    if best.corrected or best.value in state.denied:
        return decision
    taken = in_context(alternatives, due=state.current_pass, bolt=state.bolt, named=best.bolt).taken
    return "accept" if taken else decision


def _alternative(ranked: Ranked) -> Alternative:
    """What matters of a meaning to the window."""
    meaning, p = ranked.meaning, min(1.0, max(0.0, ranked.probability))
    if not isinstance(meaning, Value):
        return Alternative(kind="command", text=ranked.text, probability=p)
    return Alternative(
        kind="value",
        text=ranked.text,
        probability=p,
        value=meaning.number,
        unit=meaning.unit,
        bolt=meaning.bolt,
        corrected=meaning.corrected,
    )


def _verdict(before: str, best: Alternative | None, after: str, ranked: Ranked | None) -> Verdict:
    heard, heard_now = best is not None and before != "reject", ranked is not None and after != "reject"
    if not heard and not heard_now:
        return "same"
    if heard and not heard_now:
        return "nothing now"
    if not heard or best is None or ranked is None:
        return "something now"
    if not _same(best, ranked):
        return "another meaning"
    step = _SURE.get(after, 0) - _SURE.get(before, 0)
    return "same" if step == 0 else "surer now" if step > 0 else "less sure now"


def _same(best: Alternative, ranked: Ranked) -> bool:
    meaning = ranked.meaning
    if isinstance(meaning, Value):
        told = (best.value, best.unit, best.bolt, best.corrected)
        return told == (meaning.number, meaning.unit, meaning.bolt, meaning.corrected)
    if isinstance(meaning, Command):
        return (best.kind, best.command, best.bolt) == ("command", meaning.name, meaning.bolt)
    return best.kind == "note"  # free speech is never compared word by word


def _said(best: Alternative) -> str:
    if best.value is not None:
        return _value(best.value, best.unit, best.bolt, corrected=best.corrected)
    return (best.command or best.text) + (f", bolt {best.bolt}" if best.bolt is not None else "")


def _words(ranked: Ranked) -> str:
    meaning = ranked.meaning
    if isinstance(meaning, Value):
        return _value(meaning.number, meaning.unit, meaning.bolt, corrected=meaning.corrected)
    if isinstance(meaning, Command):
        return meaning.name + (f", bolt {meaning.bolt}" if meaning.bolt is not None else "")
    return ranked.text


def _value(number: Decimal, unit: str | None, bolt: int | None, *, corrected: bool) -> str:
    opening = ("correction " if corrected else "") + (f"bolt {bolt}, " if bolt is not None else "")
    return f"{opening}{plain(number)} {unit or ''}".strip()
