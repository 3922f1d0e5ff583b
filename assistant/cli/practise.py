"""`assistant practise`: two minutes to learn to talk to it, and what is kept of a person. Also plays `rehearse
--apprentice`: the assistant plays the joint, the apprentice speaks or types.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from collections.abc import Sequence
from typing import Any

from assistant.bolting.planning.plan import plan
from assistant.cli import endings, guide, house
from assistant.cli.joint_work import work_at
from assistant.cli.later_clock import LaterClock
from assistant.cli.reminders import FORMS, remember_missed, reminder, wrong_answers
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.config.learned import Learned, file_of, keep, learned_by
from assistant.config.settings import read_settings
from assistant.devices.voice_activity import SileroActivity
from assistant.errors import BadSettings
from assistant.events import (
    Event,
    SessionOpened,
)
from assistant.journal.clock import utc_now, utc_text
from assistant.procedure.state import State
from assistant.rehearsal.practice import SLIPS, Outcome, Practice
from assistant.rehearsal.voice_lesson import WORDS, Lesson, Tried, voice_lesson
from assistant.replay.titles import figure
from assistant.report.printable import printable
from assistant.speech.wording import LANGUAGES, catalogue
from assistant.speech.wording.practice import practice_words

EPILOG = f"""\
--voice says {len(WORDS)} words and numbers, and you say each of them back. What is not heard surely is tried once more
in another form; the end tells which forms to use at work. Without --keep nothing of it is kept.

With --keep NAME it is kept on this machine under your name, which is your consent; `guide` then reminds you of the
forms when you say who you are, and what an apprentice misses at practices and joints is kept there until a supervisor
has gone through it. --forget NAME deletes the file.

examples:
  assistant practise --voice
  assistant practise --voice --keep "Robin Marsh"
  assistant practise --show "Robin Marsh"
  assistant practise --sign-off "Robin Marsh" --supervisor "Kim Osei"

exit codes: 0 every word was heard, in one form or the other (or what was asked for is done), 1 some were not,
2 bad input, 3 a device or model is missing
"""


def register(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to `assistant`'s own."""
    parser = subparsers.add_parser(
        "practise",
        help="two minutes to learn to talk to it; what is kept of a person",
        description="Learn to talk to it, and see or delete what is kept of a person.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--voice", action="store_true", help="say the words of the work once, and learn which to change")
    what.add_argument("--show", metavar="NAME", help="print what is kept of a person")
    what.add_argument("--sign-off", metavar="NAME", help="a supervisor has gone through what was missed")
    what.add_argument("--forget", metavar="NAME", help="delete what is kept of a person")
    parser.add_argument("--keep", metavar="NAME", help="with --voice: keep what came of it, under your name")
    parser.add_argument("--supervisor", metavar="NAME", help="with --sign-off: who has gone through it")
    parser.add_argument("--listen", default="mic", metavar="mic|wav:FILE", help="where your words come from")
    parser.add_argument("--speak", default="voice", metavar="voice|silent|wav:FOLDER", help="where prompts go")
    parser.add_argument("--language", choices=LANGUAGES, help="what is said in; you always answer in English")
    parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Learn to talk, or see to what is kept.

    Returns:
        0; 1 when words were heard surely in no form.
    """
    if bool(args.supervisor) != bool(args.sign_off):
        raise BadSettings("a sign-off is by a supervisor", remedy="--sign-off NAME --supervisor NAME")
    if args.keep and not args.voice:
        raise BadSettings("--keep goes with --voice", remedy="assistant practise --voice --keep NAME")
    if args.voice:
        return _learn(args)
    if args.forget:
        file_of(args.forget).unlink(missing_ok=True)
        print(f"Nothing is kept of {printable(args.forget)} here.", file=sys.stderr)
        return 0
    known = _known(args.show or args.sign_off)
    if args.sign_off:
        known = known.seen(args.supervisor.strip(), utc_text(utc_now()))
        keep(known)
    if args.json:
        print(known.model_dump_json(indent=2))
    else:
        print("\n".join(printable(line) for line in kept_lines(known)))
    return 0


def _known(name: str) -> Learned:
    known = learned_by(name)
    if known is None:
        raise BadSettings(
            f"nothing is kept of {name!r} here", remedy="`assistant practise --voice --keep NAME` begins it"
        )
    return known


def _learn(args: argparse.Namespace) -> int:
    settings = house.spoken_in(read_settings(), args.language)
    listen = guide.source(args.listen, ("mic", "wav"), "--listen")
    speak = guide.source(args.speak, ("voice", "silent", "wav"), "--speak")
    before = learned_by(args.keep) if args.keep else None
    words = practice_words(settings.language)
    parts = house.Parts(settings)
    try:
        edges = parts.edges(listen, speak)
        lesson = voice_lesson(
            edges.microphone,
            edges.speaker,
            edges.hearing,
            SileroActivity(),
            words=words,
            real_time=edges.real_time,
            told=(lambda _tried: None) if args.json else _show,
        )
        if edges.real_time:
            edges.speaker.say(words.lesson_end(lesson.better[:FORMS], lesson.hard[:FORMS]), 0)
    finally:
        parts.close()
    if args.keep:
        now = utc_text(utc_now())
        known = before or Learned(name=args.keep.strip(), consent_utc=now)
        keep(known.model_copy(update={"better": lesson.better, "hard": lesson.hard, "heard_utc": now}))
    if args.json:
        print(json.dumps(lesson_document(lesson), indent=2))
    else:
        print("\n".join(["", words.lesson_end(lesson.better, lesson.hard), *_sound_lines(lesson, settings.language)]))
    return 0 if lesson.tried and not lesson.hard else 1


_HEARD = {"sure": "heard", "asked": "would be asked about", "other": "not understood", "nothing": "no sound"}


def _show(tried: Tried) -> None:
    second = f"; {tried.word.better}: {_HEARD[tried.second]}" if tried.second else ""
    other = f" ({tried.heard})" if tried.heard else ""
    print(f"{tried.word.say}: {_HEARD[tried.first]}{printable(other)}{second}")


def _sound_lines(lesson: Lesson, language: str) -> list[str]:
    lines = [catalogue(language).equipment[lesson.sound]] if lesson.sound else []
    if lesson.level_dbfs is not None:
        over = "" if lesson.snr_db is None else f", {lesson.snr_db:.0f} dB over the noise"
        lines.append(f"speech at {lesson.level_dbfs:.0f} dBFS{over}")
    return lines


def lesson_document(lesson: Lesson) -> dict[str, Any]:
    """What came of the words, for `--json`."""
    return {
        "words": [
            {"say": t.word.say, "first": t.first, "better": t.word.better, "second": t.second, "heard": t.heard}
            for t in lesson.tried
        ],
        "better": [{"word": word, "say": form} for word, form in lesson.better],
        "hard": list(lesson.hard),
        "sound": lesson.sound or "good",
        "level_dbfs": lesson.level_dbfs,
        "snr_db": lesson.snr_db,
    }


def kept_lines(known: Learned) -> list[str]:
    """What is kept of a person, for people."""
    lines = [f"{known.name}: kept on this machine since {known.consent_utc}"]
    lines += [f"for '{word}' say '{form}'" for word, form in known.better]
    lines += [f"hard to hear: {', '.join(known.hard)}"] * bool(known.hard)
    for each in known.missed:
        seen = f"gone through with {each.seen_by}, {each.seen_utc}" if each.seen_by else "not gone through yet"
        lines.append(f"missed {each.what}: {each.joint}, {each.utc}; {seen}")
    return lines


# ----------------------------------------------------------------------------------------------- a practice joint
def play_joint(args: argparse.Namespace) -> int:
    """Practise one joint.

    Returns:
        0 when the joint was closed and every slip was caught, 1 when not.
    """
    settings = house.unhurried(house.spoken_in(read_settings(), args.language))
    known = _known(args.name) if args.name else None
    listen = guide.source(args.listen, ("mic", "typed", "wav"), "--listen")
    speak = guide.source(args.speak, ("voice", "silent", "wav"), "--speak")
    data = read_bytes(args.joint)
    laid_out = plan(parse_joint(data, source=str(args.joint)), today=args.date or house.today())
    work = work_at(laid_out, near=args.joint.parent, apprentice=True, language=settings.language)
    clock = LaterClock()
    practice = Practice(slips=_slips(args.slips), seed=args.seed, skip_time=clock.skip, language=settings.language)
    with contextlib.ExitStack() as undo:
        undo.enter_context(endings.in_order())
        sessions = args.sessions or house.sessions_folder(settings)
        parts = house.Parts(settings)
        undo.callback(parts.close)
        edges = parts.edges(listen, speak)
        opened = guide.open_session(sessions, data, laid_out, work, anew=True, clock=clock, played="practice")
        undo.callback(opened.recording.close)
        session = parts.session(
            recording=opened.recording,
            microphone=edges.microphone,
            speaker=edges.speaker,
            hearing=edges.hearing,
            watch=(lambda _entries: None) if args.json else guide.show,
            closing=lambda: guide.seal(opened.recording),
            real_time=edges.real_time,
            clock=clock,
            beside=lambda state, events: _reminded(practice, known, state, events),
        )
        with guide.leaving(session):
            state = session.run(guide.named(opened.first, listeners=edges.listeners, speaker=edges.speaker.name))
        session.leave("the practice ended")
        edges.speaker.say(practice.debrief(), 0)
        if known is not None:
            words = practice_words(settings.language)
            slips = [words.slip_named(name) for name in practice.outcome.missed]
            wrong = wrong_answers((entry.event for entry in opened.recording.entries), state)
            remember_missed(known, (*slips, *wrong), laid_out.joint.name)
    document = document_of(practice.outcome, complete=state.closed, session=str(opened.recording.folder))
    if args.json:
        print(json.dumps(document, indent=2))
    else:
        print("\n".join(["", practice.debrief(), *summary(document)]))
    return 0 if state.closed and not practice.outcome.missed else 1


def _reminded(practice: Practice, known: Learned | None, state: State, events: Sequence[Event]) -> str:
    """What the joint does; at the beginning also what was missed the last time."""
    said = practice.joint_says(state, events)
    if known is None or not any(isinstance(event, SessionOpened) for event in events):
        return said
    return f"{reminder(known.name, practice.language, apprentice=True)} {said}".strip()


def document_of(outcome: Outcome, *, complete: bool, session: str) -> dict[str, Any]:
    """The figures of a practice, for `--json`."""
    return {
        "complete": complete,
        "slipped_in": list(outcome.slipped_in),
        "caught": list(outcome.caught),
        "missed": list(outcome.missed),
        "misread": [{"wrench": figure(shown), "recorded": figure(said)} for shown, said in outcome.misread],
        "stops_for_nothing": outcome.stops,
        "session": session,
    }


def summary(document: dict[str, Any]) -> list[str]:
    """The figures for people."""
    named = {name: name.replace("-", " ") for name in SLIPS}
    lines = [f"{'complete' if document['complete'] else 'NOT COMPLETE'}; session: {document['session']}"]
    for key in ("caught", "missed"):
        lines += [f"{key}: {', '.join(named[name] for name in document[key])}"] * bool(document[key])
    lines += [f"the wrench read {each['wrench']}, recorded {each['recorded']}" for each in document["misread"]]
    return lines


def _slips(text: str) -> tuple[str, ...]:
    names = SLIPS if text == "all" else () if text == "none" else tuple(n.strip() for n in text.split(","))
    for name in names:
        if name not in SLIPS:
            raise BadSettings(f"--slips names {name!r}", remedy=f"any of {', '.join(SLIPS)}; or all, or none")
    return tuple(names)
