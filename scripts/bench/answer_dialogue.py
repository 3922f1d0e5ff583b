"""Strangers' *no* and *yes* through the dialogue: what a question of the assistant's becomes by them.

Each answer is given to the core where the assistant has just asked: for a value, for the phrase of a check, for a name.
Where the assistant asks again, the same person says the same word again over another noise, up to `MOST` times.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.events import Event
from assistant.procedure.decide import decide
from assistant.procedure.effects import expecting
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.session.hearing import Hearing
from assistant.session.uttered import FORESEEN, uttered
from assistant.speech.utterance import Utterance
from assistant.speech.vocabulary import grammar_for
from scripts.bench.answer_sounds import MARGIN, QUIET, Presented, best
from tests.procedure.talk import Talk, command, value

MOST = 4
"""Times that one person says the word until the question counts as left open."""
LIKELY = 0.7
"""Probability of what the assistant asks about: middling, as where it has to ask."""
QUIET_DB = 40.0
ASKED_AGAIN = {
    "utterance-heard",
    "confirmation-doubted",
    "not-understood",
    "reading-doubted",
    "told",
    "helper-asked",
    "figures-asked",
}
"""Kinds of events after which the question is still open."""


def questions() -> dict[str, State]:
    """Questions that a yes or a no answers, as states of the dialogue."""
    at_value = Talk.at_pass(2)
    at_value.hear(value("180", LIKELY), decision="ask")
    at_check = Talk.begun()
    at_check.hear(command("locked out and tried"))
    at_check.hear(command("anti seize", LIKELY), decision="ask")
    at_name = Talk.at_pass(1)
    at_name.hear(command("hand over"))
    at_name.hear(command("resume"))
    at_name.hear(decision="reject", free_text="robin marsh")
    return {"value": at_value.state, "check": at_check.state, "name": at_name.state}


@dataclass(frozen=True)
class Settled:
    """What became of one question.

    Args:
        outcome: "taken" (a yes), "denied" (a no), "other" (another command was obeyed), or "open".
        times: how often the word was said.
        heard: decision and best meaning, each time.
    """

    outcome: str
    times: int
    heard: tuple[str, ...]


def settled(asked: State, shown: Sequence[Presented], hearing: Hearing) -> Settled:
    """Answer a question with one person's word, again as long as it is asked again."""
    state, told = asked, list[str]()
    for said in shown[:MOST]:
        heard = hearing.listen(said.samples, grammar_for(expecting(state))).heard
        if faults := hearing.faults():
            raise SystemExit(
                f"{faults[0].listener} was given up ({faults[0].reason}): these figures would be worth nothing"
            )
        told.append(f"{heard.decision} {best(heard)}")
        utterance = Utterance(
            samples=said.samples,
            at_sample=0,
            speech_start=MARGIN,
            speech_end=len(said.samples) - MARGIN,
            snr_db=QUIET_DB if said.snr == QUIET else float(said.snr),
            level_dbfs=-20.0,
            clipped=0.0,
            cut=False,
            continued=False,
            holed=False,
            from_gate=False,
        )
        event = uttered(utterance, heard, FORESEEN, base=0, state=state.dialogue, while_speaking=False)
        events = (event, *decide(state, event))
        outcome = _outcome(events)
        if outcome:
            return Settled(outcome, len(told), tuple(told))
        state = fold(state, events)
    return Settled("open", len(told), tuple(told))


def _outcome(events: Sequence[Event]) -> str:
    kinds = {event.kind for event in events}
    if kinds & {"reading-accepted", "question-answered", "name-kept"}:
        return "taken"
    if kinds & {"reading-taken-back", "name-asked"}:
        return "denied"
    return "" if kinds <= ASKED_AGAIN else "other"


def rows(found: dict[str, list[Settled]]) -> Iterator[str]:
    """A line for each word, question and SNR."""
    yield f"{'word / question / dB':28} {'n':>5} {'taken':>6} {'denied':>6} {'other':>6} {'open':>6}  said times"
    for name, own in found.items():
        counts = Counter(each.outcome for each in own)
        times = Counter(each.times for each in own if each.outcome in ("taken", "denied"))
        shown = " ".join(f"{counts[what]:6}" for what in ("taken", "denied", "other", "open"))
        yield f"{name:28} {len(own):5} {shown}  {dict(sorted(times.items()))}"
