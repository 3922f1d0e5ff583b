"""`assistant key`: the keys that this machine signs with and trusts."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from assistant.cli.keys import key_folder, own_basis, passphrase
from assistant.errors import BadSession, BadSettings
from assistant.journal.disk import read_regular
from assistant.journal.keyring import LONGEST_NAME, KnownKey, revoke_key, trust_key
from assistant.journal.person_key import key_file, make_person_key
from assistant.journal.seal import installation_key
from assistant.report.printable import printable

DESCRIPTION = "The keys that this machine signs with and trusts."
EPILOG = """\
Every machine makes one key for itself and signs its sessions with it. What another machine signed counts here only
when its key is on the list, under a name that somebody here gave it: compare the fingerprint with the person who sends
it (by telephone, or on the screen of that machine), then add it. A key that is not on the list proves nothing.

A person signs reviews with a key of his own, locked with a passphrase (`new`); it may lie on a stick. So technician and
lead are two: what the machine signs, the lead cannot have signed, and the other way round.

A signature shows that the record has not changed since it was made with that key. It proves no person, and not that
what was said is true. Whoever can work as the account that runs the assistant can use its key.

examples:
  assistant key show
  assistant key export > gallery-tablet.key                         on the machine that records
  assistant key add gallery-tablet.key --name "gallery tablet" --by "Kim Lead"     where it is checked
  assistant key new --name "Kim Lead"                               a key of her own to sign reviews with
  assistant key export "Kim Lead" > kim.key                         for the machines that check what she signed
  assistant key revoke "gallery tablet" --by "Kim Lead" --reason "tablet was stolen"

exit codes: 0 done, 1 there is no key yet to show or export, 2 bad input, 4 the list cannot be written
"""
EXPORT_HEAD = "# Public key of a machine or a person; compare the figures before you add it: assistant key add FILE"


def register(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("act", choices=("show", "export", "new", "add", "revoke"), help="what to do")
    parser.add_argument("key", metavar="KEY", nargs="?", help="add: a file or the figures; revoke: its name or figures")
    parser.add_argument("--name", help="add: what this machine or person is called here; new: whose key it will be")
    parser.add_argument("--file", type=Path, help="new: where the key is put, say on a stick")
    parser.add_argument("--passphrase-file", metavar="FILE", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--by", help="add, revoke: who says so")
    parser.add_argument("--reason", default="", help="revoke: why")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do one thing with the keys.

    Returns:
        0; 1 where there is nothing to show or export.
    """
    if args.act == "show":
        return _show(own_basis().keys, as_json=args.json)
    if args.act == "new":
        return _new(args)
    if args.act == "export":
        if args.key:
            return _export(_known(args.key), as_json=args.json)
        installation_key(key_folder())  # made where there is none yet: exporting it is the first thing done with it
        own = own_basis().keys[0]
        return _export(own, as_json=args.json)
    if not args.key:
        raise BadSettings(f"key {args.act}: which key?", remedy=f"assistant key {args.act} KEY; see --help")
    by = _plain(args.by, "--by")
    if args.act == "add":
        changed = trust_key(key_folder(), _figures(args.key), name=_plain(args.name, "--name"), by=by)
    else:
        changed = revoke_key(key_folder(), args.key, by=by, reason=_plain(args.reason, "--reason"))
    return _show((changed,), as_json=args.json)


def _new(args: argparse.Namespace) -> int:
    """Make a key for a person, and put it on this machine's list."""
    name, folder = _plain(args.name, "--name"), key_folder()
    secret = passphrase(args.passphrase_file, f"New passphrase for {name}: ")
    if args.passphrase_file is None and passphrase(None, "The same once more: ") != secret:
        raise BadSettings("the two passphrases differ", remedy="try again")
    path = args.file or key_file(folder, name)
    made = make_person_key(path, name, secret)
    print(f"key of {printable(name)}: {printable(str(path))}", file=sys.stderr)
    return _show((trust_key(folder, made.public_key, name=name, by=name),), as_json=args.json)


def _known(named: str) -> KnownKey:
    for each in own_basis().keys:
        if each.name == named:
            return each
    raise BadSettings(f"no key is called {named[:60]!r}", remedy="`assistant key show` lists them")


def _plain(text: str | None, option: str) -> str:
    shown = " ".join((text or "").split())
    if not shown or len(shown) > LONGEST_NAME or not shown.isprintable():
        remedy = f"plain text of at most {LONGEST_NAME} letters"
        raise BadSettings(f"{option} is {printable(shown[:60])!r}", remedy=remedy)
    return shown


def _figures(key: str) -> str:
    """The figures of a public key: given as they are, or in a file that `export` made.

    Raises:
        BadSettings: the file cannot be read, or holds no public key.
    """
    if all(letter in "0123456789abcdefABCDEF " for letter in key):
        return key
    try:
        text = read_regular(Path(key)).decode("ascii")
    except (BadSession, UnicodeDecodeError, ValueError) as error:
        why = error.message if isinstance(error, BadSession) else f"{key} is not a key file"
        raise BadSettings(why, remedy="the figures, or the file of `assistant key export`") from None
    return "".join(line for line in text.splitlines() if not line.startswith("#"))


def _export(own: KnownKey, *, as_json: bool) -> int:
    if as_json:
        print(json.dumps(_document(own), indent=2))
        return 0
    print(EXPORT_HEAD)
    print(own.public_key)
    print(f"fingerprint: {own.fingerprint}", file=sys.stderr)
    return 0


def _show(keys: tuple[KnownKey, ...], *, as_json: bool) -> int:
    if as_json:
        print(json.dumps([_document(each) for each in keys], indent=2))
    elif not keys:
        print("No key yet: the first session, or `assistant key export`, makes this machine's own.")
    for each in keys if not as_json else ():
        state = f"REVOKED {each.revoked_utc[:10]} by {each.revoked_by}: {each.reason}" if each.revoked else ""
        added = f"added {each.added_utc[:10]} by {each.added_by}" if each.added_utc else ""
        kind = "own" if each.own else "trusted"
        print(printable("  ".join(part for part in (each.fingerprint, each.name, kind, added, state) if part)))
    return 0 if keys else 1


def _document(key: KnownKey) -> dict[str, Any]:
    return {
        "public_key": key.public_key,
        "fingerprint": key.fingerprint,
        "name": key.name,
        "own": key.own,
        "trusted": not key.revoked,
        "added_by": key.added_by or None,
        "added_utc": key.added_utc or None,
        "revoked_by": key.revoked_by or None,
        "revoked_utc": key.revoked_utc or None,
        "reason": key.reason or None,
    }
