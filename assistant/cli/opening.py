"""A session opened, run and sealed: what all commands share in which one is held."""

from __future__ import annotations

import contextlib
import hashlib
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.bolting.planning.plan import Plan, plan_document
from assistant.cli import endings, follow_up, house
from assistant.cli.keys import own_signer
from assistant.config.program import product
from assistant.errors import AssistantError, BadSession, BadSettings, Interrupted, StoppedByHand
from assistant.events import Event, SessionOpened, SessionResumed, WorkLaidOut
from assistant.journal.approval import Approval
from assistant.journal.clock import Clock, utc_now
from assistant.journal.disk import read_regular
from assistant.journal.sessions import JOINT_NAME, MICROPHONE, PLAYED, latest, session_folders, slug_of, status_of
from assistant.journal.store import JournalStore

PRODUCT = product()


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A session that is ready to run: its record, and the events it begins with (listeners not filled in yet)."""

    recording: JournalStore
    first: tuple[Event, ...]
    resumed: bool

    @property
    def language(self) -> str:
        """That it is held in: of the work that was laid out when it began."""
        events = (*(entry.event for entry in self.recording.entries), *self.first)
        return next(e.language for e in events if isinstance(e, WorkLaidOut))


def open_session(
    sessions: Path,
    data: bytes,
    laid_out: Plan,
    work: WorkLaidOut,
    *,
    anew: bool,
    clock: Clock = utc_now,
    played: str = "",
    approval: Approval | None = None,
) -> Opened:
    """Go on with the unfinished session on this joint file, or begin one.

    Args:
        played: "rehearsal" or "practice" where nobody works on a real joint.
        approval: of joint file and plan, for the record; None where nobody asks for one.

    Raises:
        BadSession: the unfinished one is damaged, or being written by another process.
        RecordNotWritable: the folder refuses.
    """
    digest = hashlib.sha256(data).hexdigest()
    seal_closed(sessions, digest)
    earlier = None if anew else latest(sessions, joint_sha256=digest, slug=slug_of(laid_out.joint.name))
    if earlier is not None and earlier.state == "unfinished":
        recording = JournalStore.open(earlier.folder, signer=own_signer())
        if not any(isinstance(e.event, WorkLaidOut) for e in recording.entries):
            recording.close()
            raise BadSession(f"{earlier.folder} stopped before its work was laid out", remedy="begin anew with --new")
        resumed = SessionResumed(product=PRODUCT, listeners=(), speaker="", torn_bytes=recording.torn_bytes)
        if recording.torn_bytes:
            print(f"Set aside, it was being written at the stop: {recording.torn_bytes} bytes", file=sys.stderr)
        if recording.unprotected:
            lines = " to ".join(map(str, recording.unprotected))
            print(f"Not signed yet when this machine stopped: lines {lines}", file=sys.stderr)
        return Opened(recording=recording, first=(resumed,), resumed=True)
    document = plan_document(laid_out)
    asked = follow_up.Wanted() if anew else follow_up.wanted(sessions, laid_out.joint.name)
    due = follow_up.next_work(asked, work)
    if earlier is not None and not due.settings:
        raise BadSession(f"{earlier.folder} {earlier.told}", remedy=f"{earlier.remedy}; --new begins the joint anew")
    recording = JournalStore.create(
        sessions,
        joint=laid_out.joint.name,
        joint_toml=data,
        plan_json=(json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode(),
        clock=clock,
        signer=own_signer(),
    )
    first = SessionOpened(
        joint=laid_out.joint.name,
        joint_sha256=recording.joint_sha256,
        plan_sha256=recording.plan_sha256,
        product=PRODUCT,
        listeners=(),
        speaker="",
        settings=due.settings
        | ({PLAYED: played} if played else {})
        | (approval.as_settings() if approval is not None else {}),
    )
    return Opened(recording=recording, first=(first, due.work), resumed=False)


def named(
    first: Sequence[Event], *, listeners: tuple[str, ...], speaker: str, microphone: str = ""
) -> tuple[Event, ...]:
    """The opening events with who listens and speaks, and into which microphone; "" where there is none."""
    through = {MICROPHONE: microphone} if microphone else {}

    def told(event: Event) -> Event:
        if isinstance(event, SessionOpened):
            return replace(event, listeners=listeners, speaker=speaker, settings=event.settings | through)
        if isinstance(event, SessionResumed):
            return replace(event, listeners=listeners, speaker=speaker)
        return event

    return tuple(map(told, first))


def seal_closed(sessions: Path, joint_sha256: str) -> None:
    """Put the seal on sessions of this joint that were closed when the machine stopped before sealing."""
    for folder in session_folders(sessions):
        try:
            if status_of(folder) == "closed" and _begun_with(folder, joint_sha256):
                with JournalStore.open(folder, signer=own_signer()) as recording:
                    seal(recording)
                    print(f"Sealed now, closed before: {folder}", file=sys.stderr)
        except AssistantError as error:
            print(f"Not sealed, though closed: {folder}: {error.message}", file=sys.stderr)


def _begun_with(folder: Path, joint_sha256: str) -> bool:
    with contextlib.suppress(BadSession):
        return hashlib.sha256(read_regular(folder / JOINT_NAME)).hexdigest() == joint_sha256
    return False


@contextlib.contextmanager
def leaving(session: house.Leavable) -> Iterator[None]:
    """Whatever ends the session early is recorded in it, where the record still takes it."""
    try:
        yield
    except KeyboardInterrupt as end:
        reason = end.reason if isinstance(end, endings.ToldToEnd) else "stopped at the keyboard"
        session.leave(reason)
        raise StoppedByHand(
            f"{reason}; everything recorded is stored",
            remedy="`assistant guide` goes on at the same bolt",
        ) from None
    except Interrupted as error:
        with contextlib.suppress(AssistantError):
            session.leave(error.message)
        raise


def seal(recording: JournalStore) -> None:
    """Sign the closed session with this machine's key."""
    recording.seal(own_signer().key, PRODUCT)


def source(text: str, kinds: tuple[str, ...], option: str) -> tuple[str, Path | None]:
    """Kind and path of `--listen` or `--speak`.

    Raises:
        BadSettings: none of `kinds`, or a path missing or too much.
    """
    kind, _, rest = text.partition(":")
    takes_path = kind == "wav"
    if kind not in kinds or takes_path != bool(rest):
        allowed = ", ".join(f"{k}:PATH" if k == "wav" else k for k in kinds)
        raise BadSettings(f"{option} is {text!r}", remedy=f"one of {allowed}")
    return kind, Path(rest) if rest else None
