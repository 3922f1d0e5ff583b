"""Puts the parts together: settings, models and devices become what a session needs. Nothing else knows them all."""

from __future__ import annotations

import contextlib
import datetime
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from assistant.cli.edges import Clocked, Edges
from assistant.config import paths
from assistant.config.settings import Settings
from assistant.devices.calibration_file import other_weights, read_calibration
from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.echo import EchoCanceller
from assistant.devices.live_microphone import SoundDeviceMicrophone
from assistant.devices.loudspeaker import LoudSpeaker
from assistant.devices.microphones import TypedMicrophone, WavMicrophone
from assistant.devices.portaudio import PortAudio
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.devices.speaker import SilentSpeaker, WavSpeaker
from assistant.devices.voice_activity import SileroActivity
from assistant.devices.voice_settings import VoiceSettings, voices_for
from assistant.devices.vosk_follower import VoskFollower
from assistant.errors import BadSettings, Missing, ModelMissing
from assistant.events import Event
from assistant.journal.clock import Clock, utc_now
from assistant.journal.reading import Entry
from assistant.journal.recording import Recording
from assistant.ports import Microphone, Recogniser, Samples, Speaker
from assistant.procedure.state import State
from assistant.replay.rebuild import rebuild_state
from assistant.session.hearing import Combine, Hearing
from assistant.session.loop import Session
from assistant.session.manner import Manner
from assistant.speech.calibration import Calibration
from assistant.speech.heard import Heard, Reading
from assistant.speech.quality import measure
from assistant.speech.vocabulary import everything
from assistant.speech.voting import combine

EAR = "ear/encoder.onnx"


class Leavable(Protocol):
    """What `guide.leaving` needs of a session."""

    def leave(self, reason: str) -> None:
        """Record that the session ends before the joint is finished."""


ListenerMaker = Callable[[], Recogniser]
Attempt = Callable[[], str]


def listener_makers(settings: Settings) -> dict[str, ListenerMaker]:
    """How to make each listener, by its name."""
    models = paths.models_folder(settings.models)
    return {
        "constrained": lambda: ConstrainedListener(models / EAR),
        "vosk": lambda: VoskFollower(settings.vosk_model or models / "vosk"),
    }


def thresholds_line(settings: Settings) -> str:
    """Where the calibrated thresholds come from. Raises ModelMissing."""
    path = paths.models_folder(settings.models) / "calibration.json"
    calibration = read_calibration(path)
    return f"{path.name}, for {len(calibration.combiners)} sets of listeners"


def voice_settings(settings: Settings) -> VoiceSettings:
    """How prompts sound: the voice that is set, or the language's own where that one cannot speak it."""
    voice, quoted = voices_for(settings.language, settings.voice)
    return VoiceSettings(voice, settings.rate_wpm, settings.volume, quoted_voice=quoted)


def spoken_in(settings: Settings, language: str | None) -> Settings:
    """The settings with the language that was asked for on the command line; None keeps the one that is set."""
    return settings if language is None else settings.model_copy(update={"language": language})


UNHURRIED = 0.85
"""How fast an apprentice is spoken to, against the usual rate (common practice, no source)."""


def unhurried(settings: Settings) -> Settings:
    """The settings with slower speech, for an apprentice."""
    return settings.model_copy(update={"rate_wpm": max(80, round(settings.rate_wpm * UNHURRIED))})


def today() -> datetime.date:
    """The day of the job, by the machine's calendar."""
    return datetime.date.today()


class Parts:
    """Makes each part on first use and lets go of all of them in the end.

    Args:
        settings: as read from the settings file.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self._undo = contextlib.ExitStack()
        self._notes: list[str] = []
        self._portaudio: PortAudio | None = None
        self.canceller = EchoCanceller()
        """What it learns in the sound test serves the session."""

    def close(self) -> None:
        """Let go of everything. May be called twice."""
        self._undo.close()

    def start_lines(self) -> list[str]:
        """What a person should know at the start: listeners that are missing and what follows from it."""
        return list(self._notes)

    # ------------------------------------------------------------------------------------------------------ speaking
    def prompts(self) -> PromptCache:
        """Rendered prompts, kept from one session to the next."""
        cache = PromptCache(Pyttsx3Renderer(voice_settings(self.settings)), paths.cache_folder() / "prompts")
        self._undo.callback(cache.close)
        return cache

    def speaker(self, kind: str, folder: Path | None, microphone: Clocked) -> Speaker:
        """A voice: 'voice', 'silent' or 'wav' with its folder.

        Raises:
            DeviceMissing: no loudspeaker, or PortAudio is missing.
        """
        speaker: Speaker
        if kind == "voice":
            clock, audio = microphone.now_sample, self._audio()
            speaker = LoudSpeaker(self.prompts(), clock=clock, device=self.settings.loudspeaker, audio=audio)
            if isinstance(microphone, SoundDeviceMicrophone):
                microphone.watch_streams({"input": microphone.device.place, "output": speaker.device.place})
        elif kind == "wav" and folder is not None:
            speaker = WavSpeaker(self.prompts(), folder)
        else:
            speaker = SilentSpeaker()
        self._undo.callback(speaker.close)
        return speaker

    def _audio(self) -> PortAudio:
        """One for microphone and loudspeaker: when one of them has the device list read anew, the other must know."""
        self._portaudio = self._portaudio or PortAudio()
        return self._portaudio

    # ----------------------------------------------------------------------------------------------------- listening
    def microphone(self, kind: str, file: Path | None) -> Clocked:
        """A source of words: 'mic', 'typed' or 'wav' with its file.

        Raises:
            DeviceMissing, BadAudio: it is not there, or cannot be read.
        """
        microphone: Clocked
        if kind == "mic":
            microphone = SoundDeviceMicrophone(device=self.settings.microphone, audio=self._audio())
        elif kind == "wav" and file is not None:
            microphone = WavMicrophone(file)
        else:
            microphone = TypedMicrophone(sys.stdin)
        self._undo.callback(microphone.close)
        return microphone

    def edges(self, listen: tuple[str, Path | None], speak: tuple[str, Path | None]) -> Edges:
        """Microphone, speaker and listeners of a session; what a person should know of them is printed to stderr.

        Args:
            listen: 'mic', 'typed' or 'wav' with its file.
            speak: 'voice', 'silent' or 'wav' with its folder.

        Raises:
            DeviceMissing, BadAudio, ModelMissing: one is not there, or cannot be read.
        """
        microphone = self.microphone(*listen)
        typed = listen[0] == "typed"
        speaker, hearing = self.speaker(*speak, microphone), self.hearing(typed=typed)
        for line in self.start_lines():
            print(line, file=sys.stderr)
        return Edges(
            microphone=microphone,
            speaker=speaker,
            hearing=hearing,
            typed=typed,
            real_time=listen[0] == "mic",
        )

    def hearing(self, *, typed: bool = False) -> Hearing:
        """All listeners that are there; none for typed words.

        A missing listener is said in `start_lines`, and what is left goes on with stricter thresholds: the packaged
        encoder instead of our ear, or one listener alone.

        Raises:
            ModelMissing: no listener is there.
        """
        if typed:
            return Hearing((), _no_sound)
        recognisers, missing = self._recognisers()
        models = paths.models_folder(self.settings.models)
        calibration = read_calibration(models / "calibration.json")
        here = {recogniser.name for recogniser in recognisers}
        others = other_weights(
            calibration,
            encoder=models / EAR if "constrained" in here else None,
            vosk_model=self.settings.vosk_model or models / "vosk" if "vosk" in here else None,
        )
        if others:
            calibration = calibration.stricter()
            self._notes.append(f"Not the weights that were calibrated, so more will be asked: {', '.join(others)}")
        hearing = Hearing(recognisers, _vote(calibration))
        self._undo.callback(hearing.close)
        for error in missing:
            kept = (
                "Our ear is not there, the packaged one listens" if len(recognisers) == 2 else "One listener is missing"
            )
            self._notes.append(f"{kept}, so more will be asked: {error.message}\n  {error.remedy}")
        return hearing

    def _recognisers(self) -> tuple[list[Recogniser], list[Missing]]:
        found: list[Recogniser] = []
        missing: list[Missing] = []
        for name, make in listener_makers(self.settings).items():
            try:
                found.append(make())
            except ModelMissing as error:
                missing.append(error)
                if name == ConstrainedListener.name:
                    with contextlib.suppress(ModelMissing):
                        found.append(ConstrainedListener(None))
        if not found:
            raise ModelMissing("; ".join(e.message for e in missing), remedy="; ".join(e.remedy for e in missing))
        return found, missing

    # ------------------------------------------------------------------------------------------------------- together
    def session(
        self,
        *,
        recording: Recording,
        microphone: Microphone,
        speaker: Speaker,
        hearing: Hearing,
        watch: Callable[[Sequence[Entry]], None],
        closing: Callable[[], None],
        real_time: bool,
        begun_at: int = 0,
        clock: Clock = utc_now,
        beside: Callable[[State, Sequence[Event]], str] = lambda _state, _events: "",
    ) -> Session:
        """A session over these parts, standing where its recording left off."""
        headset = self.settings.headset
        return Session(
            recording=recording,
            state=rebuild_state(entry.event for entry in recording.entries),
            microphone=microphone,
            speaker=speaker,
            hearing=hearing,
            activity=SileroActivity(),
            overhearing=SileroActivity() if real_time else None,
            canceller=self.canceller if real_time else None,
            manner=Manner(
                headset=headset, tail_ms=self.settings.echo_tail_ms, real_time=real_time, keeps=self.settings.keep_sound
            ),
            watch=watch,
            closing=closing,
            clock=clock,
            begun_at=begun_at,
            beside=beside,
        )


def _vote(calibration: Calibration) -> Combine:
    def vote(readings: Sequence[Reading], samples: Samples) -> Heard:
        return combine(readings, calibration, quality=measure(samples))

    return vote


def _no_sound(readings: Sequence[Reading], samples: Samples) -> Heard:
    del readings, samples
    raise BadSettings("there is sound, but only typed words were asked for", remedy="--listen mic")


def sessions_folder(settings: Settings) -> Path:
    """Where sessions are kept."""
    return settings.sessions or paths.sessions_folder()


__all__ = ["Leavable", "Parts", "everything", "sessions_folder", "today"]
