"""`assistant practise`: two minutes to learn to talk to it, and what is kept of a person. Also plays `rehearse
--apprentice`: the assistant plays the joint, the apprentice speaks or types.
"""

from __future__ import annotations

import argparse
import json
import sys
from typing import Any

from assistant.cli import house, opening
from assistant.cli.reminders import FORMS, known_person
from assistant.config.learned import Learned, file_of, keep, learned_by
from assistant.config.settings import read_settings
from assistant.devices.voice_activity import SileroActivity
from assistant.errors import BadSettings
from assistant.journal.clock import utc_now, utc_text
from assistant.rehearsal.voice_lesson import WORDS, Lesson, Tried, voice_lesson
from assistant.report.printable import printable
from assistant.speech.wording import LANGUAGES, catalogue
from assistant.speech.wording.practice import practice_words

DESCRIPTION = "Learn to talk to it, and see or delete what is kept of a person."
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


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
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
    known = known_person(args.show or args.sign_off)
    if args.sign_off:
        known = known.seen(args.supervisor.strip(), utc_text(utc_now()))
        keep(known)
    if args.json:
        print(known.model_dump_json(indent=2))
    else:
        print("\n".join(printable(line) for line in kept_lines(known)))
    return 0


def _learn(args: argparse.Namespace) -> int:
    settings = house.spoken_in(read_settings(), args.language)
    listen = opening.source(args.listen, ("mic", "wav"), "--listen")
    speak = opening.source(args.speak, ("voice", "silent", "wav"), "--speak")
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
