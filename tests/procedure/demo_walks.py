"""The real works of the demo joints, and somebody who gives the right answer to whatever is asked."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events import Event, Measurement, Pass, Question, WorkLaidOut
from assistant.procedure.decide import begin
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.procedure.work import lay_out
from tests.bolting.joint_samples import DEMOS, TODAY
from tests.procedure.small_works import Action, happenings, said
from tests.procedure.talk import command, value

COUPLING, COOLER, FLANGE, BASE = (
    f"north-sluice-{name}"
    for name in ("conveying-pipe-coupling", "cooler-girth-flange", "dn150-flange", "gearbox-base")
)
DEMO_JOINTS = (COUPLING, COOLER, FLANGE, BASE)
TIME_IS_UP = next(action for action in happenings() if action.name == "time is up")


@cache
def demo_work(stem: str, *, apprentice: bool = False) -> WorkLaidOut:
    """The work of a demo joint by the usual procedure of its kind."""
    made = plan(read_joint(Path(DEMOS) / f"{stem}.toml", today=TODAY), today=TODAY)
    return lay_out(made, usual_procedure(made.joint.kind), apprentice=apprentice)


def begun(work: WorkLaidOut) -> State:
    return fold(State(), (work, *begin(work, fold(State(), (work,)))))


def right(state: State) -> Action:
    """The answer that goes on in this state."""
    match state.dialogue:
        case "asking":
            held = state.question is not None and state.question.hold
            return said("right", command(state.question.phrase if held and state.question else "yes"))
        case "paused" | "stopped":
            return said("right", command("resume"))
        case "naming" if state.name_heard:
            return said("right", command("yes"))
        case "reasoning" if state.new_reading is not None:
            return said("right", command("no"))
        case "naming" | "explaining" | "noting" | "reasoning":
            return said("right", decision="reject", free_text="Robin Marsh")
        case "supervisor":
            return said("right", command(state.work.supervisor))
        case "waiting":
            return TIME_IS_UP
        case "asked-back":
            expects = state.expects
            return said("right", value(expects) if expects.isdecimal() else command(expects))
    return said("right", _answer(state))


def _answer(state: State):
    match state.item:
        case Question() as question:
            return command(question.phrase)
        case Pass(kind="snug"):
            return command("snug")
        case Pass(goes_round=True):
            return command("did not move")
        case Pass(setting=setting) if setting is not None:
            return value(str(setting.value))
        case Measurement() as due:
            low, high = due.low or 0, due.high or 100
            return value(str((low + high) / 2))
    raise AssertionError(state)


def step(state: State, action: Action) -> tuple[tuple[Event, ...], State]:
    events = action.events(state)
    return events, fold(state, events)


def walk_on(state: State, until: Callable[[State], bool], *, most: int = 700) -> tuple[list[Event], State]:
    """Right answers until then."""
    happened: list[Event] = []
    for _ in range(most):
        if until(state):
            return happened, state
        if state.left:
            back = next(action for action in happenings() if action.name == "back again")
            events, state = step(state, back)
        else:
            events, state = step(state, right(state))
        happened += events
    raise AssertionError(f"never: stage {state.stage} of {len(state.stages)}, {state.dialogue}")


def at_bolt(work: WorkLaidOut, stage: int, visited: int) -> State:
    """The state in a pass when so many of its bolts are done."""
    return walk_on(
        begun(work), lambda s: s.dialogue == "guiding" and s.stage == stage and len(s.done(stage, s.round)) == visited
    )[1]
