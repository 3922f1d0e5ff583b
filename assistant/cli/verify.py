"""`assistant verify`: whether session folders are what was recorded."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from assistant.cli.keys import own_basis
from assistant.cli.session_sources import sources_of
from assistant.errors import BadSession, BadSettings
from assistant.journal.findings import Report
from assistant.journal.keyring import Basis
from assistant.journal.verify import Rebuild, verify_and_read
from assistant.journal.verify_signed import missing_sessions
from assistant.replay.rebuild import rebuild_state
from assistant.replay.record import joint_record
from assistant.replay.verdict import verdict
from assistant.report.wording import words_in

DESCRIPTION = "Check that session folders are what was recorded: all of it and nothing else."
EPILOG = """\
Checks that no byte of the journal changed, that no line is missing or added, the seal, the
checkpoints and whose keys signed them, every recording against the journal, the joint file and
the plan, the lead's review and its signature, that each entry follows from what was heard, that
the state can be rebuilt from the journal alone, and what this machine's register knows of the
session. Says what looks like a crash and what like tampering. A session signed with a key that
this machine does not know cannot be trusted: see `assistant key --help`.

examples:
  assistant verify sessions/20261125T101500Z-north-sluice-dn150-flange
  assistant verify --register        are all sessions of this machine still there?

The last line is the verdict on the joint, as the record and the lead's page give it.

exit codes: 0 as recorded, and the joint is complete or accepted, or a rehearsal was gone through to its end;
1 something was found, or the verdict is another one; 2 not a session
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("sessions", metavar="SESSION", nargs="*", type=Path, help="a session folder")
    parser.add_argument(
        "--register", action="store_true", help="also name the sessions of this machine that are no longer there"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document: a list, one object a session")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace, *, rebuild: Rebuild | None = rebuild_state, basis: Basis | None = None) -> int:
    """Verify each session and print what was found.

    Args:
        args: `sessions` (paths) and `json`.
        rebuild: folds events into the state; None leaves that check out.
        basis: the keys that this machine knows; None looks them up.

    Returns:
        0 all good, 1 something was found or the verdict on the joint is not good, 2 one of them is not a session (the
        others are still looked at).
    """
    basis = own_basis() if basis is None else basis
    if not args.sessions and not args.register:
        raise BadSettings("verify: no session is named", remedy="name session folders, or ask with --register")
    status = 0
    documents: list[dict[str, Any]] = []
    for folder in args.sessions:
        try:
            checked = verify_and_read(folder, rebuild=rebuild, basis=basis)
            report = checked[0]
            record = joint_record(sources_of(folder, basis=basis, checked=checked))
        except BadSession as bad:
            status = 2
            documents.append({"session": str(folder), "good": False, "error": _as_json(bad)})
            print(f"{bad.message}\n  {bad.remedy}", file=sys.stderr)
            continue
        status = max(status, 0 if report.good and verdict(record).good else 1)
        documents.append(report.as_json() | {"verdict": record.verdict, "verdict_words": record.verdict_words})
        if not args.json:
            _show(report)
            print(_printable(f"  {words_in(record.session.language).say(record.verdict_words)}"))
    if args.register:
        status = max(status, _missing(basis, documents, shown=not args.json))
    if args.json:
        print(json.dumps(documents, indent=2))
    return status


def _missing(basis: Basis, documents: list[dict[str, Any]], *, shown: bool) -> int:
    """Name the sessions that the register knows and that are gone; 1 when there are any."""
    if basis.register.trouble:
        raise BadSettings(f"this machine's register: {basis.register.trouble}", remedy="restore it from a copy")
    gone = missing_sessions(basis)
    for each in gone:
        message = f"It was last registered on {each.utc} ({each.act}, {each.count} lines) and is no longer there."
        folder = str(Path(each.place) / each.session)
        documents.append({"session": folder, "good": False, "missing": message})
        if shown:
            print(_printable(folder), _printable(f"  MISSING: {message}"), sep="\n")
    if shown and not gone:
        print(f"All {len(basis.register.by_first)} sessions of this machine's register are where they were recorded.")
    return 1 if gone else 0


def _as_json(bad: BadSession) -> dict[str, str]:
    return {"code": bad.code, "message": bad.message, "remedy": bad.remedy}


def _show(report: Report) -> None:
    print(_printable(report.folder))
    for finding in report.findings:
        sign = f" [{finding.sign}]" if finding.severity != "note" and finding.sign != "none" else ""
        print(_printable(f"  {finding.severity:8}{finding.where}: {finding.message}{sign}"))
    answer = "good" if report.good else "interrupted" if report.trust.trusted else "CANNOT BE TRUSTED"
    print(f"  {answer}: {report.lines} lines, {report.utterances} recordings, {report.status}{_signs(report)}")


def _signs(report: Report) -> str:
    words = {"tampering": "signs of tampering", "damage": "signs of damage", "crash": "signs of a crash"}
    return "".join(f"; {words[sign]}" for sign in report.signs)


def _printable(text: str) -> str:
    return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in text)
