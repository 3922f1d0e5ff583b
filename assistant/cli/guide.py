"""`assistant guide`: the hands-free session at a joint; goes on with an unfinished one."""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from assistant.bolting.planning.plan import Plan, plan, plan_document
from assistant.cli import endings, follow_up, house, reminders, terminal
from assistant.cli.boards import show, watching
from assistant.cli.first_words import first_words
from assistant.cli.joint_work import work_at
from assistant.cli.keys import own_basis, own_signer
from assistant.cli.session_sources import record_of
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.learned import learned_by
from assistant.config.program import product
from assistant.config.settings import Settings, read_settings
from assistant.errors import AssistantError, BadSession, BadSettings, Interrupted, StoppedByHand
from assistant.events import Event, NameKept, SessionOpened, SessionResumed, SpeechAdjusted, WorkLaidOut
from assistant.journal.approval import Approval, approval_of
from assistant.journal.clock import Clock, utc_now
from assistant.journal.disk import read_regular
from assistant.journal.reading import read_session
from assistant.journal.sessions import JOINT_NAME, MICROPHONE, PLAYED, latest, session_folders, slug_of, status_of
from assistant.journal.store import JournalStore
from assistant.procedure.state import LEVELS, State
from assistant.replay.titles import length_words, stage_title
from assistant.report.printable import printable
from assistant.speech.wording import LANGUAGES, catalogue

PRODUCT = product()
EPILOG = """\
Say 'help' at any time to hear what can be said. Every word is kept with its sound in the session folder.
A session that was not finished is gone on with, at the same bolt. Where the lead's review wants bolts done again, the
new session is about those: their last pass, then all round.

examples:
  assistant guide demo_joints/north-sluice-dn150-flange.toml
  assistant guide JOINT.toml --listen typed --speak silent      with the keyboard, for trying out a joint file
  assistant guide JOINT.toml --listen wav:FILE --speak wav:FOLDER

exit codes: 0 joint closed and sealed (`assistant record` says whether something is to be decided about it), 1 left
before the joint was finished, or it is to be done again or cannot be trusted, 2 bad input,
3 a device or model is missing, 4 interrupted but safely stored
"""


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to `assistant`'s own."""
    parser = subparsers.add_parser(
        "guide",
        help="guide a joint hands-free; resumes an unfinished session",
        description="Guide a joint hands-free.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("joint", metavar="JOINT", type=Path, help="a joint file (TOML)")
    parser.add_argument("--listen", default="mic", metavar="mic|typed|wav:FILE", help="where words come from")
    parser.add_argument(
        "--speak", default="voice", metavar="voice|silent|wav:FOLDER", help="where prompts go; all are also shown"
    )
    parser.add_argument("--sessions", type=Path, metavar="FOLDER", help="folder of all sessions")
    parser.add_argument("--apprentice", action="store_true", help="explain each step, ask back, skip nothing alone")
    parser.add_argument("--language", choices=LANGUAGES, help="what prompts are said in; you always answer in English")
    parser.add_argument("--board", action="store_true", help="what is due in large figures, in place of the transcript")
    parser.add_argument(
        "--board-port", type=int, metavar="PORT", help="the board as a page on this machine only; 0 for any free port"
    )
    parser.add_argument("--talk", choices=LEVELS, help="how much is said; 'say less' and 'say more' change it by voice")
    parser.add_argument("--new", action="store_true", help="begin anew, also where an unfinished session is there")
    parser.add_argument("--date", type=date.fromisoformat, help=argparse.SUPPRESS)
    parser.set_defaults(run=run)


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


def run(args: argparse.Namespace) -> int:
    """Guide one joint.

    Returns:
        0 closed and sealed, 1 left before the joint was finished, or a review still wants bolts done again.
    """
    settings = house.spoken_in(read_settings(), args.language)
    settings = house.unhurried(settings) if args.apprentice else settings
    listen = source(args.listen, ("mic", "typed", "wav"), "--listen")
    speak = source(args.speak, ("voice", "silent", "wav"), "--speak")
    data = read_bytes(args.joint)
    laid_out = plan(parse_joint(data, source=str(args.joint)), today=args.date or house.today())
    work = work_at(
        laid_out,
        near=args.joint.parent,
        apprentice=args.apprentice,
        language=settings.language,
        asks_who=True,
        people=settings.people,
    )
    own_signer()  # its key is made or refused now, not when the joint is closed
    sessions = args.sessions or house.sessions_folder(settings)
    for wish in follow_up.wishes(sessions, laid_out.joint.name):
        print(printable(wish), file=sys.stderr)
    with contextlib.ExitStack() as undo:
        undo.enter_context(endings.in_order())
        if listen[0] == "mic" or speak[0] == "voice":
            undo.enter_context(terminal.our_own())
        language = (
            settings.language if args.new else language_of(sessions, data, laid_out.joint.name) or settings.language
        )
        parts = house.Parts(house.spoken_in(settings, language))
        undo.callback(parts.close)
        edges = parts.edges(listen, speak)  # before anything is written: without them there is no session
        words = first_words(edges, settings, language, parts.canceller)
        approval = approval_of(args.joint, data, plan_document(laid_out), own_basis())
        opened = open_session(sessions, data, laid_out, work, anew=args.new, approval=approval)
        undo.callback(opened.recording.close)
        if args.language not in (None, opened.language):
            print(f"This session goes on in the language that it began in: {opened.language}", file=sys.stderr)
        session = parts.session(
            recording=opened.recording,
            microphone=edges.microphone,
            speaker=edges.speaker,
            hearing=edges.hearing,
            watch=lambda entries: watched(entries),
            closing=lambda: seal(opened.recording),
            real_time=edges.real_time,
            begun_at=words.at_sample,
            beside=lambda _state, events: _besides(approval, events, opened.language, apprentice=args.apprentice),
        )
        watched = undo.enter_context(watching(lambda: session, screen=args.board, port=args.board_port))
        microphone = edges.microphone.name if edges.real_time else ""
        first = named(opened.first, listeners=edges.listeners, speaker=edges.speaker.name, microphone=microphone)
        first = spoken_at(args.talk or settings.talk, first, chosen=args.talk is not None)
        begun = len(opened.recording.entries)
        first = (*first[:-1], *words.trouble, first[-1])
        with leaving(session):
            state = session.run(first)
        if args.apprentice:
            with contextlib.suppress(AssistantError):  # it is no part of the record
                _learned_here([e.event for e in opened.recording.entries[begun:]], state, laid_out.joint.name)
        if state.left:
            print(f"Left open, not finished: {opened.recording.folder}", file=sys.stderr)
            print(f"`assistant guide {args.joint}` goes on with it. {due(state)}", file=sys.stderr)
            return 1
        if not state.closed:
            session.leave("the end of the typed lines" if edges.typed else "the end of the sound")
            print(f"Stored, not finished: {opened.recording.folder}", file=sys.stderr)
            return 1
        print(f"Closed and sealed: {opened.recording.folder}", file=sys.stderr)
        still = follow_up.wishes(sessions, laid_out.joint.name)
        for wish in still:
            print(f"The joint is NOT complete. {printable(wish)}", file=sys.stderr)
        record = record_of(opened.recording.folder)
        print(printable(record.verdict_words), file=sys.stderr)
        return 1 if still or record.verdict in ("open", "to-redo", "untrusted") else 0


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
    due = follow_up.next_work(sessions, laid_out, work, anew=anew)
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


def _besides(approval: Approval, events: Sequence[Event], language: str, *, apprentice: bool) -> str:
    """What is said besides: of the approval when a session opens; to whoever tightens, what helps to be heard."""
    named = next((e.text for e in events if isinstance(e, NameKept) and e.purpose in ("tightens", "takes-over")), "")
    if not named:
        return _approved_words(approval, events, language)
    try:
        return reminders.reminder(named, language, apprentice=apprentice)
    except AssistantError as error:  # what was learned helps; work does not wait for it
        print(f"{error.message}\n  {error.remedy}", file=sys.stderr)
        return ""


def _learned_here(session_events: Sequence[Event], state: State, joint: str) -> None:
    """Keep what an apprentice answered wrongly, where that person agreed to it beforehand."""
    names = [e.text for e in session_events if isinstance(e, NameKept) and e.purpose in ("tightens", "takes-over")]
    known = learned_by(names[-1]) if names else None
    if known is not None:
        reminders.remember_missed(known, reminders.wrong_answers(session_events, state), joint)


def _approved_words(approval: Approval, events: Sequence[Event], language: str) -> str:
    """What is said of the approval when a session opens."""
    if not any(isinstance(event, SessionOpened) for event in events):
        return ""
    return catalogue(language).approval(approval.state, approval.by)


def language_of(sessions: Path, data: bytes, joint: str) -> str | None:
    """The language of the unfinished session on this joint file; None where there is none that can be read."""
    with contextlib.suppress(BadSession):
        earlier = latest(sessions, joint_sha256=hashlib.sha256(data).hexdigest(), slug=slug_of(joint))
        if earlier is None or earlier.state != "unfinished":
            return None
        events = [entry.event for entry in read_session(earlier.folder).entries]
        return next((event.language for event in events if isinstance(event, WorkLaidOut)), None)
    return None


def due(state: State) -> str:
    """What is due at a joint that was left open, in a sentence."""
    if state.wait is not None and state.left_s is not None:
        return f"Due in {length_words(state.left_s)}: {stage_title(state, state.stage + 1) or 'closing'}."
    return f"Due: {stage_title(state, state.stage)}."


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


def spoken_at(level: str, first: tuple[Event, ...], *, chosen: bool) -> tuple[Event, ...]:
    """The opening events with the level of talk; a session that goes on keeps its own unless one was `chosen` now."""
    resumed = any(isinstance(e, SessionResumed) for e in first)
    if (resumed and not chosen) or (not resumed and level == State().talk):
        return first
    return (*first[:-1], SpeechAdjusted(what=level), first[-1])


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


__all__ = ["Settings", "leaving", "named", "open_session", "register", "run", "seal", "show"]
