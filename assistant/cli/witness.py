"""`assistant witness`: a second machine signs how far a session had come; carried as a file, no network needed."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from assistant.cli.keys import key_folder, own_basis
from assistant.config.program import product
from assistant.errors import BadSession, BadSettings
from assistant.journal.clock import utc_now
from assistant.journal.disk import Disk, not_writable, read_regular, replace_file
from assistant.journal.reading import read_session
from assistant.journal.seal import installation_key
from assistant.journal.witness import (
    ENDING,
    Slip,
    Statement,
    keep_statement,
    make_statement,
    read_slip,
    read_statement,
    slip_bytes,
    statement_bytes,
)
from assistant.report.printable import printable

DESCRIPTION = "Let a second machine sign how far a session had come."
EPILOG = """\
Whoever works as the account that records can use that machine's key, and could make a whole session anew. A witness is
a second machine, say the lead's, that signs how far a session had come while it was recorded or soon after, and keeps
that. A session that is another one later cannot be trusted there, nor wherever the statement was added.

`slip` writes what a witness needs: the name of the session, the number of its lines, two hashes; nothing that was said.
`sign`, on the other machine, signs the slip and keeps the statement; the copy beside the slip can be taken back and
added. The witness's key has to be on the list of trusted keys where a statement counts (`assistant key`).

examples:
  assistant witness slip sessions/20261125T101500Z-pump-2-discharge-flange --file /media/stick/pump-2.slip
  assistant witness sign /media/stick/pump-2.slip             on the lead's machine
  assistant witness add /media/stick/pump-2.slip.witness.json      on any other
  assistant witness show

exit codes: 0 done, 1 there is nothing to show, 2 bad input, 4 a file cannot be written
"""


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("act", choices=("slip", "sign", "add", "show"), help="what to do")
    parser.add_argument("path", metavar="PATH", nargs="?", type=Path, help="a session folder, a slip or a statement")
    parser.add_argument("--file", type=Path, help="slip: where it is written")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do one thing.

    Returns:
        0; 1 where there is nothing to show.
    """
    if args.act == "show":
        return _show(own_basis().witnessed, as_json=args.json)
    if args.path is None:
        raise BadSettings(f"witness {args.act}: of what?", remedy=f"assistant witness {args.act} PATH; see --help")
    if args.act == "slip":
        slip = _slip_of(args.path)
        file = args.file or Path(f"{slip.session}.slip")
        _write(file, slip_bytes(slip))
        print(f"slip of {slip.count} lines: {printable(str(file))}", file=sys.stderr)
        return 0
    if args.act == "sign":
        key = installation_key(key_folder())
        slip = read_slip(_read(args.path), name=str(args.path))
        made = make_statement(slip, key, product=product(), utc=utc_now())
        _write(args.path.with_name(args.path.name + ENDING), statement_bytes(made))
    else:
        made = read_statement(_read(args.path), name=str(args.path))
        known = own_basis().key(made.public_key)
        if known is None or known.revoked:
            raise BadSettings(
                f"{args.path} was signed with a key that is not trusted here ({made.public_key[:16]})",
                remedy="compare its fingerprint with the witness, then `assistant key add`",
            )
    keep_statement(key_folder(), made)
    return _show((made,), as_json=args.json)


def _slip_of(folder: Path) -> Slip:
    entries = read_session(folder).entries
    if not entries:
        raise BadSession(f"{folder} holds no line yet", remedy="a witness signs a session that has begun")
    name = folder.absolute().name
    return Slip(session=name, first=entries[0].sha256, count=entries[-1].seq, last_hash=entries[-1].sha256)


def _read(path: Path) -> bytes:
    try:
        return read_regular(path)
    except BadSession as bad:
        raise BadSettings(bad.message, remedy="name a file that `assistant witness` wrote") from None


def _write(path: Path, raw: bytes) -> None:
    try:
        replace_file(Disk(), path, raw)
    except OSError as error:
        raise not_writable(path, error) from None


def _show(statements: tuple[Statement, ...], *, as_json: bool) -> int:
    basis = own_basis()
    documents: list[dict[str, Any]] = []
    for each in statements:
        known = basis.key(each.public_key)
        name = known.name if known is not None and not known.revoked else "a key that is not trusted here"
        slip = each.slip
        documents.append({"session": slip.session, "lines": slip.count, "witness": name, "utc": each.utc})
    if as_json:
        print(json.dumps(documents, indent=2))
    else:
        for told in documents:
            line = f"{told['utc']}  {told['session']}: {told['lines']} lines, seen by {told['witness']}"
            print(printable(line))
    return 0 if documents else 1
