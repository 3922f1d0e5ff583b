"""Random dialogues on small joints: a technician who mostly answers rightly, and everything else that may happen."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone

from assistant.events import (
    Event,
    Measurement,
    Pass,
    PromptSpoken,
    Question,
    SessionLeft,
    SessionOpened,
    Wait,
    WorkLaidOut,
)
from assistant.events.review import CommentMade, JointAccepted, RedoOrdered, ReviewBegun
from assistant.journal.beginning import Beginning
from assistant.journal.findings import Report
from assistant.journal.reading import Entry as Line
from assistant.journal.review import Reviewed
from assistant.procedure.decide import begin, decide, time_is_up
from assistant.procedure.effects import effects
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.replay.record import Sources
from assistant.replay.record_fields import Seal
from tests.procedure.small_works import (
    HEIGHT,
    HOT,
    LOCK_OUT,
    REST,
    THREADS,
    Action,
    alphabet,
    said,
    snug,
    sure,
    torqued,
    work,
)
from tests.procedure.talk import value

START = datetime(2026, 11, 25, 8, 30, tzinfo=timezone.utc)
WORKS: tuple[WorkLaidOut, ...] = (
    work(LOCK_OUT, THREADS, snug(1, 2), torqued(1, 2), torqued(1, 2, kind="circular", last_round=3)),
    work(LOCK_OUT, torqued(1, 3, 2, 4), REST, torqued(1, 2, 3, 4, kind="circular", number=2, last_round=3), HOT),
    work(THREADS, snug(1, 2, 3), HEIGHT, torqued(1, 2, 3, clicks=True), REST),
    work(LOCK_OUT, torqued(1, 2, group="a"), torqued(1, 2, group="b", kind="seat", tap="Tap it.", last_round=3), HOT),
    work(LOCK_OUT, snug(1, 2), torqued(1, 2, tools=2), torqued(1, 2, kind="circular", number=2), apprentice=True),
)
SEALED = Seal(utc="2026-11-26T00:00:00Z", product="p", lines=1, last_hash="", key="k", fits=True)
TRUSTED = Report(folder="f", lines=1, utterances=0, status="sealed", sealed_by="k", findings=())


@dataclass
class Dialogue:
    """One session as it was lived through, without a disk: the state that guided it, and the lines that it left."""

    chance: random.Random
    work: WorkLaidOut
    state: State = field(default_factory=State)
    lines: list[Line] = field(default_factory=list)
    now: datetime = START
    heard: int = 0

    def happen(self, events: tuple[Event, ...]) -> None:
        """Take events in as the loop does: first the journal, then the state, then what is said."""
        said_ = effects(self.state, events).say
        for event in events:
            self._write(event)
        self.state = fold(self.state, events)
        if said_ and not self.state.closed:
            prompt = PromptSpoken(text=said_, start_sample=0, end_sample=1)
            self._write(prompt)
            self.state = fold(self.state, (prompt,))

    def _write(self, event: Event) -> None:
        number = len(self.lines) + 1
        line = Line(seq=number, utc=self.now, sample=number, event=event, sha256=f"{number:064x}")
        self.lines.append(line)

    def do(self, action: Action) -> None:
        """Something happens; an utterance gets its own name, and is sometimes typed."""
        self.now += timedelta(seconds=self.chance.choice((0.2, 4, 20, 20, 20)))
        if action.heard is None:
            self.happen(action.events(self.state))
            return
        self.heard += 1
        name = f"{self.heard:04d}"
        event = replace(action.heard, utterance=name, audio_sha256="0" * 64)
        if self.chance.random() < 0.02:
            event = replace(event, audio_sha256=None, listeners={"typed": event.free_text})
        self.happen((event, *decide(self.state, event)))

    def answer(self) -> Action:
        """What a person would say now, most of the time."""
        state, chance = self.state, self.chance
        if state.dialogue in ("paused", "stopped"):
            return sure("resume")
        if state.dialogue == "asking" or state.name_heard or state.new_reading is not None:
            return sure(chance.choice(("yes", "yes", "yes", "no")))
        if state.dialogue == "supervisor":
            return sure(state.work.supervisor)
        if state.dialogue == "asked-back":
            right = state.expects
            return said("answer", value(right)) if right.isdecimal() else sure(right)
        if state.dialogue in ("reasoning", "naming", "explaining", "noting"):
            words = chance.choice(("the nut face is damaged", "Robin Marsh", "Toni Vale", "it was put right by hand"))
            return said("words", decision="reject", free_text=words)
        match state.item:
            case Question():
                return sure(state.item.phrase)
            case Wait() if chance.random() < 0.15:
                return sure("skip")
            case Wait():
                return Action("time", lambda s: time_is_up(s, waited_s=60) if s.dialogue == "waiting" else ())
            case Measurement():
                return said("measured", value("50"))
            case Pass(kind="snug"):
                return sure("snug")
            case Pass(clicks=True):
                return sure("clicked")
            case Pass(goes_round=True):
                return sure(chance.choice(("did not move", "did not move", "did not move", "moved")))
        if state.dialogue == "off-window":
            return sure(chance.choice(("keep", "tighten again")))
        return said("a torque", value("90" if chance.random() < 0.95 else "80"))


ACTS: tuple[tuple[str, ...], ...] = (
    ("low", "sure keep"),
    ("low", "sure keep", "right"),  # a reading where a reason was asked for
    ("low", "sure tighten again"),
    ("sure skip",),
    ("sure correction",),
    ("sure correction", "sure correction"),
    ("sure no",),
    ("sure replaced",),
    ("sure restart pass",),
    ("sure gasket disturbed",),
    ("sure not yet",),
    ("sure dry",),
    ("sure go back",),
    ("sure hand over",),
    ("trouble: bolt broke",),
    ("trouble: socket slipped",),
    ("right, doubtful", "sure no", "right"),
    ("two near values",),
    ("sure stop",),
    ("too hot",),
)
"""What goes another way than planned, by the names of `small_works.alphabet`; questions that follow are answered."""


def dialogue(seed: int) -> Dialogue:
    """A random dialogue: finished, left, or in the middle of anything."""
    chance = random.Random(seed)
    made = Dialogue(chance, chance.choice(WORKS))
    opened = SessionOpened(
        joint="Small",
        joint_sha256="",
        plan_sha256="",
        product="p",
        listeners=chance.choice((("a", "b"), ("a", "b"), ("a", "b"), ("a",), ("typed",))),
        speaker=chance.choice(("voice", "silent")),
        settings={"played": "rehearsal"} if chance.random() < 0.1 else {},
    )
    made.happen((opened,))
    made.happen((made.work, *begin(made.work, fold(made.state, (made.work,)))))
    odd = alphabet(made.work)
    by_name = {action.name: action for action in odd}
    steps, oddity = chance.randrange(5, 140), chance.choice((0.0, 0.05, 0.2, 0.4))
    for _ in range(steps):
        if made.state.closed:
            break
        roll = chance.random()
        if roll < oddity / 3:
            made.do(chance.choice(odd))
        elif roll < oddity:
            for name in chance.choice(ACTS):
                made.do(by_name[name])
                if made.state.closed:
                    break
        else:
            made.do(made.answer())
        if made.state.dialogue != "closed" and chance.random() < 0.01:
            left = SessionLeft(reason="end of shift")
            made.happen((left,))
            made.do(by_name["back again"])
    return made


def reviewed(made: Dialogue, seed: int) -> tuple[Reviewed | None, datetime]:
    """A random review of it, after its end; None for none."""
    chance = random.Random(seed)
    if chance.random() < 0.4:
        return None, made.now
    events: list[Event] = []
    begun = ReviewBegun(by="the lead", session_lines=1, session_last_hash="", as_recorded=True, product="p")
    passes = made.work.passes
    for _ in range(chance.randrange(1, 4)):
        group = chance.choice(passes)
        events += [
            begun,
            chance.choice(
                (
                    CommentMade(by="the lead", text="seen"),
                    JointAccepted(by="the lead", reason="good all the same"),
                    RedoOrdered(by="the lead", group=group.group, bolt=group.bolts[0], reason="not believed"),
                )
            ),
        ]
    at = made.now + timedelta(hours=1)
    lines = [Line(seq=n, utc=at, sample=0, event=e, sha256="0" * 64) for n, e in enumerate(events, start=1)]
    return Reviewed(entries=tuple(lines), seal=None), at


def sources_of(made: Dialogue, review: Reviewed | None) -> Sources:
    """A folder's content with nothing wrong about it."""
    return Sources(
        folder="20261125T083000Z-small",
        beginning=Beginning(entries=tuple(made.lines), lines=len(made.lines)),
        product="p",
        seal=SEALED if made.state.closed else None,
        review=review,
        review_seal=SEALED if review is not None else None,
        report=TRUSTED,
    )
