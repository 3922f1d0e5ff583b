"""`assistant guide`: the hands-free session at a joint; goes on with an unfinished one."""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from assistant.bolting.planning.plan import plan, plan_document
from assistant.cli import endings, follow_up, house, reminders, terminal
from assistant.cli.boards import watching
from assistant.cli.first_words import first_words
from assistant.cli.joint_work import work_at
from assistant.cli.keys import own_basis, own_signer
from assistant.cli.opening import leaving, named, open_session, seal, source
from assistant.cli.session_sources import record_of
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.learned import learned_by
from assistant.config.settings import read_settings
from assistant.errors import AssistantError, BadSession
from assistant.events import Event, NameKept, SessionOpened, SessionResumed, SpeechAdjusted, WorkLaidOut
from assistant.journal.approval import Approval, approval_of
from assistant.journal.reading import read_session
from assistant.journal.sessions import latest, slug_of
from assistant.procedure.state import LEVELS, State
from assistant.replay.titles import length_words, stage_title
from assistant.report.printable import printable
from assistant.report.wording import words_in
from assistant.speech.wording import LANGUAGES, catalogue

DESCRIPTION = "Guide a joint hands-free."
EPILOG = """\
Say 'help' at any time to hear what can be said. Every word is kept with its sound in the session folder.
An unfinished session resumes at the same bolt. Where the lead's review wants bolts done again, the new session repeats
only those: their last pass, all round, then the waits and re-checks of the joint.

examples:
  assistant guide demo_joints/north-sluice-dn150-flange.toml
  assistant guide JOINT.toml --listen typed --speak silent      with the keyboard, for trying out a joint file
  assistant guide JOINT.toml --listen wav:FILE --speak wav:FOLDER

exit codes: 0 joint closed and sealed (`assistant record` says whether something is to be decided about it), 1 left
before the joint was finished, or it is to be done again or cannot be trusted, 2 bad input,
3 a device or model is missing, 4 interrupted but safely stored
"""


NOT_COMPLETE = "The joint is NOT complete."


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
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
    for wish in follow_up.wanted(sessions, laid_out.joint.name).lines:
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
        said = words_in(opened.language)
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
        watched = undo.enter_context(watching(lambda: session, said, screen=args.board, port=args.board_port))
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
            print(said.say(f"Left open, not finished: {opened.recording.folder}"), file=sys.stderr)
            print(said.say(f"`assistant guide {args.joint}` goes on with it. {due(state)}"), file=sys.stderr)
            return 1
        if not state.closed:
            session.leave("the end of the typed lines" if edges.typed else "the end of the sound")
            print(said.say(f"Stored, not finished: {opened.recording.folder}"), file=sys.stderr)
            return 1
        print(said.say(f"Closed and sealed: {opened.recording.folder}"), file=sys.stderr)
        still = follow_up.wanted(sessions, laid_out.joint.name).lines
        for wish in still:
            print(f"{said.say(NOT_COMPLETE)} {printable(said.say(wish))}", file=sys.stderr)
        record = record_of(opened.recording.folder)
        print(printable(said.say(record.verdict_words)), file=sys.stderr)
        return 1 if still or record.verdict in ("open", "to-redo", "untrusted") else 0


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


def spoken_at(level: str, first: tuple[Event, ...], *, chosen: bool) -> tuple[Event, ...]:
    """The opening events with the level of talk; a session that goes on keeps its own unless one was `chosen` now."""
    resumed = any(isinstance(e, SessionResumed) for e in first)
    if (resumed and not chosen) or (not resumed and level == State().talk):
        return first
    return (*first[:-1], SpeechAdjusted(what=level), first[-1])
