"""Small joints for the exhaustive search, and everything that may be said, done or happen at them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from assistant.events import (
    Alternative,
    AskBack,
    Event,
    Item,
    Lesson,
    Measured,
    Measurement,
    Pass,
    Paused,
    Question,
    SessionResumed,
    TimeLeft,
    UtteranceHeard,
    Wait,
    WorkLaidOut,
)
from assistant.procedure.decide import begin, decide, time_is_up
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from tests.procedure.talk import command, stages, value

NOW = "0001"
UNSURE = 0.8

LOCK_OUT = Question(
    name="lock-out", phase="prepare", ask="Locked out?", phrase="locked out and tried", hold=True, witness=True
)
THREADS = Question(
    name="threads", phase="assemble", ask="Threads?", phrase="anti seize", hold=False, refused=("dry",), role="lead"
)
STOP = Question(
    name="stop: nut too weak",
    phase="snug",
    ask="Release?",
    phrase="released by the lead",
    hold=True,
    reason=True,
    witness=True,
    refused=("not released",),
)
CLOSE = Question(name="closing", phase="close", ask="Anything left?", phrase="close the joint", hold=True)
REST = Wait(name="settling time", phase="seat", seconds=60)
HOT = Measurement(
    name="temperature",
    phase="re-check",
    ask="Temperature?",
    quantity="temperature",
    unit="degC",
    low=Decimal(0),
    high=Decimal(100),
    who=True,
)
HEIGHT = replace(HOT, name="height", phase="tighten", quantity="length", unit="mm", who=False)
BACK = Lesson(ask_back=AskBack(ask="What then?", answer="try it", others=("begin work",), because="Proof."))


def newton_metres(number: int) -> Measured:
    return Measured(Decimal(number), "N*m")


def snug(*bolts: int, group: str = "a") -> Pass:
    return Pass(group=group, kind="snug", number=0, phase="snug", bolts=bolts)


def torqued(*bolts: int, kind: str = "pattern", group: str = "a", number: int = 1, **more: object) -> Pass:
    return Pass(
        group=group,
        kind=kind,
        number=number,
        bolts=bolts,
        target=newton_metres(90),
        setting=newton_metres(90),
        low=newton_metres(85),
        high=newton_metres(95),
        tool_low=newton_metres(40),
        tool_high=newton_metres(300),
        **more,  # type: ignore[arg-type]
    )


def work(*items: Item, apprentice: bool = False) -> WorkLaidOut:
    return WorkLaidOut(joint="Small", stages=stages(*items, CLOSE), apprentice=apprentice)


# ------------------------------------------------------------------------------------------------ what may happen
@dataclass(frozen=True, slots=True)
class Action:
    """Something that happens: a name, and the events it leads to in a state; () where it cannot happen."""

    name: str
    events: Callable[[State], tuple[Event, ...]]
    heard: UtteranceHeard | None = None


def said(name: str, *alternatives: Alternative, decision: str = "accept", **more: object) -> Action:
    fields: dict[str, object] = {
        "utterance": NOW,
        "start_sample": 0,
        "end_sample": 1,
        "audio_sha256": None,
        "alternatives": alternatives,
        "fit": 0.0,
        "free_text": alternatives[0].text if alternatives else "",
        "listeners": {},
        "agreed": True,
        "decision": decision,
        "accept_at": 0.95,
    }
    heard = UtteranceHeard(**{**fields, **more})  # type: ignore[arg-type]
    return Action(name, lambda state: (heard, *decide(state, heard)), heard)


def sure(name: str, **more: object) -> Action:
    return said(f"sure {name}", command(name, **more))


def unsure(name: str, **more: object) -> Action:
    return said(f"unsure {name}", command(name, UNSURE, **more), decision="ask")


ALWAYS = ("stop", "status", "say again", "go back", "note", "help")
"""Must work from everywhere."""
TROUBLES = ("bolt broke", "somebody is hurt", "socket slipped")
COMMANDS = (
    *("pause", "resume", "why", "correction", "hand over", "leave it open", "skip", "next", "yes", "no", "done"),
    *("moved", "did not move", "snug", "keep", "tighten again", "replaced", "restart pass", "gasket disturbed", "same"),
)
HARMLESS = ("figures", "target", "all", "clicked", "ready", "unclear-range")
DOUBTED = ("yes", "no", "correction", "skip", "moved", "did not move", "snug", "keep", "resume", "leave it open")
PLAIN = (*ALWAYS, *COMMANDS)


def readings(work: WorkLaidOut) -> Iterator[Action]:
    """Torques right, low, high, impossible and doubtful; with a bolt, as a correction, in another unit."""
    yield said("right", value("90"))
    yield said("low", value("80"))
    yield said("impossible", value("900"))
    yield said("right, doubtful", value("90", UNSURE), decision="ask")
    yield said("low, doubtful", value("80", UNSURE), decision="ask")
    yield said("corrected", value("90", corrected=True))
    for bolt in sorted({bolt for each in work.passes for bolt in each.bolts} | {9}):
        yield said(f"bolt {bolt} right", value("90", bolt=bolt))
        yield said(f"bolt {bolt} snug", command("snug", bolt=bolt))
        yield said(f"bolt {bolt} moved", command("moved", bolt=bolt))
        yield said(f"bolt {bolt} replaced", command("replaced", bolt=bolt))
        yield said(f"back to bolt {bolt}", command("go back", bolt=bolt))


def figures() -> Iterator[Action]:
    """Measured figures inside, outside, doubtful, in the other unit, and a torque."""
    yield said("fifty", value("50"))
    yield said("fifty, doubtful", value("50", UNSURE), decision="ask")
    yield said("too hot", value("300"))
    yield said("too hot, doubtful", value("300", UNSURE), decision="ask")
    yield said("in degF", value("120", unit="degF"))
    yield said("in inches", value("2", unit="in"))
    yield said("a torque", value("50", unit="N*m"))


def words(work: WorkLaidOut) -> Iterator[Action]:
    """Phrases right, wrong, doubtful; free words; noise; what nobody can make anything of."""
    phrases = {question.phrase for question in work.questions} | {"dry", "closed the joint"}
    if work.apprentice:
        phrases |= {work.supervisor, "try it", "begin work"}
    for phrase in sorted(phrases):
        yield sure(phrase)
        yield unsure(phrase)
    yield said("free words", decision="reject", free_text="rust on the nut face")
    yield said("a note at once", Alternative(kind="note", text="rust here", probability=0.999, command="note"))
    yield said("skip at once", Alternative(kind="note", text="socket slips", probability=0.999, command="skip"))
    yield said("free words: a number", decision="reject", free_text="ninety two")
    yield said("free words: one", decision="reject", free_text="rust")
    yield sure("not yet")
    for name in TROUBLES:
        yield said(f"trouble: {name}", command(name))
    yield said("typed nonsense", decision="reject", free_text="the wrench fell and broke", listeners={"typed": "x"})
    yield said("noise", decision="reject")
    yield said("probably meant", command("moved", 0.5), decision="reject", agreed=False)


def happenings() -> Iterator[Action]:
    """What happens without a word."""
    yield Action("half the time is over", _half_time)
    yield Action("time is up", lambda s: time_is_up(s, waited_s=60) if s.dialogue == "waiting" else ())
    yield Action("back again", _back_again)
    yield Action("microphone gone", _microphone_gone)


def _half_time(state: State) -> tuple[Event, ...]:
    runs = state.wait is not None and state.stage in state.waits
    return (TimeLeft(stage=state.stage, seconds=30),) if runs else ()


def _back_again(state: State) -> tuple[Event, ...]:
    resumed = SessionResumed(product="", listeners=(), speaker="")
    return (resumed, *begin(resumed, fold(state, (resumed,))))


def _microphone_gone(state: State) -> tuple[Event, ...]:
    standing = state.dialogue in ("paused", "stopped", "closed", "opening")
    return () if standing else (Paused(reason="microphone silent", utterance=""),)


def alphabet(work: WorkLaidOut, *, doubts: bool = True) -> tuple[Action, ...]:
    """Everything that may happen at this work."""
    found = [*map(sure, PLAIN), *words(work), *readings(work), *happenings(), *figures()]
    if doubts:
        found += [*map(sure, HARMLESS), *map(unsure, DOUBTED)]
        found += [said("stop?", command("stop", UNSURE), decision="ask", agreed=False)]
        found += [said("two near values", value("90", 0.5), value("92", 0.4), decision="ask")]
        found += [said("the second", value("2")), said("the second, doubtful", value("2", UNSURE), decision="ask")]
    return tuple(found)
