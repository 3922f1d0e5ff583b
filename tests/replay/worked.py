"""Whole sessions on the demo joints for tests: the real core and journal, a technician who answers what is asked.

No microphone: every line is read as if typed, and its sound (where wanted) is a short made-up noise.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from assistant.bolting.planning.plan import plan, plan_document
from assistant.config.joint_file import parse_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events import Event, Measurement, PromptSpoken, SessionOpened, UtteranceHeard, WorkLaidOut
from assistant.journal.disk import Disk
from assistant.journal.seal import installation_key
from assistant.journal.store import JournalStore
from assistant.procedure.decide import begin, decide, time_is_up
from assistant.procedure.effects import effects, expecting
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.procedure.work import lay_out
from assistant.session.hearing import alternative, typed
from assistant.session.waits import time_left, waited_s
from assistant.speech.vocabulary import grammar_for

DEMOS = Path(__file__).resolve().parents[2] / "demo_joints"
FLANGE = DEMOS / "north-sluice-dn150-flange.toml"
DAY = date(2026, 11, 25)
START = datetime(2026, 11, 25, 8, 30, tzinfo=timezone.utc)
PRODUCT = "assistant 0.1.0"
PER_LINE_S = 19.0
Answers = Callable[[State], str | None]
WAIT = "(time passes)"
"""An answer that is no word: the running wait is let pass."""


class Clock:
    """A wall clock that the session moves."""

    def __init__(self, start: datetime = START) -> None:
        self.now = start

    def __call__(self) -> datetime:
        self.now += timedelta(milliseconds=7)
        return self.now

    def pass_by(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


class Unsynced(Disk):
    """A disk that is not waited for: these sessions are to be read, not to survive a power cut."""

    def sync(self, descriptor: int) -> None:
        del descriptor


class Worked:
    """One session being worked through: `say` lines, or let `answers` finish it."""

    def __init__(
        self,
        sessions: Path,
        joint: Path = FLANGE,
        *,
        start: datetime = START,
        sound: bool = False,
        work: Callable[[WorkLaidOut], WorkLaidOut] = lambda laid_out: laid_out,
        settings: dict[str, object] | None = None,
        apprentice: bool = False,
        listeners: tuple[str, ...] = ("constrained", "vosk"),
    ) -> None:
        data = joint.read_bytes()
        made = plan(parse_joint(data, source=joint.name), today=DAY)
        self.clock, self.sound = Clock(start), sound
        self.store = JournalStore.create(
            sessions,
            joint=made.joint.name,
            joint_toml=data,
            plan_json=(json.dumps(plan_document(made), indent=2, ensure_ascii=False) + "\n").encode(),
            clock=self.clock,
            disk=Unsynced(),
            need_bytes=0,
        )
        self.folder = self.store.folder
        self.state = State()
        self.sample = 0
        opened = SessionOpened(
            joint=made.joint.name,
            joint_sha256=self.store.joint_sha256,
            plan_sha256=self.store.plan_sha256,
            product=PRODUCT,
            listeners=listeners if sound else ("typed",),
            speaker="silent",
            settings=dict(settings or {}),
        )
        self._take((opened,))
        laid_out = work(lay_out(made, usual_procedure(made.joint.kind), apprentice=apprentice))
        self._take((laid_out, *begin(laid_out, fold(self.state, (laid_out,)))))

    def _take(self, events: tuple[Event, ...]) -> None:
        said = effects(self.state, events).say
        self.store.append(events, self.sample)
        self.state = fold(self.state, events)
        if said and not self.state.closed:
            prompt = PromptSpoken(text=said, start_sample=self.sample, end_sample=self.sample + 1600)
            self.store.append((prompt,), self.sample)
            self.state = fold(self.state, (prompt,))

    def say(self, *lines: str, **more: object) -> Worked:
        """Lines as if spoken; `more` are fields of `UtteranceHeard` to change (decision, alternatives ...)."""
        for line in lines:
            self.clock.pass_by(PER_LINE_S)
            self.sample += int(16_000 * PER_LINE_S)
            heard = typed(line, grammar_for(expecting(self.state)))
            name, digest = self.store.audio.keep(self.sounds(line) if self.sound else np.zeros(0, np.int16))
            event = UtteranceHeard(
                utterance=name,
                start_sample=self.sample - 9600,
                end_sample=self.sample,
                audio_sha256=digest,
                alternatives=tuple(replace(alternative(r), probability=0.997) for r in heard.ranked),
                fit=None,
                free_text=heard.free_text,
                listeners={"constrained": line, "vosk": line} if self.sound else {"typed": line},
                agreed=True,
                decision=heard.decision,
                accept_at=0.95,
                state=self.state.dialogue,
            )
            event = replace(event, **more)  # type: ignore[arg-type]
            told = time_left(self.state, self.store.entries, self.clock())
            self._take((*told, event, *decide(fold(self.state, told), event)))
        return self

    def sounds(self, line: str) -> np.ndarray:
        """What is kept as the sound of a line: int16 at 16 000 Hz."""
        del line
        return _noise(self.sample)

    def wait(self) -> Worked:
        """Let the running wait's time pass: nobody speaks, and the assistant says that it is over."""
        assert self.state.wait is not None
        self.clock.pass_by(self.state.wait.seconds - (waited_s(self.state, self.store.entries, self.clock()) or 0))
        waited = waited_s(self.state, self.store.entries, self.clock())
        assert waited is not None and waited >= self.state.wait.seconds
        self._take(time_is_up(self.state, waited_s=waited))
        return self

    def events(self, *events: Event) -> Worked:
        """Events that no words lead to: sound lost, session left and resumed."""
        self._take(events)
        return self

    def finish(self, answers: Answers | None = None, *, most: int = 5000) -> Worked:
        """Answer what is asked until the joint is closed or `answers` has nothing to say."""
        answers = answers or Technician()
        for _ in range(most):
            line = None if self.state.closed else answers(self.state)
            if line is None:
                return self
            if line == WAIT:
                self.wait()
            else:
                self.say(line)
        raise AssertionError("the session does not end")

    def seal(self, keys: Path) -> Path:
        """Seal and let go."""
        self.store.seal(installation_key(keys), PRODUCT)
        self.store.close()
        return self.folder

    def close(self) -> Path:
        """Let go, sealed or not."""
        self.store.close()
        return self.folder


class Technician:
    """Answers every question rightly and reads off values near the setting; nuts move in the first round of a pass.

    Args:
        offsets: what is read beyond the setting, in graduations, one after the other, over and over.
        moving: bolts whose nut moves in the first round of every pass that goes round.
        measured: what is read where a temperature is measured; lengths are read in the middle of their limits.
        names: who is named when a name is asked for, one after the other, over and over.
    """

    def __init__(
        self,
        offsets: Iterable[int] = (0, 0, 1, 0, -1, 0, 0),
        *,
        moving: tuple[int, ...] = (2,),
        step: int = 2,
        measured: str = "35",
        names: tuple[str, ...] = ("Robin Marsh", "Toni Vale"),
    ):
        self._offsets, self._at, self._moving, self._step = tuple(offsets), 0, moving, step
        self._measured, self._names, self._named = measured, names, 0

    def __call__(self, state: State) -> str | None:
        words = {
            "paused": "resume",
            "stopped": "resume",
            "asking": "yes",
            "waiting": WAIT,
            "explaining": "so that the load comes on evenly",
            "supervisor": state.work.supervisor,
            "asked-back": state.expects,
        }
        if state.dialogue in words:
            return words[state.dialogue]
        if state.dialogue == "naming" and state.name_heard:
            return "yes"
        if state.dialogue == "reasoning":
            return "the paste is on all threads now"
        if state.dialogue == "naming":
            self._named += 1
            return self._names[(self._named - 1) % len(self._names)]
        if state.measurement is not None:
            return self._figure(state.measurement)
        if state.question is not None:
            return state.question.phrase
        return self._at_bolt(state)

    def _figure(self, due: Measurement) -> str:
        if due.quantity == "temperature" or due.low is None or due.high is None:
            return self._measured
        return f"{((due.low + due.high) / 2).normalize():f}"

    def _at_bolt(self, state: State) -> str | None:
        due = state.current_pass
        if due is None or state.bolt is None:
            return None
        if due.kind == "snug":
            return "snug"
        if due.goes_round:
            return "moved" if state.round == 1 and state.bolt in self._moving else "held"
        if due.clicks:
            return "clicked"
        assert due.setting is not None and due.low is not None and due.high is not None
        self._at += 1
        wanted = due.setting.value + self._step * self._offsets[self._at % len(self._offsets)]
        inside = due.low.value <= wanted <= due.high.value
        return f"{(wanted if inside else due.setting.value).normalize():f}"


def _noise(seed: int, samples: int = 3200) -> np.ndarray:
    return np.random.default_rng(seed).integers(-1500, 1500, samples, dtype=np.int16)


def golden(name: str) -> Iterator[str]:
    """Lines of one of the golden streams."""
    text = (DEMOS.parent / "tests" / "golden" / f"{name}.said").read_text(encoding="utf-8")
    return (line for line in text.splitlines() if line and not line.startswith("#"))
