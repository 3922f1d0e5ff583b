"""A small joint and a way to talk to the pure core: utterances in, events and prompts out."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from assistant.events import (
    Alternative,
    Event,
    Item,
    Lesson,
    Measured,
    Pass,
    Question,
    Stage,
    UtteranceHeard,
    WorkLaidOut,
    stage_of,
)
from assistant.procedure.decide import begin, decide
from assistant.procedure.effects import effects
from assistant.procedure.evolve import fold
from assistant.procedure.state import State


def newton_metres(value: str) -> Measured:
    return Measured(Decimal(value), "N*m")


def a_pass(number: int, setting: str, low: str, high: str, *, kind: str = "pattern", clicks: bool = False) -> Pass:
    return Pass(
        group="flange bolts",
        kind=kind,
        number=number,
        bolts=(1, 3, 2, 4) if kind == "pattern" else (1, 2, 3, 4),
        target=newton_metres(setting),
        setting=newton_metres(setting),
        low=newton_metres(low),
        high=newton_metres(high),
        tool_low=newton_metres("40"),
        tool_high=newton_metres("300"),
        clicks=clicks,
        last_round=2,
        lesson=Lesson(why="Half of the full value."),
    )


LOCK_OUT = Question(
    name="lock-out",
    phase="prepare",
    ask="Is the line locked out?",
    phrase="locked out and tried",
    hold=True,
    role="technician",
)
THREADS = Question(
    name="thread condition",
    phase="prepare",
    ask="What is on the threads?",
    phrase="anti seize",
    hold=False,
    refused=("dry", "oiled"),
)
CLOSE = Question(name="close", phase="close", ask="Anything left?", phrase="close the joint", hold=True)


def work(*, clicks: bool = False) -> WorkLaidOut:
    return WorkLaidOut(
        joint="Test flange",
        stages=stages(
            LOCK_OUT,
            THREADS,
            Pass(group="flange bolts", kind="snug", number=0, bolts=(1, 3, 2, 4)),
            a_pass(1, "90", "85", "95", clicks=clicks),
            a_pass(2, "180", "171", "189", clicks=clicks),
            a_pass(3, "180", "171", "189", kind="circular", clicks=clicks),
            CLOSE,
        ),
    )


def stages(*items: Item) -> tuple[Stage, ...]:
    return tuple(stage_of(item) for item in items)


def value(number: str, probability: float = 0.999, **more: object) -> Alternative:
    return Alternative(kind="value", text=number, probability=probability, value=Decimal(number), **more)  # type: ignore[arg-type]


def command(name: str, probability: float = 0.999, **more: object) -> Alternative:
    return Alternative(kind="command", text=name, probability=probability, command=name, **more)  # type: ignore[arg-type]


@dataclass
class Talk:
    """Talks with the core; keeps the state and everything that happened."""

    state: State = field(default_factory=State)
    events: list[Event] = field(default_factory=list)
    said: str = ""
    count: int = 0

    @classmethod
    def begun(cls, work_laid_out: WorkLaidOut | None = None) -> Talk:
        talk = cls()
        first = work_laid_out or work()
        talk._take((first, *begin(first, fold(talk.state, (first,)))))
        return talk

    @classmethod
    def at_pass(cls, number: int, *, clicks: bool = False, laid_out: WorkLaidOut | None = None) -> Talk:
        """Everything before pattern pass `number` done."""
        talk = cls.begun(laid_out or work(clicks=clicks))
        talk.hear(command("locked out and tried"))
        talk.hear(command("anti seize"))
        for _ in range(4):
            talk.hear(command("snug"))
        for done in range(1, number):
            for _ in range(4):
                talk.hear(value(("90", "180")[done - 1]))
        return talk

    def hear(self, *alternatives: Alternative, decision: str = "accept", **more: object) -> list[Event]:
        self.count += 1
        fields: dict[str, object] = {
            "utterance": f"{self.count:04d}",
            "start_sample": 0,
            "end_sample": 16_000,
            "audio_sha256": None,
            "alternatives": tuple(alternatives),
            "fit": 0.0,
            "free_text": alternatives[0].text if alternatives else "",
            "listeners": {},
            "agreed": True,
            "decision": decision,
            "accept_at": 0.95,
            "state": self.state.dialogue,
        }
        heard = UtteranceHeard(**{**fields, **more})  # type: ignore[arg-type]
        return self._take((heard, *decide(self.state, heard)))

    def name(self, text: str) -> list[Event]:
        """A name, and the yes to its read-back; the events of the yes."""
        self.hear(decision="reject", free_text=text)
        return self.hear(command("yes"))

    def _take(self, events: tuple[Event, ...]) -> list[Event]:
        self.said = effects(self.state, events).say
        self.state = fold(self.state, events)
        self.events += events
        return [e for e in events if e.kind != "utterance-heard"]

    def kinds(self, events: list[Event]) -> list[str]:
        return [e.kind for e in events]
