"""What is said in free words, and commands: what each leads to. Pure: state and answer in, events out.

Reasons are reasons: what reads as a number, a command or a phrase is asked about and never kept as a reason, and one
word is asked for more. A name is read back and kept when somebody says yes; names that are known beforehand are
recognised, others may be spelled.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from assistant.events import (
    Alternative,
    BoltSkipped,
    BoltTakenUp,
    ChangeTold,
    ConfirmationDoubted,
    EntryTakenBack,
    Event,
    FiguresAsked,
    FindingDescribed,
    Measured,
    NameAsked,
    NameKept,
    NameReadBack,
    NameTakenBack,
    NoteAsked,
    NoteKept,
    NotUnderstood,
    OtherBoltNamed,
    QuestionRefused,
    ReadingDoubted,
    ReadingKept,
    ReadingTakenBack,
    ReasonAsked,
    ReasonDoubted,
    ReasonGiven,
    RetightenAgreed,
    SessionLeft,
    SpeechAdjusted,
    SteppedBack,
    SteppedOn,
    StopReleased,
    SupervisorAsked,
    Told,
    UtteranceHeard,
    WaitCutShort,
)
from assistant.procedure import answers
from assistant.procedure.answers import Answer
from assistant.procedure.evolve import fold
from assistant.procedure.state import LEVELS, State
from assistant.speech.meaning import Command, Value
from assistant.speech.spelling import spelled_name
from assistant.speech.typed import typed_words
from assistant.speech.vocabulary import everything, phrase_words

INFORMATION = frozenset({"status", "help", "why", "target", "say again"})
LEAVING = frozenset({"no", "correction", "go back"})
ENTRY_NAMES = frozenset({"witness", "measured"})
"""Purposes of names that are entries of their stage."""
FEWEST_WORDS = 2
MOST_NAME_WORDS = 5
_OPENINGS = re.compile(
    r"^(?:because|my name is|the name is|name is|this is|it is|it's|i am|i'm|that is|that's|no|yes)\b[ ,]*", re.I
)


def free_speech(state: State, heard: UtteranceHeard) -> tuple[Event, ...]:
    """What was said where words are awaited; the dialogue says which."""
    best = heard.alternatives[0] if heard.alternatives else None
    surely = best is not None and best.kind == "command" and heard.decision == "accept"
    alone = best.command if best is not None and surely else None
    if alone in INFORMATION:
        return (Told(what=str(alone), utterance=heard.utterance),)
    if state.dialogue == "naming":
        return _naming(state, heard, best, alone)
    if state.dialogue == "reasoning":
        return _reasoning(state, heard, best, alone)
    if alone in LEAVING:
        if state.dialogue == "explaining":
            return (Told(what="say again", utterance=heard.utterance),)
        return (ReadingTakenBack(utterance=heard.utterance),)
    text = heard.free_text.strip()
    if not text:
        return (Told(what="say again", utterance=heard.utterance),)
    if state.dialogue == "explaining":
        return (ReasonGiven(stage=state.asks_of, text=text, utterance=heard.utterance),)
    return (NoteKept(bolt=state.bolt, text=text, utterance=heard.utterance),)


# ----------------------------------------------------------------------------------------------------------- reasons
def no_reason(text: str, *, purpose: str = "") -> str:
    """Why words are no reason: "reading", "words", "short"; "" where they may be one."""
    plain = _OPENINGS.sub("", text.strip()).strip(" .,!?")
    meaning = everything().parse(plain) if plain else None
    if isinstance(meaning, Value):
        return "reading"
    if isinstance(meaning, Command):
        return "reading" if meaning.name.startswith("unclear-") else "words"
    if not re.search(r"[^\W\d_]", plain):
        return "reading" if plain else "short"
    return "short" if purpose != "missing" and len(plain.split()) < FEWEST_WORDS else ""


def _reasoning(state: State, heard: UtteranceHeard, best: Alternative | None, alone: str | None) -> tuple[Event, ...]:
    if state.new_reading is not None and (said := _new_reading(state, heard, best, alone)) is not None:
        return said
    if alone in LEAVING:
        return (ReadingTakenBack(utterance=heard.utterance),)
    question = state.question
    if question is not None and alone == question.phrase and state.purpose == "missing":
        return (ReasonAsked(purpose="changed", utterance=heard.utterance),)
    likely = best is not None and (heard.decision == "accept" or (heard.decision == "ask" and heard.agreed))
    if best is not None and likely and best.value is not None:
        return (_doubted(state, heard, "reading", best),)
    if best is not None and likely and best.kind in ("command", "bolt"):
        return (_doubted(state, heard, "words", None),)
    text = heard.free_text.strip()
    if not text:
        return (Told(what="say again", utterance=heard.utterance),)
    wrong = "words" if _is_a_phrase(state, text) else no_reason(text, purpose=state.purpose)
    if wrong:
        return (_doubted(state, heard, wrong, None),)
    return _reason(state, text, heard.utterance)


def _doubted(state: State, heard: UtteranceHeard, why: str, reading: Alternative | None) -> ReasonDoubted:
    """`reading` is asked about only where the bolt that is due could have it."""
    asked = reading if reading is not None and state.purpose in ("keep", "skip") and state.bolt is not None else None
    text = heard.free_text.strip() or (reading.text if reading is not None else "")
    return ReasonDoubted(purpose=state.purpose, text=text, why=why, heard=asked, utterance=heard.utterance)


def _new_reading(
    state: State, heard: UtteranceHeard, best: Alternative | None, alone: str | None
) -> tuple[Event, ...] | None:
    """The answer to 'Is that a new reading?'; None for anything else."""
    reading = state.new_reading
    assert reading is not None
    same = best is not None and heard.decision != "reject" and answers.same_reading(reading, best)
    unsure = heard.decision == "ask" or answers.may_be_no(heard)
    if best is not None and best.command == "yes" and unsure and state.half is None and heard.decision != "reject":
        return (ConfirmationDoubted(heard=best, utterance=heard.utterance),)
    said_yes = best is not None and best.command == "yes" and heard.decision != "reject"
    if said_yes or (same and heard.decision == "accept"):
        left: Event = ReadingTakenBack(utterance=heard.utterance)
        if state.purpose == "keep" and state.bolt is not None:
            left = RetightenAgreed(bolt=state.bolt, utterance=heard.utterance)
        sure = Answer(
            heard=reading,
            other=None,
            decision="accept",
            utterance=state.new_reading_in,
            confirmed_by=heard.utterance,
        )
        return (left, *answers.reading(fold(state, (left,)), sure))
    if alone == "no":
        return (ReasonDoubted(purpose=state.purpose, text="", why="words", heard=None, utterance=heard.utterance),)
    return None


def _reason(state: State, text: str, utterance: str) -> tuple[Event, ...]:
    """Words that may be a reason, kept by what they were asked for."""
    purpose, found = state.purpose, state.findings[-1] if state.findings else None
    if purpose == "missing" and found is not None:
        return (FindingDescribed(finding=found.number, text=text, utterance=utterance),)
    if purpose == "changed" and state.finding is not None:
        told = ChangeTold(finding=state.finding.number, text=text, utterance=utterance)
        return (told, *answers.settled(fold(state, (told,)), ""))
    if purpose == "release" and state.question is not None:
        released = StopReleased(
            entry=len(state.entries) + 1,
            stage=state.stage,
            name=state.question.name,
            reason=text,
            role=state.question.role,
            utterance=state.phrase_in,
            reason_utterance=utterance,
        )
        return (released,)
    if purpose == "cut-short":
        cut = WaitCutShort(
            entry=len(state.entries) + 1, stage=state.stage, left_s=state.left_s or 0, reason=text, utterance=utterance
        )
        return (cut,)
    if purpose == "skip" and state.bolt is not None:
        return (BoltSkipped(stage=state.stage, round=state.round, bolt=state.bolt, reason=text, utterance=utterance),)
    return _kept(state, text, utterance)


def _kept(state: State, reason: str, utterance: str) -> tuple[Event, ...]:
    due, pending = state.current_pass, state.pending
    if due is None or due.setting is None or pending is None or pending.heard.value is None or state.bolt is None:
        return (Told(what="not-now", utterance=utterance),)
    return (
        ReadingKept(
            entry=len(state.entries) + 1,
            stage=state.stage,
            round=state.round,
            pass_number=due.number,
            bolt=state.bolt,
            achieved=Measured(pending.heard.value, pending.heard.unit or due.setting.unit),
            reason=reason,
            utterance=pending.utterance,
            reason_utterance=utterance,
        ),
    )


# ------------------------------------------------------------------------------------------------------------- names
def _naming(state: State, heard: UtteranceHeard, best: Alternative | None, alone: str | None) -> tuple[Event, ...]:
    known = {person.name.casefold(): person.name for person in state.work.people}
    listed = known.get((best.command or "").casefold()) if best is not None and heard.decision != "reject" else None
    if listed is not None:
        return (_read_back(state, listed, "roster", heard.utterance),)
    if state.name_heard:
        if best is not None and best.command == "yes" and heard.decision != "reject":
            unsure = answers.may_be_no(heard) or (heard.decision == "ask" and not heard.agreed)
            if unsure and state.half is None:
                return (ConfirmationDoubted(heard=best, utterance=heard.utterance),)
            return _named(state, heard.utterance)
        denied = best is not None and best.command == "no" and heard.decision != "reject"
        if alone in LEAVING or denied:  # asking for the name once more costs less than a wrong one
            return (_asked_again(state, heard.utterance),)
    elif alone in LEAVING:
        return _before_the_name(state, heard.utterance)
    question = state.question
    if question is not None and state.purpose == "witness" and alone in (*question.refused, *answers.FAILING):
        return answers.contested(state, str(alone), heard.utterance)
    if alone is not None or (best is not None and best.value is not None and heard.decision == "accept"):
        return (Told(what="say-the-name", utterance=heard.utterance),)
    text = _OPENINGS.sub("", heard.free_text.strip()).strip(" .,!?")
    if not text:
        return (Told(what="say-the-name", utterance=heard.utterance),)
    spelled = spelled_name(text)
    name = spelled or text
    if not spelled and (_is_a_phrase(state, text) or not _may_be_a_name(text)):
        return (Told(what="say-the-name", utterance=heard.utterance),)
    listed = known.get(name.casefold()) or _nearly(name, known.values())
    how = "roster" if listed is not None else "spelled" if spelled else "as heard"
    return (_read_back(state, listed or name, how, heard.utterance),)


def _is_a_phrase(state: State, text: str) -> bool:
    """Whether it is a phrase that passes or fails a question of this work: no reason and no name."""
    said = " ".join(typed_words(text) or ())
    phrases = {phrase for q in state.work.questions for phrase in (q.phrase, *q.refused)}
    return any(said in (" ".join(typed_words(phrase) or ()), *phrase_words(phrase)) for phrase in phrases)


def _may_be_a_name(text: str) -> bool:
    words = text.split()
    return len(words) <= MOST_NAME_WORDS and not any(c.isdigit() for c in text) and everything().parse(text) is None


def _nearly(name: str, known: Iterable[str]) -> str | None:
    """The one known name that sounds like what was heard, or begins with it; None where none or several do."""
    near = [each for each in known if _key(each) == _key(name) or each.casefold().split()[0] == name.casefold()]
    return near[0] if len(near) == 1 else None


def _key(name: str) -> str:
    """A name without what the ear does not tell apart: doubled letters, y and i, ph and f, c and k."""
    plain = "".join(c for c in name.casefold() if c.isalpha() or c == " ")
    for heard, same in (("ph", "f"), ("ck", "k"), ("y", "i"), ("c", "k"), ("z", "s")):
        plain = plain.replace(heard, same)
    return re.sub(r"(.)\1", r"\1", plain)


def _read_back(state: State, name: str, how: str, utterance: str) -> NameReadBack:
    role = state.question.role if state.question is not None and state.purpose == "witness" else ""
    return NameReadBack(stage=state.stage, purpose=state.purpose, role=role, text=name, how=how, utterance=utterance)


def _asked_again(state: State, utterance: str) -> NameAsked:
    role = state.question.role if state.question is not None and state.purpose == "witness" else ""
    return NameAsked(stage=state.stage, purpose=state.purpose, role=role, utterance=utterance)


def _before_the_name(state: State, utterance: str) -> tuple[Event, ...]:
    """'Correction' while a name is asked for: what it belongs to is due again; a name of its own is still needed."""
    last = state.entry_of(None)
    if state.purpose in ENTRY_NAMES and last is not None:
        return (EntryTakenBack(taken_back=last.number, utterance=utterance),)
    return (Told(what="say-the-name", utterance=utterance),)


def _named(state: State, confirmed_by: str) -> tuple[Event, ...]:
    """The name that was read back is kept, and what waited for it goes on."""
    kept = NameKept(
        entry=len(state.entries) + 1 if state.purpose in ENTRY_NAMES else 0,
        stage=state.stage,
        purpose=state.purpose,
        role=state.question.role if state.question is not None and state.purpose == "witness" else "",
        text=state.name_heard,
        utterance=state.name_in,
        how=state.name_how,
        confirmed_by=confirmed_by,
    )
    if state.purpose == "settles":
        return (kept, *answers.settled(fold(state, (kept,)), state.name_heard))
    if state.purpose == "witness":
        return (kept, *answers.settled_by_name(state, state.name_heard))
    if state.purpose == "supervisor" and state.agreed:
        return (kept, ReasonAsked(purpose=state.agreed, utterance=confirmed_by))
    return (kept,)


# ------------------------------------------------------------------------------------------------------------- commands
LEAVE_OPEN = "leave it open"
REPORTS = frozenset({"done", "clicked", "snug", "moved", "did not move", "same"})
TIGHTEN_AGAIN = "tighten again"


def command(state: State, answer: Answer) -> tuple[Event, ...]:
    """Events for a command, a report, or a phrase."""
    name = answer.heard.command or ""
    if name in INFORMATION:
        return (Told(what=name, utterance=answer.utterance),)
    if name.startswith("unclear-"):
        return (Told(what=name, utterance=answer.utterance),)
    if state.question is not None and name == state.question.phrase:
        return answers.phrase(state, answer)
    if answers.is_trouble(state, name):
        return (
            ask_first(state, answer) if answer.decision != "accept" else answers.trouble(state, name, answer.utterance)
        )
    if name in answers.PART_COMMANDS:
        return answers.part_failed(state, answer)
    if name in _COMMANDS:
        return _COMMANDS[name](state, answer)
    if state.question is not None:
        return answers.phrase(state, answer)
    if name == "not yet":
        return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)
    if any(name == question.phrase for question in state.work.questions):
        return (Told(what="out-of-order", utterance=answer.utterance),)
    if name in REPORTS:
        return answers.report(state, answer)
    if answer.heard.bolt is not None and answer.heard.bolt != state.bolt:
        return (OtherBoltNamed(announced=state.bolt, named=answer.heard.bolt, utterance=answer.utterance),)
    return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)


def ask_first(state: State, answer: Answer) -> tuple[Event, ...]:
    """Read a command back as a question."""
    return (ReadingDoubted(bolt=state.bolt, heard=answer.heard, other=answer.other, utterance=answer.utterance),)


def _sure(change: Callable[[State, Answer], tuple[Event, ...]]) -> Callable[[State, Answer], tuple[Event, ...]]:
    """A command that changes the record is read back as a question unless it is sure."""

    def asked_first(state: State, answer: Answer) -> tuple[Event, ...]:
        return ask_first(state, answer) if answer.decision != "accept" else change(state, answer)

    return asked_first


@_sure
def _correction(state: State, answer: Answer) -> tuple[Event, ...]:
    """What was said last no longer counts: an entry, or a name that is none."""
    last, (purpose, text) = state.last_entry, state.last_name
    if purpose:
        return (NameTakenBack(purpose=purpose, text=text, utterance=answer.utterance),)
    if last is None:
        return (Told(what="nothing-to-correct", utterance=answer.utterance),)
    return (EntryTakenBack(taken_back=last.number, utterance=answer.utterance),)


def _skip(state: State, answer: Answer) -> tuple[Event, ...]:
    if state.current_pass is None or state.bolt is None or state.movement_due:
        return (Told(what="cannot-skip", utterance=answer.utterance),)
    if answer.heard.bolt is not None and answer.heard.bolt != state.bolt:
        return (OtherBoltNamed(announced=state.bolt, named=answer.heard.bolt, utterance=answer.utterance),)
    return _skip_sure(state, answer)


@_sure
def _skip_sure(state: State, answer: Answer) -> tuple[Event, ...]:
    reason = answer.heard.text.strip()
    assert state.bolt is not None
    if state.work.apprentice:
        return (SupervisorAsked(purpose="skip", utterance=answer.utterance),)
    if reason == answer.heard.command or no_reason(reason):
        return (ReasonAsked(purpose="skip", utterance=answer.utterance),)
    return (
        BoltSkipped(stage=state.stage, round=state.round, bolt=state.bolt, reason=reason, utterance=answer.utterance),
    )


def _note(state: State, answer: Answer) -> tuple[Event, ...]:
    text = answer.heard.text.strip()
    if not text or text == "note":
        return (NoteAsked(utterance=answer.utterance),)
    return (NoteKept(bolt=state.bolt, text=text, utterance=answer.utterance),)


def _go_back(state: State, answer: Answer) -> tuple[Event, ...]:
    named = answer.heard.bolt
    if named is not None and state.current_pass is not None and not state.movement_due:
        if named not in state.current_pass.bolts:
            return (OtherBoltNamed(announced=state.bolt, named=named, utterance=answer.utterance),)
        if named in state.open_bolts:
            return (BoltTakenUp(bolt=named, utterance=answer.utterance),)
        return (SteppedBack(bolt=named, utterance=answer.utterance),)
    here = [e for e in state.entries if e.valid and (e.stage, e.round) == (state.stage, state.round)]
    before = [e.bolt for e in reversed(here) if e.bolt is not None and e.bolt not in state.ahead]
    if not before or state.current_pass is None:
        return (Told(what="nothing-back", utterance=answer.utterance),)
    return (SteppedBack(bolt=before[0], utterance=answer.utterance),)


def _next(state: State, answer: Answer) -> tuple[Event, ...]:
    bolt = state.bolt
    if bolt is not None and bolt in state.ahead and bolt in state.done(state.stage, state.round):
        return (SteppedOn(bolt=bolt, utterance=answer.utterance),)
    return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)


def _keep(state: State, answer: Answer) -> tuple[Event, ...]:
    if state.dialogue != "off-window":
        return (Told(what="not-now", utterance=answer.utterance),)
    if answer.decision != "accept":
        return (NotUnderstood(utterance=answer.utterance, aloud=True),)
    if state.work.apprentice:
        return (SupervisorAsked(purpose="keep", utterance=answer.utterance),)
    return (ReasonAsked(purpose="keep", utterance=answer.utterance),)


@_sure
def _leave_open(state: State, answer: Answer) -> tuple[Event, ...]:
    """The joint stays open; asked first while a bolt is in hand."""
    if state.dialogue not in ("waiting", "paused", "stopped") and not answer.confirmed_by:
        return ask_first(state, answer)
    return (SessionLeft(reason="left open"),)


def _tighten_again(state: State, answer: Answer) -> tuple[Event, ...]:
    if state.dialogue != "off-window" or state.bolt is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    return (RetightenAgreed(bolt=state.bolt, utterance=answer.utterance),)


def _figures(state: State, answer: Answer) -> tuple[Event, ...]:
    torque_due = state.current_pass is not None and state.current_pass.kind != "snug"
    if not torque_due and state.measurement is None:
        return (Told(what="not-now", utterance=answer.utterance),)
    return (FiguresAsked(utterance=answer.utterance),)


def _yes(state: State, answer: Answer) -> tuple[Event, ...]:
    question = state.question
    if question is not None:
        return (QuestionRefused(stage=state.stage, name=question.name, answer="yes", utterance=answer.utterance),)
    if state.dialogue == "off-window":
        return (Told(what="keep-or-retighten", utterance=answer.utterance),)
    return (Told(what="moved-or-not" if state.movement_due else "say-the-reading", utterance=answer.utterance),)


def _no(state: State, answer: Answer) -> tuple[Event, ...]:
    """A bare no: it fails the question that is due, denies the value in question, or contests the last read-back."""
    if state.question is not None:
        return answers.phrase(state, answer)
    if state.dialogue == "off-window":
        return (ReadingTakenBack(utterance=answer.utterance),)
    if state.dialogue == "guiding" and (state.last_entry is not None or state.last_name[0]):
        take_back = Alternative(kind="command", text="correction", command="correction", probability=0.5)
        return (ReadingDoubted(bolt=state.bolt, heard=take_back, other=None, utterance=answer.utterance),)
    return (Told(what="say-the-reading" if state.current_pass else "not-now", utterance=answer.utterance),)


def _all(state: State, answer: Answer) -> tuple[Event, ...]:
    del state
    return (Told(what="one-at-a-time", utterance=answer.utterance),)


def _resume(state: State, answer: Answer) -> tuple[Event, ...]:
    del state
    return (Told(what="say again", utterance=answer.utterance),)


def _talk(state: State, answer: Answer) -> tuple[Event, ...]:
    """Say less or more: the next level of talk; at the end of the scale it stays."""
    at = LEVELS.index(state.talk) + (1 if answer.heard.command == "say more" else -1)
    level = LEVELS[min(max(at, 0), len(LEVELS) - 1)]
    return (SpeechAdjusted(what=level, utterance=answer.utterance),)


def _voice(state: State, answer: Answer) -> tuple[Event, ...]:
    del state
    return (SpeechAdjusted(what=str(answer.heard.command), utterance=answer.utterance),)


_COMMANDS: dict[str, Callable[[State, Answer], tuple[Event, ...]]] = {
    "correction": _correction,
    "skip": _skip,
    "note": _note,
    "go back": _go_back,
    "next": _next,
    "keep": _keep,
    TIGHTEN_AGAIN: _tighten_again,
    "figures": _figures,
    "yes": _yes,
    "no": _no,
    "all": _all,
    "resume": _resume,
    "say less": _talk,
    "say more": _talk,
    "louder": _voice,
    "quieter": _voice,
    "slower": _voice,
    "faster": _voice,
    LEAVE_OPEN: _leave_open,
}
