"""Sessions made in code for the pages: the real core and the real journal, with sound that is made up."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path

import numpy as np

from assistant.bolting.planning.plan import plan, plan_document
from assistant.config.joint_file import parse_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events import (
    Alternative,
    EntryTakenBack,
    Event,
    Measured,
    NoteKept,
    Pass,
    PromptSpoken,
    Question,
    QuestionAnswered,
    ReadingKept,
    SessionLeft,
    SessionOpened,
    SessionResumed,
    SoundLost,
    StageFinished,
    UtteranceHeard,
    WorkLaidOut,
    stage_of,
)
from assistant.journal.disk import Disk
from assistant.journal.findings import Report
from assistant.journal.keyring import basis_of, own_public_key
from assistant.journal.seal import installation_key
from assistant.journal.store import JournalStore
from assistant.journal.verify import verify
from assistant.procedure.decide import begin, decide, time_is_up
from assistant.procedure.effects import effects, expecting
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.procedure.work import lay_out
from assistant.replay.rebuild import rebuild_state
from assistant.session.hearing import alternative, typed
from assistant.session.waits import time_left, waited_s
from assistant.speech.vocabulary import grammar_for
from tests.replay.worked import WAIT, Technician

DEMOS = Path(__file__).resolve().parents[2] / "demo_joints"
FLANGE = DEMOS / "north-sluice-dn150-flange.toml"
START = datetime(2026, 11, 25, 10, 15, tzinfo=timezone.utc)
DAY = date(2026, 11, 25)
RATE_HZ = 16_000
LISTENERS = ("constrained", "vosk")


class UnsyncedDisk(Disk):
    """A disk whose files are not forced to the medium: for sessions that need not survive."""

    def sync(self, descriptor: int) -> None:
        pass


def babble(text: str, *, loud: float = 6000.0) -> np.ndarray:
    """Something with the rhythm of speech: a hummed syllable for each few letters. int16, 16 000 Hz."""
    chance = np.random.default_rng(abs(hash_of(text)))
    pieces = [np.zeros(1600)]
    for word in text.split() or ["-"]:
        for _ in range(max(1, len(word) // 3)):
            length = int(chance.uniform(0.10, 0.18) * RATE_HZ)
            t = np.arange(length) / RATE_HZ
            pitch = chance.uniform(95, 150) * (1 - 0.15 * t / t[-1])
            voice = sum(np.sin(2 * np.pi * pitch * n * t) / n for n in range(1, 6))
            pieces.append(voice * np.hanning(length) * chance.uniform(0.5, 1.0))
        pieces.append(np.zeros(int(0.05 * RATE_HZ)))
    sound = np.concatenate([*pieces, np.zeros(1600)]) * loud
    return np.clip(sound + chance.normal(0, 60, sound.size), -32000, 32000).astype(np.int16)


def hash_of(text: str) -> int:
    return int.from_bytes(text.encode()[:7].ljust(7, b"."), "big")


@dataclass
class SessionMaker:
    """Speaks lines into a new session folder, as a technician would into `guide`.

    Args:
        sessions: folder of all sessions.
        joint_toml: path of the joint file.
        sound: keep a recording for each utterance (else as if typed).
    """

    sessions: Path
    joint_toml: Path = FLANGE
    sound: bool = True
    pace_s: float = 4.0
    disk: Disk | None = None
    apprentice: bool = False
    language: str = "en"

    def __post_init__(self) -> None:
        self.now = 0
        self.skew = timedelta(0)
        data = self.joint_toml.read_bytes()
        self.plan = plan(parse_joint(data, source=str(self.joint_toml)), today=DAY)
        self.store = JournalStore.create(
            self.sessions,
            joint=self.plan.joint.name,
            joint_toml=data,
            plan_json=json.dumps(plan_document(self.plan)).encode(),
            clock=self.clock,
            disk=self.disk or UnsyncedDisk(),
            need_bytes=0,
        )
        self.state = State()
        opened = SessionOpened(
            joint=self.plan.joint.name,
            joint_sha256=self.store.joint_sha256,
            plan_sha256=self.store.plan_sha256,
            product="assistant (tests)",
            listeners=LISTENERS,
            speaker="pyttsx3",
        )
        self._settle((opened,))
        work = lay_out(
            self.plan, usual_procedure(self.plan.joint.kind), apprentice=self.apprentice, language=self.language
        )
        self._settle((work, *begin(work, fold(self.state, (work,)))))

    @property
    def folder(self) -> Path:
        return self.store.folder

    def clock(self) -> datetime:
        return START + self.skew + timedelta(seconds=self.now / RATE_HZ)

    def wait(self, seconds: float) -> None:
        """Time goes by without a word."""
        self.now += int(seconds * RATE_HZ)

    def _settle(self, events: tuple[Event, ...]) -> None:
        said = effects(self.state, events).say
        self.store.append(events, self.now)
        self.state = fold(self.state, events)
        if said and not self.state.closed:
            start, self.now = self.now, self.now + int(0.055 * RATE_HZ * len(said))
            prompt = PromptSpoken(text=said, start_sample=start, end_sample=self.now)
            self.store.append((prompt,), self.now)
            self.state = fold(self.state, (prompt,))

    def hear(
        self,
        text: str,
        *,
        probability: float = 0.997,
        other: tuple[str, float] | None = None,
        decision: str | None = None,
        agreed: bool = True,
        accept_at: float = 0.95,
        vosk: str | None = None,
        snr_db: float = 12.5,
    ) -> None:
        """One utterance. `other` is a second number or command with its probability."""
        self.now += int(self.pace_s * RATE_HZ)
        samples = babble(text) if self.sound else np.zeros(0, np.int16)
        name, digest = self.store.audio.keep(samples)
        start, self.now = self.now, self.now + samples.size
        heard = typed(text, grammar_for(expecting(self.state)))
        ranked = [replace(alternative(each), probability=probability) for each in heard.ranked]
        if other is not None and ranked:
            value = Decimal(other[0]) if other[0].isdigit() else None
            kind = "value" if value is not None else "command"
            command = None if value is not None else other[0]
            ranked.append(Alternative(kind=kind, text=other[0], probability=other[1], value=value, command=command))
        best = heard.ranked[0].text if heard.ranked else ""
        event = UtteranceHeard(
            utterance=name,
            start_sample=start,
            end_sample=self.now,
            audio_sha256=digest,
            alternatives=tuple(ranked),
            fit=-1.25 if ranked else -9.5,
            free_text=text,
            listeners={"constrained": best, "vosk": best if vosk is None else vosk},
            agreed=agreed,
            decision=decision or ("accept" if ranked else "reject"),
            accept_at=accept_at,
            state=self.state.dialogue,
            snr_db=snr_db,
        )
        told = time_left(self.state, self.store.entries, self.clock())
        self._settle((*told, event, *decide(fold(self.state, told), event)))

    def let_wait(self) -> None:
        """The running wait's time passes without a word."""
        assert self.state.wait is not None
        waited = waited_s(self.state, self.store.entries, self.clock()) or 0
        self.wait(self.state.wait.seconds - waited + 1)
        self._settle(time_is_up(self.state, waited_s=self.state.wait.seconds))

    def answer(self, *, until: Callable[[State], bool] = lambda state: state.closed) -> None:
        """Everything that is asked is answered rightly, until something holds."""
        technician = Technician((0,), moving=())
        while not (self.state.closed or until(self.state)):
            line = technician(self.state)
            assert line is not None, self.state.dialogue
            if line == WAIT:
                self.let_wait()
            else:
                self.hear(line)

    def phrase(self, *, refused: bool = False) -> None:
        """The agreed phrase of the question that is due, or the first answer that it refuses."""
        assert self.state.question is not None, self.state.item
        self.hear(self.state.question.refused[0] if refused else self.state.question.phrase)

    def figure(self, text: str) -> None:
        """A measured figure, and yes where it is asked about first."""
        self.say(text)
        if self.state.dialogue == "asking":
            self.say("yes")

    def say(self, *lines: str) -> None:
        """Utterances that are heard well."""
        for line in lines:
            self.hear(line)

    def lose_sound(self, seconds: float) -> None:
        samples = int(seconds * RATE_HZ)
        self.store.append((SoundLost(reason="overrun", at_sample=self.now, samples=samples),), self.now)
        self.now += samples

    def resume(self, *, after: timedelta) -> None:
        """The machine stops in the middle of a line, and the session is continued another time."""
        folder, journal = self.folder, self.folder / "journal.jsonl"
        self.store.close()
        with journal.open("ab") as file:
            file.write(b'{"check":"0123456789abcdef","kind":"')
        self.skew += after
        self.store = JournalStore.open(folder, clock=self.clock, disk=self.disk or UnsyncedDisk())
        resumed = SessionResumed(
            product="assistant (tests)", listeners=LISTENERS, speaker="pyttsx3", torn_bytes=self.store.torn_bytes
        )
        self._settle((resumed, *begin(resumed, fold(self.state, (resumed,)))))

    def seal(self, keys: Path) -> None:
        self.store.seal(installation_key(keys), "assistant (tests)")

    def close(self) -> Path:
        """Let go of the folder and name it."""
        self.store.close()
        return self.folder


def at_pass(number: int, *, kind: str = "") -> Callable[[State], bool]:
    """Holds once a pass of this number (and kind) is worked on and nothing is asked about it."""
    return lambda state: (
        state.current_pass is not None
        and state.dialogue == "guiding"
        and state.current_pass.number == number
        and kind in ("", state.current_pass.kind)
    )


def at(name: str) -> Callable[[State], bool]:
    """Holds once the stage of this name is due."""
    return lambda state: getattr(state.item, "name", "") == name


def checked(folder: Path) -> Report:
    """What verification finds where the key in `keys` beside the sessions is the machine's own."""
    keys = [key for place in (folder.parent, folder.parent.parent) if (key := own_public_key(place / "keys"))]
    return verify(folder, rebuild=rebuild_state, basis=basis_of(keys))


def finished_session(sessions: Path, keys: Path, *, language: str = "en") -> Path:
    """The demo flange, closed and sealed, with every kind of slip that a lead may meet."""
    made = SessionMaker(sessions, language=language)
    made.answer(until=at("lock-out"))
    made.hear("yes")
    made.phrase()
    made.say("Sam Reed", "yes")
    made.answer(until=at("thread condition"))
    made.say("dry", "the paste is in the store")
    made.answer(until=at_pass(0))
    made.say(*["snug"] * 4)
    made.hear("is the other gasket in the van", vosk="snug")
    made.say("snug", "done", "done", "done")
    made.phrase()
    made.say("52", "bolt three 52")
    made.hear("52", probability=0.71, other=("72", 0.24), decision="ask", agreed=False, vosk="seventy two")
    made.say("yes", "38", "52", "200", "note paint flakes under washer three", "52")
    made.hear("53", probability=0.955, other=("63", 0.03))
    made.say("skip socket does not fit", "52", "52")
    made.wait(420)
    made.say("52", "102", "correction", "correction 104", "102", "stop", "resume", "102", "90", "102", "90", "keep")
    made.say("nut face is damaged, lead agreed", "102")
    made.lose_sound(0.8)
    made.resume(after=timedelta(minutes=55))
    made.say(
        "102", "102", "170", "172", "hand over", "resume", "Alex Moor", "yes", "170", "168", "170", "174", "170", "170"
    )
    made.phrase()
    made.say("did not move", "moved", *["did not move"] * 6, "172", *["did not move"] * 8)
    made.let_wait()
    made.say(*["did not move"] * 8)
    made.answer(until=lambda state: state.dialogue == "waiting")
    made.wait(20 * 3600)
    made.say("skip", "the line is wanted back tonight")
    made.answer(until=at("temperature"))
    made.figure("95")
    made.figure("38")
    made.say("Toni Vale", "yes")
    made.say(*["did not move"] * 5, "moved", *["did not move"] * 10)
    made.phrase(refused=True)
    made.answer()
    made.seal(keys)
    return made.close()


def apprentice_session(sessions: Path, *, language: str = "en") -> Path:
    """The coupling with an apprentice: a wrong answer, a replaced bolt, a pass done over, six rounds, a wait cut short;
    left open in its re-check.
    """
    coupling = DEMOS / "north-sluice-conveying-pipe-coupling.toml"
    made = SessionMaker(sessions, joint_toml=coupling, apprentice=True, language=language)
    made.answer(until=lambda state: state.dialogue == "asked-back")
    made.say("the noise")
    made.answer(until=lambda state: state.dialogue == "asked-back" and state.expects.isdecimal())
    made.say("bolt two")
    made.say("clicked", "clicked", "bolt one replaced", "yes")
    made.answer(until=at_pass(2))
    made.say(
        "clicked", "restart the pass", "yes", "skip", "supervisor agrees", "Kim Wells", "yes", "the socket is too wide"
    )
    made.answer(until=at_pass(5, kind="seat"))
    made.say(*["moved"] * 10, "resume", "Kim Wells, site engineer", "yes", *["did not move"] * 2)
    made.answer(until=lambda state: state.dialogue == "waiting")
    made.say("skip", "supervisor agrees", "Kim Wells", "yes", "only a trial")
    made.answer(until=at("temperature"))
    made.figure("120")
    made.say("Toni Vale", "yes", "moved")
    made.say("leave it open", "yes")
    return made.close()


def unfinished_session(sessions: Path) -> Path:
    """Left in the middle of the second pass, with a bolt skipped."""
    made = SessionMaker(sessions)
    made.answer(until=at_pass(1))
    made.say(*["52"] * 8, "102", "102")
    made.say("skip", "stud is bent")
    made.say("102")
    return made.close()


def clicking_session(sessions: Path) -> Path:
    """Another joint, without recordings, as if it had been typed; its work is prepared."""
    made = SessionMaker(sessions, joint_toml=DEMOS / "north-sluice-conveying-pipe-coupling.toml", sound=False)
    made.answer(until=lambda state: state.current_pass is not None)
    return made.close()


HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(2)>\u2028\u202e{{ 7 * 7 }} \"'&"


def hostile_session(sessions: Path) -> Path:
    """Somebody wrote markup wherever free text may stand: joint, group, question, note, words heard, listeners."""
    store = JournalStore.create(
        sessions,
        joint="hostile",
        joint_toml=b"",
        plan_json=b"{}",
        clock=lambda: START,
        disk=UnsyncedDisk(),
        need_bytes=0,
    )
    newton = Measured(Decimal("100"), "N*m")
    tighten = Pass(
        group=HOSTILE,
        kind="pattern",
        number=1,
        bolts=(1, 2, 3, 4),
        target=newton,
        setting=newton,
        low=Measured(Decimal("95"), "N*m"),
        high=Measured(Decimal("9" * 30), HOSTILE),
    )
    question = Question(name=HOSTILE, phase="prepare", ask=HOSTILE, phrase=HOSTILE, hold=True, role=HOSTILE)
    digest = {"joint_sha256": store.joint_sha256, "plan_sha256": store.plan_sha256}
    name, audio = store.audio.keep(babble("hostile"))
    heard = Alternative(kind="value", text=HOSTILE, probability=0.9, value=Decimal("9" * 30), unit=HOSTILE)
    store.append(
        [
            SessionOpened(joint=HOSTILE, product=HOSTILE, listeners=(HOSTILE,), speaker=HOSTILE, **digest),
            WorkLaidOut(joint=HOSTILE, stages=(stage_of(question), stage_of(tighten))),
            PromptSpoken(text=HOSTILE, start_sample=0, end_sample=9000),
            UtteranceHeard(
                utterance=name,
                start_sample=9000,
                end_sample=2,
                audio_sha256=audio,
                alternatives=(heard, heard),
                fit=None,
                free_text=HOSTILE,
                listeners={HOSTILE: HOSTILE},
                agreed=True,
                decision=HOSTILE,
                accept_at=7.0,
                state=HOSTILE,
            ),
            QuestionAnswered(entry=1, stage=1, name=HOSTILE, phrase=HOSTILE, role=HOSTILE, hold=True, utterance=name),
            StageFinished(stage=1, round=1),
            ReadingKept(
                entry=2,
                stage=2,
                round=1,
                pass_number=1,
                bolt=1,
                achieved=Measured(Decimal("9" * 30), HOSTILE),
                reason=HOSTILE,
                utterance=HOSTILE,
                reason_utterance=HOSTILE,
            ),
            EntryTakenBack(taken_back=99, utterance=name),
            NoteKept(bolt=3, text=HOSTILE * 200, utterance=name),
            SoundLost(reason=HOSTILE, at_sample=10**15, samples=10**15),
            SessionLeft(reason=HOSTILE),
        ],
        20_000,
    )
    store.close()
    return store.folder


def whole_session(sessions: Path, joint_toml: Path, *, sound: bool = True) -> Path:
    """Any joint, closed without a hitch: each question by its phrase, each bolt at its setting."""
    made = SessionMaker(sessions, joint_toml=joint_toml, sound=sound)
    made.answer()
    return made.close()
