"""`assistant forget`: erases people's voices from sessions; what was said and done stays, and so does the signature."""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from assistant.cli.keys import key_folder
from assistant.config.program import product
from assistant.config.settings import read_settings
from assistant.errors import BadSession, BadSettings
from assistant.events import Event, UtteranceHeard
from assistant.events.review import ReviewBegun, SoundErased
from assistant.journal.clock import utc_now
from assistant.journal.erasing import erase_sound, sound_files
from assistant.journal.reading import Loaded, read_session
from assistant.journal.review import append_review
from assistant.journal.seal import installation_key
from assistant.journal.sessions import session_folders
from assistant.report.printable import printable

DESCRIPTION = "Erase the sound of sessions."
EPILOG = """\
Recordings of people are kept so that a doubtful word can be heard again. Once nobody needs them, they go: by session,
or all that are older than some days. The journal keeps the words and the hash of each recording; that the sound was
erased, by whom and why, is added to the review, chained and signed. The record stays as it was, without sound.

Without --yes it only tells what it would erase. Copies, backups and pages with sound are not reached: erase them where
they are.

examples:
  assistant forget sessions/20261125T101500Z-pump-2-discharge-flange --by "Kim Lead" --yes
  assistant forget --older-than 90 --by "Kim Lead" --reason "house rule: 90 days" --yes

exit codes: 0 done, 1 nothing to erase, 2 bad input or no session, 4 the folder cannot be written
"""
LONGEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounds:
    """The sound of one session: its files, and the utterances that they are of."""

    folder: Path
    loaded: Loaded[Event]
    files: tuple[Path, ...]


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("sessions", metavar="SESSION", nargs="*", type=Path, help="a session folder")
    parser.add_argument("--older-than", metavar="DAYS", type=int, help="all sessions whose last line is older")
    parser.add_argument("--in", dest="place", metavar="FOLDER", type=Path, help="with --older-than: folder of sessions")
    parser.add_argument("--by", metavar="NAME", help="who erases")
    parser.add_argument("--reason", metavar="TEXT", default="", help="why")
    parser.add_argument("--yes", action="store_true", help="erase; without it only told")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Erase, or tell what would be erased.

    Returns:
        0, or 1 where there is nothing to erase.

    Raises:
        BadSettings, BadSession, RecordNotWritable: as they say; sessions before the one that failed are erased.
    """
    by, reason = (" ".join((text or "").split()) for text in (args.by, args.reason))
    if not by or not (by + reason).isprintable() or max(len(by), len(reason)) > LONGEST:
        raise BadSettings("forget: nobody is named", remedy="say who erases: --by NAME, in plain text")
    if not args.sessions and args.older_than is None:
        raise BadSettings("forget: no session is named", remedy="name session folders, or --older-than DAYS")
    found = [each for each in _chosen(args) if each.files]
    for each in found if args.yes else ():
        _erase(each, by=by, reason=reason)
    told = [{"session": str(each.folder), "recordings": len(each.files), "erased": args.yes} for each in found]
    _show(told, as_json=args.json)
    return 0 if found else 1


def _chosen(args: argparse.Namespace) -> list[Sounds]:
    folders = list(args.sessions)
    if args.older_than is not None:
        if args.older_than < 0:
            raise BadSettings(f"--older-than is {args.older_than}", remedy="a number of days from 0")
        before = utc_now() - timedelta(days=args.older_than)
        place = args.place or read_settings().sessions or Path("sessions")
        for folder in session_folders(place):
            try:
                entries = read_session(folder).entries
            except BadSession:
                continue  # what cannot be read is left alone; named by itself it is refused in words
            if entries and entries[-1].utc < before:
                folders.append(folder)
    return [Sounds(folder=each, loaded=read_session(each), files=sound_files(each)) for each in dict.fromkeys(folders)]


def _erase(sounds: Sounds, *, by: str, reason: str) -> None:
    """First the review tells it, then the files go: a stop in between leaves what the next run takes up."""
    entries = sounds.loaded.entries
    if not entries:
        raise BadSession(f"{sounds.folder}: nothing was recorded", remedy="delete the folder by hand")
    heard = [e.event for e in entries if isinstance(e.event, UtteranceHeard)]
    there = {path.name.partition(".")[0] for path in sounds.files}
    names = tuple(event.utterance for event in heard if event.audio_sha256 and event.utterance in there)
    begun = ReviewBegun(
        by=by,
        session_lines=len(entries),
        session_last_hash=entries[-1].sha256,
        as_recorded=True,
        product=product(),
    )
    keys = key_folder()
    append_review(
        sounds.folder,
        [begun, SoundErased(by=by, reason=reason, utterances=names)],
        key=installation_key(keys),
        product=product(),
        register=keys,
    )
    erase_sound(sounds.folder, sounds.files)


def _show(told: list[dict[str, Any]], *, as_json: bool) -> None:
    if as_json:
        print(json.dumps(told, indent=2))
        return
    for each in told:
        verb = "erased" if each["erased"] else "would be erased (say --yes)"
        print(printable(f"{each['session']}: {each['recordings']} recordings {verb}"))
    if not told:
        print("There is no sound to erase.")
