"""A rehearsal with typed answers, in silence and without waiting: for scripts, through `assistant.rehearse`."""

from __future__ import annotations

import contextlib
import functools
import io
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from assistant.bolting.planning.plan import plan
from assistant.cli import house, opening
from assistant.cli.joint_work import work_at
from assistant.cli.keys import own_signer
from assistant.cli.later_clock import LaterClock
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.settings import read_settings
from assistant.devices.microphones import TypedMicrophone
from assistant.devices.speaker import SilentSpeaker
from assistant.events import Event, SessionResumed
from assistant.journal.store import JournalStore


def typed_rehearsal(joint: Path, said: Sequence[str], *, sessions: Path, day: date | None) -> Path:
    """Go through a joint with typed answers.

    Args:
        joint: a joint file.
        said: the answers; where the joint is left open and some remain, it is opened again when it is due.
        sessions: folder of all sessions.
        day: calibration is judged by it; None: today.

    Returns:
        The session's folder.
    """
    data = read_bytes(joint)
    laid_out = plan(parse_joint(data, source=str(joint)), today=day or house.today())
    work = work_at(laid_out, near=joint.parent)
    days = LaterClock()
    text = io.StringIO("".join(f"{' '.join(line.split())}\n" for line in said))
    with contextlib.ExitStack() as undo:
        parts = house.Parts(read_settings())
        undo.callback(parts.close)
        opened = opening.open_session(sessions, data, laid_out, work, anew=True, clock=days, played="rehearsal")
        recording, first = opened.recording, opened.first
        undo.callback(lambda: recording.close())
        speaker = SilentSpeaker()
        while True:
            session = parts.session(
                recording=recording,
                microphone=TypedMicrophone(text),
                speaker=speaker,
                hearing=parts.hearing(typed=True),
                watch=lambda _entries: None,
                closing=functools.partial(opening.seal, recording),
                real_time=False,
                clock=days,
            )
            with opening.leaving(session):
                state = session.run(opening.named(first, listeners=("typed",), speaker=speaker.name))
            if not (state.left and text.tell() < len(text.getvalue())):
                break
            recording, first = due_again(recording, state.left_s or 0, days)
        if not state.closed:
            session.leave("the end of the typed lines")
        return recording.folder


def due_again(recording: JournalStore, left_s: int, days: LaterClock) -> tuple[JournalStore, tuple[Event, ...]]:
    """A joint that was left open, opened again when its time has come, as `guide` would on another day.

    Args:
        recording: is closed.
        left_s: what was left of the wait, seconds.
        days: is set on by it.
    """
    days.skip(left_s + 60)
    folder = recording.folder
    recording.close()
    again = JournalStore.open(folder, clock=days, signer=own_signer())
    resumed = SessionResumed(product=opening.PRODUCT, listeners=(), speaker="", torn_bytes=again.torn_bytes)
    return again, (resumed,)
