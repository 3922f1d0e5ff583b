"""`assistant review`: the lead's comments, rulings and signature, kept beside a session and signed by themselves."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from assistant.bolting.planning.plan import plan, plan_document
from assistant.cli.keys import key_folder, person_key
from assistant.cli.session_sources import PRODUCT, record_of, sources_of
from assistant.config.joint_file import parse_joint, read_bytes
from assistant.errors import BadSession, BadSettings
from assistant.events.review import CommentMade, JointAccepted, RedoOrdered, ReviewBegun, ReviewEvent, ReviewSigned
from assistant.journal.approval import approve
from assistant.journal.clock import utc_now
from assistant.journal.review import append_review
from assistant.journal.seal import installation_key
from assistant.replay.record import Sources, joint_record
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import open_work, redos_open
from assistant.replay.verdict import things
from assistant.report.printable import printable
from assistant.report.record_tables import trust
from assistant.report.wording import words_in

DESCRIPTION = "Show or add to the lead's review of a session."
EPILOG = """\
What is said here is appended to review.jsonl in the session folder, chained and sealed with this machine's key. --sign
signs it with the key of the person who reviews (`assistant key new`), so that lead and technician are two.
--approve signs a joint file and its plan by hash; `guide` says aloud and records whether what it guides was approved.
The technician's journal is never touched. Without --by the review is only shown.
An acceptance that nobody signed settles nothing that is to be decided or done again: a name may be typed by anybody.
A joint is accepted only when its record is complete and as recorded; with readings kept outside their window, or over a
redo that is open, only with --comment saying why. After --redo the next `assistant guide` of the joint is about those
bolts, and the joint is not complete before that.

examples:
  assistant review --approve demo_joints/north-sluice-dn150-flange.toml --by "the lead's name"
  assistant review sessions/20261125T101500Z-pump-2-discharge-flange
  assistant review SESSION --by "the lead's name" --comment "gap readings filed separately" --accept --sign
  assistant review SESSION --by "the lead's name" --redo 5 --comment "reading not believed"
  assistant review SESSION --by "the lead's name" --redo "split bolts:1" "joint bolts:3"

exit codes: 0 done, 1 refused (the record does not allow that ruling; nothing was written), 2 bad input
"""
LONGEST_NAME, LONGEST_TEXT = 80, 2000
Bolt = tuple[str, int]


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("session", metavar="SESSION", nargs="?", type=Path, help="a session folder")
    parser.add_argument(
        "--approve", metavar="JOINT", type=Path, help="sign a joint file and its plan: they may be guided as they are"
    )
    parser.add_argument("--by", metavar="NAME", help="who reviews")
    parser.add_argument(
        "--comment", metavar="TEXT", default="", help="a remark, or the reason for the ruling beside it"
    )
    parser.add_argument("--accept", action="store_true", help="accept the joint as recorded")
    parser.add_argument("--redo", metavar="BOLT", nargs="+", default=[], help="bolts to do again: 5, or GROUP:5")
    parser.add_argument("--sign", action="store_true", help="sign what the review says so far, with your own key")
    parser.add_argument(
        "--key", metavar="FILE", type=Path, help="your key; left out: the one that bears your name here"
    )
    parser.add_argument("--passphrase-file", metavar="FILE", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--json", action="store_true", help="print the review as one JSON document")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Add to the review, then show it.

    Returns:
        0 done, 1 refused. Raises BadSession and BadSettings.
    """
    if args.approve is not None:
        return _approve(args)
    if args.session is None:
        raise BadSettings("review: no session is named", remedy="name a session folder, or --approve JOINT")
    wants = bool(args.comment or args.accept or args.redo or args.sign)
    if not wants:
        return _show(record_of(args.session), as_json=args.json)
    by, comment = _plain(args.by or "", "--by", LONGEST_NAME), _plain(args.comment, "--comment", LONGEST_TEXT)
    if not by:
        raise BadSettings("review: nobody is named", remedy="say who reviews: --by NAME")
    if args.accept and args.redo:
        raise BadSettings("review: --accept and --redo contradict each other", remedy="choose one of them")
    sources = sources_of(args.session)
    record = joint_record(sources)
    bolts = [_bolt(text, record) for text in args.redo]
    refused = [*_against_redo(record, bolts), *(_against_accepting(record, comment) if args.accept else ())]
    if refused:
        _refuse(refused, as_json=args.json)
        return 1
    events = _events(sources, record, by=by, comment=comment, accept=args.accept, bolts=bolts, sign=args.sign)
    person = person_key(args.key, by, args.passphrase_file) if args.sign else None
    keys = key_folder()
    append_review(args.session, events, key=installation_key(keys), product=PRODUCT, register=keys, person=person)
    return _show(record_of(args.session), as_json=args.json)


def _approve(args: argparse.Namespace) -> int:
    """Sign a joint file and the plan it gives today.

    Returns:
        0, or 1 while the plan holds a stop that nobody has released.
    """
    by = _plain(args.by or "", "--by", LONGEST_NAME)
    if not by:
        raise BadSettings("review: nobody is named", remedy="say who approves: --by NAME")
    data = read_bytes(args.approve)
    made = plan(parse_joint(data, source=args.approve.name), today=utc_now().astimezone().date())
    if made.open_stops:
        _refuse(
            [f"the plan holds a stop that nobody released: {each.name}" for each in made.open_stops], as_json=args.json
        )
        return 1
    person = person_key(args.key, by, args.passphrase_file)
    revision = made.joint.instruction.revision
    path = approve(
        args.approve,
        data,
        plan_document(made),
        revision=revision,
        person=person,
        product=PRODUCT,
        utc=utc_now(),
    )
    if args.json:
        print(json.dumps({"approved": str(args.approve), "by": by, "revision": revision, "file": str(path)}, indent=2))
    else:
        print(f"approved by {by}: {args.approve}, instruction revision {revision}: {path}")
    return 0


def _plain(text: str, option: str, longest: int) -> str:
    """Text that a person typed, on one line.

    Raises:
        BadSettings: too long, or with signs that cannot be printed.
    """
    shown = " ".join(text.split())
    if len(shown) > longest or not shown.isprintable():
        raise BadSettings(f"{option} is {printable(shown[:60])!r}", remedy=f"plain text of at most {longest} letters")
    return shown


def _bolt(text: str, record: JointRecord) -> Bolt:
    """A bolt named on the command line.

    Raises:
        BadSettings: no such bolt, or several groups have one of that number.
    """
    group, _, number = text.rpartition(":")
    known = {p.group: {bolt.bolt for bolt in p.bolts} for p in record.passes if p.kind == "pattern"}
    if not number.isascii() or not number.isdigit() or (group and group not in known):
        groups = ", ".join(known) or "none in this record"
        raise BadSettings(f"--redo is {printable(text[:60])!r}", remedy=f"a bolt like 5, or GROUP:5; groups: {groups}")
    bolt = int(number[:6])
    found = [name for name, bolts in known.items() if bolt in bolts and group in ("", name)]
    if len(found) == 1:
        return found[0], bolt
    if found:
        each = ", ".join(f"'{name}:{bolt}'" for name in found)
        raise BadSettings(f"--redo {bolt}: several groups have a bolt {bolt}", remedy=f"say which: {each}")
    there = "; ".join(f"{name}: 1 to {max(bolts)}" for name, bolts in known.items())
    raise BadSettings(f"--redo {bolt}: there is no such bolt", remedy=there or "this record has no bolts")


def _against_redo(record: JointRecord, bolts: Sequence[Bolt]) -> Iterator[str]:
    if bolts and record.session.state not in ("closed", "sealed"):
        yield "the session is not finished: `assistant guide` goes on with it, so nothing is to be done again yet"


def _against_accepting(record: JointRecord, comment: str) -> Iterator[str]:
    yield from (f"the record cannot be trusted: {why}" for why in record.distrust)
    if record.session.how:
        yield f"this was a {record.session.how}: nothing was tightened"
    if record.session.closed_utc is None:
        yield "the joint was not closed"
    elif not record.whole:
        yield "something is open: " + "; ".join(open_work(record))
    if not comment:
        if record.decisions and not (record.review is not None and record.review.accepted_by):
            told = "; ".join(each.text for each in record.decisions[:5])
            yield f"{things(len(record.decisions))} to decide, so say with --comment why the joint is good: {told}"
        if redos_open(record):
            yield "bolts are still to be done again: say with --comment why the joint is good all the same"


def _events(
    sources: Sources, record: JointRecord, *, by: str, comment: str, accept: bool, bolts: Sequence[Bolt], sign: bool
) -> list[ReviewEvent]:
    entries = sources.beginning.entries
    if not entries:
        raise BadSession(f"{sources.folder}: nothing was recorded", remedy="there is nothing to review")
    events: list[ReviewEvent] = [
        ReviewBegun(
            by=by,
            session_lines=len(entries),
            session_last_hash=entries[-1].sha256,
            as_recorded=record.verification is not None and record.verification.good,
            product=PRODUCT,
        )
    ]
    events += [RedoOrdered(by=by, group=group, bolt=bolt, reason=comment) for group, bolt in dict.fromkeys(bolts)]
    if accept:
        events.append(JointAccepted(by=by, reason=comment))
    elif comment and not bolts:
        events.append(CommentMade(by=by, text=comment))
    if sign:
        events.append(ReviewSigned(by=by, public_key="", signature=""))
    return events


def _refuse(reasons: Sequence[str], *, as_json: bool) -> None:
    if as_json:
        print(json.dumps({"refused": list(reasons)}, indent=2))
    for reason in reasons:
        print(f"refused: {reason}", file=sys.stderr)


def _show(record: JointRecord, *, as_json: bool) -> int:
    review = record.review
    if as_json:
        document = {
            "session": record.session.folder,
            "verdict": record.verdict,
            "verdict_words": record.verdict_words,
            "complete": record.complete,
            "review": None if review is None else review.model_dump(mode="json"),
            "open_points": list(record.open_points),
        }
        print(json.dumps(document, indent=2))
        return 0
    print(printable(words_in(record.session.language).say(record.verdict_words)))
    if review is None:
        print("not reviewed yet")
    for block in trust(record):
        if block.title == "Review":
            for time, by, ruling, words in block.rows:
                print(f"{time}  {by}: {ruling}" + (f": {words}" if words else ""))
    if review is not None:
        fits = review.seal is not None and review.seal.fits
        print(f"seal: key {review.seal.key}" if fits and review.seal is not None else "seal: DOES NOT FIT, or none")
    for point in record.open_points:
        print(f"open: {printable(point)}")
    return 0
