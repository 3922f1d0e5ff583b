"""What an utterance leads to. `decide(state, heard) -> events`: knows every rule, changes nothing, may refuse.

Order of precedence: stop and pause (also when only middling sure, if the listeners agree: standing still harms nobody;
where they do not agree it is asked, and nothing advances meanwhile); free speech where a
note or a reason is awaited; commands; then the answer to what is due, which depends on the state of the dialogue.
An empty tuple means: stay silent, the utterance is in the journal all the same.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.events import (
    Alternative,
    ConfirmationDoubted,
    Event,
    NoteKept,
    OffTheRecord,
    OnTheRecord,
    Paused,
    ReadingTakenBack,
    Resumed,
    SessionClosed,
    SessionLeft,
    Stopped,
    Told,
    UtteranceHeard,
)
from assistant.procedure import answers, beside, commands, findings, free_words
from assistant.procedure.addressed import in_talk, to_us
from assistant.procedure.announce import go_on
from assistant.procedure.answers import Answer
from assistant.procedure.evolve import fold
from assistant.procedure.free_words import INFORMATION
from assistant.procedure.missed import escalate, is_typed, missed, unfitting
from assistant.procedure.state import State
from assistant.procedure.table import ANSWERING, MEANS

CONFIRMED = 0.98
"""Probability from which a value and the yes to it, neither of them sure alone, are believed together."""
BOTH_HEARD = 0.85
"""Probability from which a report whose mistake costs little, or 'resume', is taken if both listeners made it out."""


RECORDING: dict[str, type[OffTheRecord] | type[OnTheRecord]] = {
    "off the record": OffTheRecord,
    "on the record": OnTheRecord,
}
"""Commands about the sound that is kept; understood in every state."""
RESUME_FIRST = frozenset({"note", "go back", "correction", "skip", "next"})
"""Commands that would change the work: answered while nothing is guided, but not obeyed."""


FREE = frozenset({"noting", "reasoning", "naming", "explaining"})
"""States in which free words are awaited."""
WORTH_ASKING = 0.02
"""A value less likely than this is not offered in place of one that was denied (our own choice)."""


def begin(event: Event, state: State) -> tuple[Event, ...]:
    """What follows the opening or resuming event: the first announcement. `state` is the state after `event`."""
    return go_on(state) if MEANS[type(event)].moves_on else ()


def decide(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """Events that this utterance leads to, in order; every one has its row in the table.

    Args:
        state: before the utterance (whose own event changes no state).
        heard: the utterance as recorded, alternatives best first.
    """
    events = _decide(state, heard)
    after = fold(state, events)
    if any(MEANS[type(e)].moves_on for e in events):
        events = (*events, *go_on(after, utterance=heard.utterance))
        after = fold(state, events)
    if after.finished and after.dialogue == "guiding":
        return (*events, SessionClosed(utterance=heard.utterance))
    return (*events, *escalate(after, events, heard))


def _decide(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    if state.dialogue in ("opening", "closed"):
        return ()
    best = heard.alternatives[0] if heard.alternatives else None
    name = best.command if best is not None and heard.decision != "reject" else None
    sure_enough = heard.decision == "accept" or heard.agreed or state.dialogue not in ANSWERING
    if name in ("stop", "pause", "hand over") and state.dialogue not in ("paused", "stopped") and sure_enough:
        return _stand_still(name, heard)
    if name is not None and findings.is_trouble(state, name) and (heard.decision == "accept" or heard.agreed):
        return findings.trouble(state, name, heard.utterance)
    if heard.while_speaking and heard.decision == "reject":
        return ()  # nobody is asked again about what was not understood while the assistant spoke
    if best is not None and name in RECORDING and (heard.decision == "accept" or _both_heard(heard, best)):
        return (RECORDING[name](utterance=heard.utterance),)
    if best is not None and not _to_be_answered(state, heard, best):
        return unfitting(state, heard)
    if state.dialogue in ("paused", "stopped"):
        return _standing(state, heard, name)
    if state.dialogue in FREE:
        return free_words.free_speech(state, heard)
    if state.dialogue == "waiting":
        return beside.waiting(state, heard)
    if state.dialogue in ("asked-back", "supervisor"):
        return beside.apprentice(state, heard)
    if best is None or heard.decision == "reject":
        return missed(state, heard, best)
    denied = best.value in state.denied
    best = answers.in_asked_unit(state, _not_denied(state, heard, best))
    answer = Answer(
        heard=best,
        other=next((each for each in heard.alternatives if each is not best), None),
        decision=_decision(state, best, heard, denied=denied),
        utterance=heard.utterance,
        alternatives=heard.alternatives if heard.accept_at < 1 and not denied else (),
    )
    if state.dialogue == "asking" and (events := _confirm(state, answer, heard)) is not None:
        return events
    if state.dialogue == "choosing" and (events := _choose(state, answer)) is not None:
        return events
    return _apply(state, answer)


def _to_be_answered(state: State, heard: UtteranceHeard, best: Alternative) -> bool:
    """Whether anything may be said about it: not about what was hardly meant for us, nor to a question in running talk.

    'Stop' and calls for help are asked about wherever they come from; in free words nothing is too long.
    """
    if heard.decision == "reject" or state.dialogue in FREE:
        return True
    if best.command in ("stop", "pause", "hand over") or findings.is_trouble(state, best.command or ""):
        return True
    if heard.decision == "accept":
        return heard.typed or best.command not in INFORMATION or not in_talk(state, heard)
    return to_us(state, heard, best)


def _not_denied(state: State, heard: UtteranceHeard, best: Alternative) -> Alternative:
    """Where the best value was denied for this item, the next one that was heard and not denied: asked, never taken.

    What was hardly heard at all is not asked about: then the denied value is, once more.
    """
    if best.value not in state.denied:
        return best
    others = [
        a
        for a in heard.alternatives
        if a.value is not None and a.value not in state.denied and a.probability >= WORTH_ASKING
    ]
    return next((a for a in others if answers.possible(state, a)), others[0] if others else best)


def _decision(state: State, best: Alternative, heard: UtteranceHeard, *, denied: bool) -> str:
    """The decision by the thresholds, stricter or easier by what a mistake would cost."""
    if denied or _one_heard_movement(best, heard) or answers.may_be_no(heard):
        return "ask"
    if heard.decision == "ask" and _both_heard(heard, best) and _harmless_report(state, best):
        return "accept"
    return heard.decision


def _both_heard(heard: UtteranceHeard, best: Alternative) -> bool:
    return heard.agreed and len(heard.listeners) > 1 and best.probability >= BOTH_HEARD


def _harmless_report(state: State, best: Alternative) -> bool:
    """'Snug' while snugging, which later passes go over again, and 'it moved', which only adds a round."""
    due = state.current_pass
    if due is None or state.dialogue != "guiding" or best.bolt not in (None, state.bolt):
        return False
    if due.kind == "snug":
        return best.command in ("snug", "done")
    return due.goes_round and best.command == "moved"


def _one_heard_movement(best: Alternative, heard: UtteranceHeard) -> bool:
    """'Did not move' on which the listeners differ: taken for held, a nut that moved would end the rounds too soon."""
    return best.command == "did not move" and not heard.agreed and len(heard.listeners) > 1


def _apply(state: State, answer: Answer) -> tuple[Event, ...]:
    """A value, a report, a phrase or a command."""
    if answer.heard.command in ("stop", "pause", "hand over"):
        return commands.ask_first(state, answer)
    if answer.heard.value is not None:
        return answers.reading(state, answer)
    return commands.command(state, answer)


def _confirm(state: State, answer: Answer, heard: UtteranceHeard) -> tuple[Event, ...] | None:
    """The answer to a read-back: yes, no, the same again, or None for anything else."""
    pending, name = state.pending, answer.heard.command
    if pending is None:
        return None
    settled = replace(state, pending=None)
    hold = state.question is not None and state.question.hold
    if name == "yes" and hold and state.question is not None and pending.heard.command == state.question.phrase:
        return _apply(settled, answer)  # yes alone passes no hold point
    if name == "yes":
        said_twice = state.half is not None or pending.heard.command == "yes"
        if answers.may_be_no(heard) and not said_twice:
            return (ConfirmationDoubted(heard=answer.heard, utterance=heard.utterance),)
        if not _sure_yes(state, answer, pending.heard.probability):
            return (ConfirmationDoubted(heard=answer.heard, utterance=heard.utterance),)
        sure = Answer(
            heard=pending.heard,
            other=None,
            decision="accept",
            utterance=pending.utterance,
            confirmed_by=heard.utterance,
        )
        if pending.heard.command in ("stop", "pause", "hand over"):
            return _stand_still(pending.heard.command, heard)
        return _apply(settled, sure)
    if name in ("no", "correction") and pending.heard.command != name:
        return (ReadingTakenBack(utterance=heard.utterance),)
    if name in ("stop", "pause") and pending.heard.command == name:
        return _stand_still(name, heard)
    if answers.same_reading(pending.heard, answer.heard):
        together = answers.confirmed_probability(pending.heard.probability, answer.heard.probability)
        sure_now = answer.decision == "accept" or together >= heard.accept_at
        # two hearings count together, never more: the same noise misleads the same way each time
        likely = together if sure_now else answer.heard.probability
        fresh = replace(answers.with_unit(pending.heard, answer.heard), probability=likely)
        repeated = replace(answer, heard=fresh, decision="accept" if sure_now else "ask", confirmed_by=heard.utterance)
        return _apply(settled, repeated)
    if answer.heard.value is not None and pending.heard.value is not None:
        # a fresh value: what was asked about no longer stands, the new one is judged for the same bolt
        fresh = replace(answer.heard, corrected=pending.heard.corrected)
        return _apply(settled if fresh.corrected else state, replace(answer, heard=fresh))
    return None


def _choose(state: State, answer: Answer) -> tuple[Event, ...] | None:
    """The answer to two numbered choices; None for anything else. A choice that is not sure is no choice."""
    heard = answer.heard
    if heard.command == "no":
        return (ReadingTakenBack(utterance=answer.utterance),)
    if heard.value not in (1, 2) or heard.unit is not None:
        return None
    chosen = replace(state.choices[int(heard.value) - 1], corrected=False)
    if not _sure_yes(state, answer, chosen.probability):
        return (ConfirmationDoubted(heard=heard, utterance=answer.utterance),)
    sure = replace(answer, heard=chosen, decision="accept", utterance=state.choices_from, confirmed_by=answer.utterance)
    return _apply(replace(state, choices=()), sure)


def _sure_yes(state: State, answer: Answer, about: float) -> bool:
    """Whether a yes (or a choice) may count: sure by itself, or together with what it confirms, or said twice.

    Args:
        about: probability of what it confirms. Saying yes to something that was not said is as unlikely as hearing
            both wrongly, in two utterances.
    """
    if answer.decision == "accept":
        return True
    likely = answers.confirmed_probability(answer.heard.probability, about)
    if state.half is not None and answers.same_reading(state.half, answer.heard):
        likely = answers.confirmed_probability(likely, state.half.probability)
    return likely >= CONFIRMED


def _stand_still(name: str, heard: UtteranceHeard) -> tuple[Event, ...]:
    if name == "stop":
        return (Stopped(utterance=heard.utterance),)
    return (Paused(reason="hand-over" if name == "hand over" else "asked", utterance=heard.utterance),)


def _standing(state: State, heard: UtteranceHeard, name: str | None) -> tuple[Event, ...]:
    """Paused or stopped: resume goes on, stop stops a pause; a few questions are answered, a note is kept.

    To what would change the work resume is asked for first; all else is talk to others and ignored.
    """
    if name == "resume":
        if heard.decision == "accept" or _both_heard(heard, heard.alternatives[0]):
            return (Resumed(utterance=heard.utterance),)
        return (Told(what="say-resume", utterance=heard.utterance),)
    if name == "stop" and state.dialogue == "paused":
        return (Stopped(utterance=heard.utterance),)
    if name in ("status", "help", "say again"):
        return (Told(what=name, utterance=heard.utterance),)
    if name is None and is_typed(heard):
        return (Told(what="say-resume", utterance=heard.utterance),)
    if heard.decision != "accept":
        return ()
    if name == commands.LEAVE_OPEN:
        return (SessionLeft(reason="left open"),)
    text = heard.alternatives[0].text.strip()
    if name == "note" and text not in ("", "note"):
        return (NoteKept(bolt=state.bolt, text=text, utterance=heard.utterance),)
    return (Told(what="say-resume", utterance=heard.utterance),) if name in RESUME_FIRST else ()
