"""`assistant replay`: the conversation of a session and where it stands, as text or as the lead's page."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant.cli.session_sources import sources_of
from assistant.errors import BadSettings
from assistant.replay.facts import read_facts
from assistant.replay.record import joint_record
from assistant.replay.transcript import transcript
from assistant.replay.verdict import verdict
from assistant.report.printable import printable
from assistant.report.session_text import standing
from assistant.report.transcript_text import text_line
from assistant.report.wording import words_in

DESCRIPTION = "Print who said what, what was heard, how sure, and what was recorded."
EPILOG = """\
Times are UTC. Behind what was heard stand the decision, its probability, and what each listener made of it.

With --html, everything as one page: what to look at first, the bolts over time, torque by pass, and every word to
hear. It needs no network and opens from disk. It is written also when the record is damaged, and says what is missing.

examples:
  assistant replay sessions/20261125T101500Z-pump-2-discharge-flange
  assistant replay sessions/20261125T101500Z-pump-2-discharge-flange --html pump-2.html

exit codes: 0 the joint is complete or accepted, or a rehearsal was gone through to its end; 1 shown or written, but the
verdict is another one (open, to-decide, to-redo, untrusted); 2 no session or no place to write
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("session", metavar="SESSION", type=Path, help="a session folder")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write the lead's page")
    parser.add_argument(
        "--audio-beside",
        "--open-audio-beside",
        action="store_true",
        help="with --html: put the sound into a folder beside the page (more than 20 MB goes there anyway)",
    )
    parser.add_argument(
        "--silent-prompts", action="store_true", help="with --html: show the prompts, do not render them again"
    )
    parser.add_argument(
        "--relisten", action="store_true", help="hear the stored audio again and say what differs (as `relisten`)"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print one session, or write its page.

    Returns:
        0 where the verdict is good, 1 where it is not.

    Raises:
        BadSession: it is none.
    """
    if args.relisten:
        from assistant.cli.hear_again import hear_again

        return hear_again(args.session)
    if args.html is not None:
        from assistant.cli.replay_html import say_written, write_page

        record, report = write_page(args.session, args.html, beside=args.audio_beside, prompts=not args.silent_prompts)
        say_written(args.html, report)
        print(printable(words_in(record.session.language).say(record.verdict_words)))
        return 0 if verdict(record).good else 1
    if args.audio_beside or args.silent_prompts:
        raise BadSettings("--audio-beside and --silent-prompts belong to --html", remedy="add --html FILE")
    sources = sources_of(args.session)
    facts = read_facts(sources.beginning.entries)
    record = joint_record(sources, facts)
    for line in transcript(sources.beginning.entries):
        print(text_line(line, words_in(record.session.language)))
    print()
    for text in standing(record):
        print(printable(text))
    return 0 if verdict(record).good else 1
