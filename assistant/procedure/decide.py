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
    AnsweredBack,
    AskedBack,
    ChoiceOffered,
    CompetentPersonAsked,
    ConfirmationDoubted,
    EntryTakenBack,
    Event,
    FiguresAsked,
    HelperAsked,
    Item,
    ItemAnnounced,
    NameAsked,
    NoteAsked,
    NoteKept,
    NotUnderstood,
    OffTheRecord,
    OnTheRecord,
    Pass,
    Paused,
    Question,
    ReadingDoubted,
    ReadingImpossible,
    ReadingTakenBack,
    ReasonAsked,
    ReasonWanted,
    Resumed,
    SessionClosed,
    SessionLeft,
    StageFinished,
    Stopped,
    SupervisorAgreed,
    SupervisorAsked,
    Told,
    UtteranceHeard,
    WaitBegun,
    WaitGoesOn,
    WaitOver,
)
from assistant.events.stages import PHASES
from assistant.procedure import addressed, answers, commands
from assistant.procedure.answers import Answer
from assistant.procedure.commands import INFORMATION, LEAVE_OPEN
from assistant.procedure.evolve import REPAIRING, evolve, fold
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
    understood = heard.decision == "accept" and state.dialogue not in FREE
    if understood and addressed.only_explains(events) and not addressed.may_explain(state, heard):
        events = ()
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
    if name is not None and answers.is_trouble(state, name) and (heard.decision == "accept" or heard.agreed):
        return answers.trouble(state, name, heard.utterance)
    if heard.while_speaking and heard.decision == "reject":
        return ()  # nobody is asked again about what was not understood while the assistant spoke
    if best is not None and name in RECORDING and (heard.decision == "accept" or _both_heard(heard, best)):
        return (RECORDING[name](utterance=heard.utterance),)
    if best is not None and not _to_be_answered(state, heard, best):
        return unfitting(state, heard)
    if state.dialogue in ("paused", "stopped"):
        return _standing(state, heard, name)
    if state.dialogue in FREE:
        return commands.free_speech(state, heard)
    if state.dialogue == "waiting":
        return waiting(state, heard)
    if state.dialogue in ("asked-back", "supervisor"):
        return apprentice(state, heard)
    if best is None or heard.decision == "reject":
        return missed(state, heard, best)
    denied = best.value in state.denied or addressed.faint(state, heard)
    best = _in_asked_unit(state, _not_denied(state, heard, best))
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
    """Whether anything may come of it: not of what was hardly meant for us.

    'Stop' and calls for help are asked about wherever they come from; in free words nothing is too long.
    """
    if heard.decision == "reject" or state.dialogue in FREE:
        return True
    if best.command in ("stop", "pause", "hand over") or answers.is_trouble(state, best.command or ""):
        return True
    if state.current_pass is None and addressed.faint(state, heard) and not addressed.soon(state, heard):
        return False  # a question waits for an answer for minutes, and somebody else says yes or no meanwhile
    if heard.decision == "accept":
        return True
    return addressed.to_us(state, heard, best)


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


def _in_asked_unit(state: State, heard: Alternative) -> Alternative:
    """'Two eighty degrees' are degrees of the scale that was asked for; only 'Celsius' said makes them Celsius."""
    due = state.measurement
    if due is None or due.unit != "degF" or heard.unit != "degC":
        return heard
    if any(word in heard.text for word in ("celsius", "centigrade")):
        return heard
    return replace(heard, unit=due.unit)


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


# ----------------------------------------------------------------------------------------------- what is not understood
LISTEN_AGAIN = 0.3
"""A rejected utterance whose best meaning is at least this likely was probably meant for us: it counts as a miss."""
ASK_FIGURES, OFFER_CHOICE, ASK_HELPER = REPAIRING, 4, 5
"""Failures in a row after which the way of asking changes."""
ASK_HELPER_MOVED = 8
"""The same where no figures are asked for: whether a nut moved."""


def missed(state: State, heard: UtteranceHeard, best: Alternative | None) -> tuple[Event, ...]:
    """Noise and talk stay unanswered; what was probably meant for us counts, and from the second time is asked for.

    Args:
        state: before the utterance.
        heard: an utterance that was rejected, or in which nothing was found.
        best: its likeliest meaning, None where there is none.
    """
    if (
        best is None
        or heard.clipped
        or (_heard_by_one(heard) and not (addressed.soon(state, heard) and state.misses <= 1))
    ):
        return unfitting(state, heard)
    if not addressed.to_us(state, heard, best):
        return unfitting(state, heard)
    if state.dialogue == "asking" and best.command == "yes" and best.probability >= LISTEN_AGAIN:
        return (ConfirmationDoubted(heard=best, utterance=heard.utterance),)
    question = state.question
    meant_as_answer = question is not None and best.command in (question.phrase, *question.refused)
    alike = heard.agreed and len(heard.listeners) > 1  # two ears made the same of it: seldom noise
    if alike and state.misses > 0 and best.value is None and best.kind != "note":
        return commands.ask_first(state, Answer(heard=best, other=None, decision="ask", utterance=heard.utterance))
    if best.probability < LISTEN_AGAIN and not meant_as_answer and not alike:
        return unfitting(state, heard)
    aloud = state.misses > 0 or state.dialogue != "guiding" or alike
    return (NotUnderstood(utterance=heard.utterance, aloud=aloud),)


def is_typed(heard: UtteranceHeard) -> bool:
    """Whether it was typed: there is no noise to be silent about."""
    return "typed" in heard.listeners


def unfitting(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """The answer to clear speech that fits nothing: once for each thing that is due, so that talk costs one reply.

    What was typed is always answered. Speech is, when it is near, has words, begins soon behind a prompt, lasts no
    longer than an answer and is no running talk. Words that tell of trouble are asked about.
    """
    if is_typed(heard):
        return _trouble(state, heard) or (NotUnderstood(utterance=heard.utterance, aloud=True),)
    near = heard.snr_db is not None and addressed.near(state, heard)
    if not (near and addressed.soon(state, heard) and heard.free_text.strip() and state.misses == 0):
        return ()
    if told := _trouble(state, heard):
        return told
    if addressed.in_talk(state, heard) or not addressed.like_an_answer(heard):
        return ()
    return (NotUnderstood(utterance=heard.utterance, aloud=True),)


def _heard_by_one(heard: UtteranceHeard) -> bool:
    """Only one of several listeners found anything. In noise and talk that is the rule, so it is answered only soon
    behind a prompt and twice at most: each answer is a prompt of its own, behind which the next noise would be soon.
    """
    return len(heard.listeners) > 1 and sum(map(bool, heard.listeners.values())) == 1


_TELLING: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("somebody is hurt", ("hurt", "injured", "injury", "bleeding", "accident")),
    ("alarm", ("fire", "evacuate", "alarm", "siren")),
    ("bolt broke", ("broke", "snapped", "sheared", "broken")),
    ("wrench dropped", ("dropped",)),
    ("thread damaged", ("stripped", "galled", "seized")),
    ("nut turns free", ("spins", "spinning")),
    ("socket slipped", ("slipped", "slips")),
    ("there is a leak", ("leak", "leaks", "leaking")),
)


_DENYING = frozenset("no not isn't aren't wasn't don't doesn't can't cannot missing without never".split())
"""Words that make an answer to a check or hold point a no: 'it is not isolated', 'the permit is missing'."""


def _trouble(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """A question about trouble, or a no, of which a word was made out, where questions can be asked."""
    words = {word.strip(".,!?").casefold() for word in heard.free_text.split()}
    told = next((name for name, telling in _TELLING if words & set(telling)), None)
    if told is None and state.question is not None and state.dialogue == "guiding" and words & _DENYING:
        told = "no"
    if told is None or state.dialogue not in ANSWERING:
        return ()
    asked = Alternative(kind="command", text=told, command=told, probability=0.5)
    return (ReadingDoubted(bolt=None, heard=asked, other=None, utterance=heard.utterance),)


def escalate(after: State, events: tuple[Event, ...], heard: UtteranceHeard) -> tuple[Event, ...]:
    """After repeated failures the way of asking changes: figures, then two choices, then a helper.

    Args:
        after: the state after `events`.
        events: what the utterance led to so far.
        heard: the utterance.
    """
    if after.dialogue not in ANSWERING:
        return ()
    failed = any(isinstance(e, ReadingImpossible | NotUnderstood | ReadingTakenBack | ReadingDoubted) for e in events)
    if after.question is not None and failed:
        return _escalate_question(after, after.question, heard)
    if after.measurement is not None and failed:
        return _escalate_measurement(after, events, heard)
    if not failed or after.current_pass is None or after.current_pass.kind == "snug":
        return ()
    if after.current_pass.goes_round and not any(a.value is not None for a in heard.alternatives[:1]):
        enough = after.misses >= ASK_HELPER_MOVED and after.dialogue != "helper"
        return (HelperAsked(utterance=heard.utterance),) if enough else ()  # figures are no help for 'it moved'
    if after.misses >= ASK_HELPER and after.dialogue != "helper":
        return (HelperAsked(utterance=heard.utterance),)
    if after.misses == OFFER_CHOICE:
        readings = tuple(a for a in heard.alternatives if answers.possible(after, a))[:2]
        if len(readings) == 2:
            return (ChoiceOffered(choices=readings, utterance=heard.utterance),)
    if after.misses == ASK_FIGURES:
        return (FiguresAsked(utterance=heard.utterance),)
    return ()


def _escalate_measurement(after: State, events: tuple[Event, ...], heard: UtteranceHeard) -> tuple[Event, ...]:
    """A measured figure that is not understood: figure by figure, at once where it was misheard; then a helper.

    No window tells which of two figures is likely, so what was misheard once is misheard again.
    """
    if after.misses >= ASK_HELPER_MOVED and after.dialogue != "helper":
        return (HelperAsked(utterance=heard.utterance),)
    misheard = any(isinstance(event, ReadingTakenBack) for event in events)
    if (misheard or after.misses >= ASK_FIGURES) and after.dialogue == "guiding":
        return (FiguresAsked(utterance=heard.utterance),)
    return ()


def _escalate_question(after: State, question: Question, heard: UtteranceHeard) -> tuple[Event, ...]:
    """A phrase that is not understood: a check may be answered by yes to its own words, a hold point may not."""
    if after.misses >= ASK_HELPER_MOVED and after.dialogue != "helper":
        return (HelperAsked(utterance=heard.utterance),)
    if after.misses >= ASK_FIGURES and after.dialogue == "guiding" and not question.hold:
        asked = Alternative(kind="command", text=question.phrase, command=question.phrase, probability=0.5)
        return (ReadingDoubted(bolt=None, heard=asked, other=None, utterance=heard.utterance),)
    return ()


# -------------------------------------------------------------------------- while time passes, and beside an apprentice
def time_is_up(state: State, *, waited_s: int) -> tuple[Event, ...]:
    """The running wait is over: said at once, and what is due next is asked for.

    Args:
        state: its dialogue is "waiting".
        waited_s: seconds since the wait began.
    """
    over = WaitOver(entry=len(state.entries) + 1, stage=state.stage, waited_s=waited_s)
    return (over, *go_on(fold(state, (over,))))


ASKED = frozenset("asking figures choosing reasoning naming asked-back explaining supervisor".split())
"""States in which a question is open and nobody's hands are at work."""


def unanswered(state: State) -> tuple[Event, ...]:
    """The open question once more, where nobody answered it. Never while a bolt is pulled or a figure measured."""
    open_question = state.dialogue in ASKED or state.clock_asked
    open_question = open_question or (state.dialogue == "guiding" and state.question is not None)
    return (Told(what="say again", utterance=""),) if open_question else ()


def waiting(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """While time passes only a few things can be said; a correction takes back what the wait rests on."""
    best = heard.alternatives[0] if heard.alternatives else None
    name = (best.command or best.kind) if best is not None and heard.decision != "reject" else ""
    if name in INFORMATION:
        return (Told(what=name, utterance=heard.utterance),)
    if best is None or heard.decision != "accept":
        not_sure = name in ("skip", "note", "correction", LEAVE_OPEN) or (state.clock_asked and name in ("yes", "no"))
        return (Told(what="not-sure", utterance=heard.utterance),) if not_sure else unfitting(state, heard)
    if state.clock_asked and name == "yes" and state.wait is not None:
        counted = 0 if state.left_s is None else state.wait.seconds - state.left_s
        entry = len(state.entries) + 1
        return (WaitOver(entry=entry, stage=state.stage, waited_s=counted, utterance=heard.utterance),)
    if state.clock_asked and name == "no":
        return (WaitGoesOn(stage=state.stage),)
    last = state.last_entry
    if name == "correction" and last is not None:
        return (EntryTakenBack(taken_back=last.number, utterance=heard.utterance),)
    if name == LEAVE_OPEN:
        return (SessionLeft(reason="left open"),)
    if name == "skip":
        asks = SupervisorAsked if state.work.apprentice else ReasonAsked
        return (asks(purpose="cut-short", utterance=heard.utterance),)
    if best.kind == "note" or name == "note":
        text = best.text.strip()
        if not text or text == "note":
            return (NoteAsked(utterance=heard.utterance),)
        return (NoteKept(bolt=None, text=text, utterance=heard.utterance),)
    return (Told(what="not-now", utterance=heard.utterance),)


def apprentice(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """The answer to what was asked back, or the supervisor's phrase; an answer near to one of the choices counts."""
    best = heard.alternatives[0] if heard.alternatives else None
    if best is None or heard.decision == "reject":
        near = _near_choice(state, heard.free_text) if state.dialogue == "asked-back" else ""
        if near:
            return (_answered(state, near, heard.utterance),)
        return unfitting(state, heard)
    if best.command in INFORMATION:
        return (Told(what=best.command, utterance=heard.utterance),)
    if state.dialogue == "supervisor":
        return _supervisor(state, heard, best)
    answer = _answer(state, best) or _near_choice(state, heard.free_text)
    if not answer:
        return (Told(what="answer-first", utterance=heard.utterance),)
    told = _answered(state, answer, heard.utterance)
    if told.right and state.expects.isdecimal():
        return (told, ReasonWanted(stage=state.asks_of))
    return (told,)


def _answered(state: State, answer: str, utterance: str) -> AnsweredBack:
    return AnsweredBack(stage=state.asks_of, answer=answer, right=answer == state.expects, utterance=utterance)


_SMALL = frozenset("a an the it is that of to on at in and or one you i we do does be by".split())
"""Words that tell no answer from another."""


def _near_choice(state: State, said: str) -> str:
    """The one choice that shares a telling word with what was said ('trying', 'you try it' for 'try it'), else ''."""
    item = state.asked_item
    ask = item.lesson.ask_back if item is not None else None
    if ask is None or state.expects.isdecimal():
        return ""
    heard = _stems(said)
    shares = {choice: len(heard & _stems(choice)) for choice in (ask.answer, *ask.others)}
    best = max(shares.values())
    near = [choice for choice, count in shares.items() if count == best]
    return near[0] if best and len(near) == 1 else ""


def _stems(text: str) -> frozenset[str]:
    words = (word.strip(".,!?'") for word in text.casefold().split())
    return frozenset(_stem(word) for word in words if word and word not in _SMALL)


def _stem(word: str) -> str:
    """A word without its usual ending: 'tried', 'trying' and 'try' are one."""
    for ending, put in (("ied", "y"), ("ies", "y"), ("ing", ""), ("ed", ""), ("s", "")):
        if word.endswith(ending) and len(word) > len(ending) + 1:
            return word.removesuffix(ending) + put
    return word


def _answer(state: State, best: Alternative) -> str:
    """What was answered, in the form of what is expected; '' for anything else."""
    if state.expects.isdecimal():
        bolt = best.bolt if best.bolt is not None else best.value
        return "" if bolt is None or bolt != int(bolt) else str(int(bolt))
    item = state.asked_item
    ask = item.lesson.ask_back if item is not None else None
    return best.command if ask is not None and best.command in (ask.answer, *ask.others) and best.command else ""


def _supervisor(state: State, heard: UtteranceHeard, best: Alternative) -> tuple[Event, ...]:
    if best.command == state.work.supervisor and heard.decision == "accept":
        agreed = SupervisorAgreed(purpose=state.purpose, phrase=state.work.supervisor, utterance=heard.utterance)
        return (agreed,)
    if best.command in ("no", "go back", "correction", "resume"):
        return (ReadingTakenBack(utterance=heard.utterance),)
    return (Told(what="supervisor-phrase", utterance=heard.utterance),)


# ----------------------------------------------------------------------------------------------- what follows an answer
def go_on(state: State, *, utterance: str = "") -> tuple[Event, ...]:
    """Finish every stage that has nothing open, then ask for what is due; nothing when all is done or at rest.

    A pass that goes round and in which a nut moved starts another round; after the last round that the plan allows, a
    competent person is asked for and guiding stops. When it is resumed, that person's name is kept and there is one
    round more.
    """
    events: list[Event] = []
    while state.dialogue == "guiding" and state.item is not None and not _open(state) and not _held_up(state):
        item = state.current_pass
        again = item is not None and item.goes_round and state.moved_in_round
        finished = StageFinished(stage=state.stage, round=state.round, again=again)
        sought = state.cause_sought == (state.stage, state.round)
        if again and item is not None and state.round >= item.last_round and not sought:
            asked = CompetentPersonAsked(stage=state.stage, round=state.round)
            events += [finished, asked]
            state = evolve(evolve(state, finished), asked)
            break
        events.append(finished)
        state = evolve(state, finished)
    if state.dialogue == "guiding" and (state.item is not None or _held_up(state)):
        events.append(_due(state, utterance))
    return tuple(events)


def _held_up(state: State) -> bool:
    """Whether a name, or what was done about some trouble, comes before the work."""
    return bool(state.name_wanted) or state.trouble is not None


def _due(state: State, utterance: str) -> Event:
    """The event that asks for what is due: a name, an apprentice's answer, time, or the item itself."""
    if state.name_wanted:
        return NameAsked(stage=state.stage, purpose=state.name_wanted[0], role="", utterance=utterance)
    if state.trouble is not None:
        return ReasonAsked(purpose="changed", utterance=utterance)
    if state.name_due:
        role = state.question.role if state.question is not None else ""
        return NameAsked(stage=state.stage, purpose=state.name_due, role=role, utterance=utterance)
    asked = _ask_back(state)
    if asked is not None:
        return asked
    if state.wait is not None:
        if state.stage in state.waits:
            return WaitGoesOn(stage=state.stage)
        return WaitBegun(stage=state.stage, name=state.wait.name, seconds=state.wait.seconds)
    return announcement(state)


def announcement(state: State) -> ItemAnnounced:
    """The event that asks for the item that is due."""
    first = state.current_pass is not None and state.announced != (state.stage, state.round)
    return ItemAnnounced(stage=state.stage, round=state.round, bolt=state.bolt, first_of_pass=first)


def _ask_back(state: State) -> AskedBack | None:
    """What an apprentice is asked before this stage, once: its own question, or which bolt comes second and why.

    One that was answered wrongly comes back once, before a stage of a later phase that has no question of its own.
    """
    if not state.work.apprentice or state.stage in state.asked_back:
        return None
    item = state.item
    if item is not None and item.lesson.ask_back is not None and None not in state.done(state.stage, 1):
        return _question_of(state.stage, item)
    if isinstance(item, Pass) and item.kind == "pattern" and item.tools == 1 and _first_pattern(state, item):
        return _question_of(state.stage, item)
    if item is None or state.announced[0] == state.stage or state.entry_of(None) is not None:
        return None
    for stage in state.comes_back:
        if PHASES.index(state.stages[stage - 1].phase) < PHASES.index(item.phase):
            return _question_of(stage, state.stages[stage - 1])
    return None


def _question_of(stage: int, item: Item) -> AskedBack:
    if item.lesson.ask_back is not None:
        return AskedBack(stage=stage, about="phrase", expects=item.lesson.ask_back.answer)
    assert isinstance(item, Pass)
    return AskedBack(stage=stage, about="next-bolt", expects=str(item.bolts[1]))


def _first_pattern(state: State, item: Pass) -> bool:
    """The first pattern pass of its group, before its first bolt."""
    own = [p for p in state.work.passes if p.group == item.group and p.kind == "pattern"]
    return own[0] == item and len(item.bolts) > 2 and state.open_bolts == item.bolts


def _open(state: State) -> bool:
    if state.current_pass is not None:
        return bool(state.open_bolts)
    return None not in state.done(state.stage, 1)
