"""`assistant rehearse`: a simulated technician speaks a whole joint through the real loop, in noise and with slips."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import soxr

from assistant.bolting.planning.plan import plan
from assistant.cli import boards, house, opening
from assistant.cli.joint_work import work_at
from assistant.cli.later_clock import LaterClock
from assistant.cli.practised_joint import play_joint
from assistant.cli.session_sources import record_of
from assistant.cli.typed_rehearsal import due_again
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.settings import read_settings
from assistant.devices.espeak_voices import speak
from assistant.devices.noise import KINDS, make_noise
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.wav_file import write_wav
from assistant.errors import BadSettings
from assistant.events import SAMPLE_RATE_HZ, Event
from assistant.journal.reading import Entry
from assistant.journal.store import JournalStore
from assistant.ports import Samples
from assistant.procedure.state import State
from assistant.rehearsal.pace import RealPace
from assistant.rehearsal.practice import SLIPS as PRACTICE_SLIPS
from assistant.rehearsal.reckoning import Reckoning, conversation, reckon
from assistant.rehearsal.room_speaker import RehearsalSpeaker
from assistant.rehearsal.slips import SLIPS
from assistant.rehearsal.technician import NAME, Technician
from assistant.replay.verdict import verdict
from assistant.report.wording import words_in
from assistant.session.loop import Session
from assistant.session.manner import Turn
from assistant.speech.wording import LANGUAGES

NOISE_S = 60
DESCRIPTION = "Rehearse a joint with a simulated technician."
EPILOG = f"""\
The technician is simulated; endpointing, listening, dialogue, record and voice are the real ones.
The whole conversation is left as a WAV file beside the session folder.

noise: {", ".join(KINDS)}, none, or a sound file
slips: {", ".join(SLIPS)}

With --apprentice the roles are turned: the assistant plays the joint and says what the wrench reads; you answer by
microphone or keyboard. Things are slipped in that are wrong ({", ".join(PRACTICE_SLIPS)});
say 'stop' when you notice one. Afterwards it tells which were caught.

examples:
  assistant rehearse demo_joints/north-sluice-dn150-flange.toml --snr 10 --fast
  assistant rehearse JOINT.toml --apprentice --listen typed --speak silent
  assistant rehearse JOINT.toml --noise grinder --snr 5 --slips wrong-first,cough --seed 3 --fast --json

exit codes: 0 joint closed and sealed, 1 not complete, 2 bad input, 3 a model is missing, 4 interrupted but stored
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("joint", metavar="JOINT", type=Path, help="a joint file (TOML)")
    parser.add_argument(
        "--voice", default="gmw/en-us-nyc+m4", metavar="NAME", help="the technician's voice (eSpeak NG)"
    )
    parser.add_argument("--noise", default="fan", metavar="KIND|FILE", help="what is heard around (default: fan)")
    parser.add_argument("--snr", type=float, default=10.0, metavar="DB", help="speech over noise (default: 10 dB)")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed says and does the same")
    parser.add_argument("--slips", default="all", metavar="LIST", help="comma-separated slips, 'all' or 'none'")
    parser.add_argument("--language", choices=LANGUAGES, help="what prompts are said in; you always answer in English")
    parser.add_argument("--apprentice", action="store_true", help="practice: the assistant plays the joint, you speak")
    parser.add_argument(
        "--listen", default="mic", metavar="mic|typed|wav:FILE", help="practice: where your words come from"
    )
    parser.add_argument(
        "--speak", default="voice", metavar="voice|silent|wav:FOLDER", help="practice: where prompts go"
    )
    parser.add_argument("--name", metavar="NAME", help="practice: whose, where `practise --keep` keeps what is missed")
    parser.add_argument("--fast", action="store_true", help="as fast as it computes, instead of in real time")
    parser.add_argument("--sessions", type=Path, metavar="FOLDER", help="folder of all sessions")
    parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    parser.add_argument("--date", type=date.fromisoformat, help=argparse.SUPPRESS)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Rehearse one joint.

    Returns:
        0 when the joint was closed, 1 when not.
    """
    if args.apprentice:
        return play_joint(args)
    reckoning, folder = rehearse(args, show=not args.json)
    record = record_of(folder)
    document = reckoning.document(str(folder)) | {"verdict": record.verdict}
    if args.json:
        print(json.dumps(document, indent=2))
    else:
        for line in summary(document):
            print(line)
    return 0 if verdict(record).good else 1


def rehearse(args: argparse.Namespace, *, show: bool) -> tuple[Reckoning, Path]:
    """Run it; the figures, and the session's folder."""
    settings = house.spoken_in(read_settings(), args.language)
    data = read_bytes(args.joint)
    laid_out = plan(parse_joint(data, source=str(args.joint)), today=args.date or house.today())
    work = work_at(laid_out, near=args.joint.parent, language=settings.language, asks_who=True, people=(NAME,))
    technician = _technician(args)
    with contextlib.ExitStack() as undo:
        sessions = args.sessions or house.sessions_folder(settings)
        days = LaterClock()
        opened = opening.open_session(sessions, data, laid_out, work, anew=True, clock=days, played="rehearsal")
        parts = house.Parts(replace_headset(settings))
        undo.callback(parts.close)
        prompts = parts.prompts()
        speaker = RehearsalSpeaker(
            sound=lambda text: _prompt(prompts, text), ahead=prompts.prepare, technician=technician
        )
        hearing = parts.hearing()
        for line in parts.start_lines():
            print(line, file=sys.stderr)
        turns: list[Turn] = []
        recording, first = opened.recording, opened.first
        while True:
            undo.callback(recording.close)
            session = parts.session(
                recording=recording,
                microphone=technician if args.fast else RealPace(technician),
                speaker=speaker,
                hearing=hearing,
                watch=boards.shown_in(words_in(settings.language)) if show else _quiet,
                closing=lambda: opening.seal(recording),  # noqa: B023 - the session that closes is the one that runs
                real_time=False,
                clock=days,
            )
            technician.watch(lambda: session.state)  # noqa: B023 - it looks at the session that runs
            with opening.leaving(session):
                session.run(opening.named(first, listeners=hearing.names, speaker=speaker.name))
            turns += session.turns
            if not session.state.left:
                break
            recording, first = _come_back(recording, session.state, technician, days)
        if not session.state.closed:
            session.leave("the rehearsal gave up" if technician.gave_up else "the end of the sound")
        _keep_sound(recording.folder, technician, speaker)
        events = [entry.event for entry in recording.entries]
        return reckon(events, technician.said, turns), recording.folder


def _come_back(
    recording: JournalStore, state: State, technician: Technician, days: LaterClock
) -> tuple[JournalStore, tuple[Event, ...]]:
    """The joint was left open: open it again when its time has come, as `guide` would on another day."""
    again, first = due_again(recording, state.left_s or 0, days)
    technician.come_back(again.entries[-1].sample)
    return again, first


def replace_headset(settings: Any) -> Any:
    """The rehearsal's microphone hears no speaker, and its prompts are waited for."""
    return settings.model_copy(update={"headset": False})


def _technician(args: argparse.Namespace) -> Technician:
    noise = None if args.noise == "none" else make_noise(args.noise, NOISE_S * SAMPLE_RATE_HZ, args.seed)
    if not -20 <= args.snr <= 60:
        raise BadSettings(f"--snr is {args.snr:g}", remedy="a number of dB from -20 to 60")
    return Technician(
        voice=lambda text: speak(text, args.voice, 160),
        noise=noise,
        snr_db=args.snr,
        slips=_slips(args.slips),
        seed=args.seed,
    )


def _slips(text: str) -> tuple[str, ...]:
    names = tuple(SLIPS) if text == "all" else () if text == "none" else tuple(n.strip() for n in text.split(","))
    for name in names:
        if name not in SLIPS:
            raise BadSettings(f"--slips names {name!r}", remedy=f"any of {', '.join(SLIPS)}; or all, or none")
    return names


def _prompt(prompts: PromptCache, text: str) -> Samples:
    samples, rate = prompts.sound(text)
    return np.asarray(soxr.resample(samples, rate, SAMPLE_RATE_HZ), dtype=np.int16)


def _keep_sound(folder: Path, technician: Technician, speaker: RehearsalSpeaker) -> None:
    heard = [(block.at_sample, block.samples) for block in technician.heard]
    write_wav(folder.with_suffix(".wav"), conversation(heard, speaker.prompts))


def summary(document: dict[str, Any]) -> list[str]:
    """The figures for people."""
    reply = document["end_to_prompt_ms"]
    folder = Path(document["session"])
    return [
        "",
        f"{'complete' if document['complete'] else 'NOT COMPLETE'}: {document['bolts']} bolts, "
        f"{document['accepted']} readings recorded ({document['accepted_at_once']} without a question), "
        f"{document['asked']} asked, {document['wrong_accepted']} wrong",
        f"{document['turns']} turns; end of speech to reply {reply['p50']} ms (median), {reply['p95']} ms (95 %)",
        f"session:      {folder}",
        f"conversation: {folder.with_suffix('.wav')}",
        f"transcript:   assistant replay {folder}",
    ]


def _quiet(entries: Sequence[Entry]) -> None:
    del entries


__all__ = ["Session", "register", "rehearse", "run", "summary"]
