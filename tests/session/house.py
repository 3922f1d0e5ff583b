"""A session put together for tests: real loop, real journal (in memory), typed lines or sound, silent speaker."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np

from assistant.devices.microphones import TypedMicrophone
from assistant.devices.speaker import SilentSpeaker
from assistant.events import Event, SessionOpened, WorkLaidOut
from assistant.journal.clock import Clock, utc_now
from assistant.journal.recording import MemoryStore, Recording
from assistant.ports import Activity, Canceller, Microphone, Samples, Speaker, Spoken
from assistant.procedure.state import State
from assistant.replay.rebuild import rebuild_state
from assistant.session.hearing import Combine, Hearing
from assistant.session.loop import Session
from assistant.session.manner import Manner
from assistant.speech.heard import Heard
from tests.procedure.talk import work

OPENED = SessionOpened(
    joint="Test flange",
    joint_sha256="0" * 64,
    plan_sha256="0" * 64,
    product="assistant (tests)",
    listeners=("typed",),
    speaker="silent",
)


class LongVoice(Speaker):
    """ports.Speaker whose every prompt lasts so many samples."""

    name = "long"

    def __init__(self, samples: int) -> None:
        self.samples = samples

    def prepare(self, texts: Sequence[str]) -> None:
        pass

    def say(self, text: str, at_sample: int) -> Spoken:
        return Spoken(at_sample, at_sample + self.samples)

    def close(self) -> None:
        pass


class LoudIsSpeech:
    """ports.Activity for made-up sound: a frame is speech when it is loud."""

    frame_samples = 512

    def probability(self, frame: Samples) -> float:
        return 1.0 if np.abs(frame.astype(np.int32)).mean() > 500 else 0.0

    def reset(self) -> None:
        pass


def nothing(_readings: object, _samples: Samples) -> Heard:
    return Heard((), "reject", None, "", {}, True)


def session(
    microphone: Microphone,
    *,
    recording: Recording | None = None,
    speaker: Speaker | None = None,
    hearing: Hearing | None = None,
    combine: Combine = nothing,
    manner: Manner | None = None,
    activity: Activity | None = None,
    overhearing: Activity | None = None,
    canceller: Canceller | None = None,
    clock: Clock = utc_now,
) -> Session:
    recording = recording or MemoryStore()
    return Session(
        recording=recording,
        state=rebuild_state(e.event for e in recording.entries),
        microphone=microphone,
        speaker=speaker or SilentSpeaker(),
        hearing=hearing or Hearing((), combine),
        activity=activity or LoudIsSpeech(),
        overhearing=overhearing,
        canceller=canceller,
        manner=manner or Manner(real_time=False),
        clock=clock,
    )


def typed(lines: Sequence[str], first: Sequence[Event] | None = None, **parts: object) -> Session:
    """A session that was typed to its end."""
    made = session(TypedMicrophone(io.StringIO("\n".join(lines) + "\n")), **parts)  # type: ignore[arg-type]
    made.run(first if first is not None else (OPENED, work()))
    return made


def events_of(made: Session) -> list[Event]:
    return [entry.event for entry in made.recording.entries]


__all__ = ["OPENED", "LoudIsSpeech", "State", "WorkLaidOut", "events_of", "session", "typed"]
