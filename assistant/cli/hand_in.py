"""`assistant archive send` and `receive`: sealed sessions to a folder or a service, and that service."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.cli.keys import own_basis
from assistant.errors import BadSession, BadSettings
from assistant.journal.keyring import Basis
from assistant.journal.sessions import SEAL_NAME, played, session_folders
from assistant.journal.verify import verify
from assistant.replay.rebuild import rebuild_state
from assistant.report.printable import printable

if TYPE_CHECKING:
    from assistant.archive.sending import Target

SEND = """\
Nothing is sent unless this command is given, and nothing is deleted here. Sessions that are sealed and whole are sent,
once: what stands there already is passed over, what was reviewed since is sent anew. The rest is named with its reason.
Recordings are people's voices: they go along.

examples:
  assistant archive send sessions/ --to /media/usb/sessions
  assistant archive send sessions/ --to https://archive.example:8443 --token-file token --certificate site.pem

exit codes: 0 all stand there now, 1 a session was not sent, 2 bad input, 3 a package is missing, 4 not acknowledged;
send again
"""
RECEIVE = """\
Takes sessions in until it is stopped (control-C). It listens on this machine alone unless --host names another address;
then it needs a certificate and its key.

examples:
  assistant archive receive inbox/ --token-file token
  assistant archive receive inbox/ --token-file token --host 0.0.0.0 --certificate site.pem --key site.key
"""


def register(acts: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the two acts to `assistant archive`."""
    sending = acts.add_parser(
        "send",
        help="hand sealed sessions in: to a folder, or to a receiving service",
        epilog=SEND,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    sending.add_argument("folders", metavar="FOLDER", nargs="+", type=Path, help="a folder of sessions, or one session")
    sending.add_argument("--to", required=True, metavar="FOLDER|ADDRESS", help="a folder that is there, or https://...")
    sending.add_argument("--token-file", metavar="FILE", type=Path, help="holds the service's token in its first line")
    sending.add_argument("--certificate", metavar="FILE", type=Path, help="of whoever signed the service's certificate")
    sending.add_argument("--rehearsals", action="store_true", help="send rehearsals and practices too")
    sending.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    sending.set_defaults(run=_send)
    receiving = acts.add_parser(
        "receive",
        help="take handed-in sessions into a folder, as a small service",
        epilog=RECEIVE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    receiving.add_argument("folder", metavar="FOLDER", type=Path, help="where sessions arrive")
    receiving.add_argument("--token-file", required=True, metavar="FILE", type=Path, help="the token in its first line")
    receiving.add_argument("--host", default="127.0.0.1", help="address to listen on (default: this machine alone)")
    receiving.add_argument("--port", type=int, default=8443, help="default: 8443")
    receiving.add_argument("--certificate", metavar="FILE", type=Path, help="PEM; for HTTPS")
    receiving.add_argument("--key", metavar="FILE", type=Path, help="PEM; the certificate's key")
    receiving.set_defaults(run=_receive)


def _send(args: argparse.Namespace) -> int:
    target, basis = _target(args), own_basis()
    closing = contextlib.ExitStack()
    if hasattr(target, "close"):
        closing.callback(target.close)
    with closing:
        return _send_all(args, target, basis)


def _send_all(args: argparse.Namespace, target: Target, basis: Basis) -> int:
    from assistant.archive.sending import send

    sent: list[str] = []
    there: list[str] = []
    aside: list[tuple[str, str]] = []
    for folder in _sessions_in(args.folders):
        try:
            why = _why_not(folder, basis, rehearsals=args.rehearsals)
            if why:
                aside.append((folder.name, why))
            elif send(folder, target, lambda at, of, name=folder.name: _progress(name, at, of)):  # type: ignore[misc]
                sent.append(folder.name)
            else:
                there.append(folder.name)
        except BadSession as bad:
            aside.append((folder.name, bad.message))
    _progress("", 0, 0)
    if args.json:
        reasons = [{"session": name, "reason": why} for name, why in aside]
        print(json.dumps({"sent": sent, "there_already": there, "not_sent": reasons}, indent=2))
    else:
        print(f"{len(sent)} sent, {len(there)} there already, {len(aside)} not sent")
        for name, why in aside:
            print(printable(f"not sent: {name}: {why}"))
    return 1 if aside else 0


def _why_not(folder: Path, basis: Basis, *, rehearsals: bool) -> str:
    """Why a session is not sent; "" where it is."""
    if not (folder / SEAL_NAME).exists():
        return "it is not sealed: the joint is not closed"
    how = played(folder)
    if how and not rehearsals:
        return f"it is a {how} (--rehearsals sends it too)"
    trust = verify(folder, rebuild=rebuild_state, basis=basis).trust
    return "" if trust.trusted else trust.reasons[0]


def _target(args: argparse.Namespace) -> Target:
    if "://" in args.to:
        from assistant.archive.sending import Service

        if args.token_file is None:
            raise BadSettings("send: a service asks for a token", remedy="name its file with --token-file")
        return Service(args.to, token=_token(args.token_file), certificate=args.certificate)
    from assistant.archive.inbox import Inbox

    folder = Path(args.to)
    if not folder.is_dir():
        raise BadSettings(
            f"--to: {folder} is not there", remedy="mount the disk or the share, or make the folder first"
        )
    return Inbox(folder)


def _sessions_in(folders: Sequence[Path]) -> Iterator[Path]:
    for folder in folders:
        if not folder.is_dir():
            raise BadSettings(f"{folder} is not a folder", remedy="name a folder of sessions")
        yield from [folder] if (folder / "journal.jsonl").exists() else session_folders(folder)


def _token(file: Path) -> str:
    try:
        return file.read_text("utf-8").partition("\n")[0].strip()
    except (OSError, UnicodeDecodeError) as error:
        raise BadSettings(f"{file} cannot be read: {error}", remedy="a text file with the token in it") from None


def _progress(name: str, at: int, of: int) -> None:
    if sys.stderr.isatty():
        print(
            f"\r\033[K{printable(name)}: file {at} of {of}" if of else "\r\033[K", end="", file=sys.stderr, flush=True
        )


def _receive(args: argparse.Namespace) -> int:
    from assistant.archive.inbox import Inbox
    from assistant.archive.receiving import server

    running = server(
        Inbox(args.folder),
        token=_token(args.token_file),
        host=args.host,
        port=args.port,
        certificate=args.certificate,
        key=args.key,
    )
    scheme = "https" if args.certificate else "http"
    print(f"receiving into {args.folder} at {scheme}://{args.host}:{args.port} (control-C ends it)", file=sys.stderr)
    running.run()
    if not running.started:
        raise BadSettings(f"{args.host}:{args.port} cannot be listened on", remedy="choose another --port")
    return 0
