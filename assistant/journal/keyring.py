"""The keys that a machine trusts, by name: its own, and those that somebody put on its list.

A signature proves that the holder of a key signed. Who that is cannot be told from the key, so each key gets its name
from a person, once: `trusted-keys.toml` beside the machine's own key, made by `assistant key` or by hand. A key that is
not on the list proves nothing here, whoever holds it, and neither does one that was revoked.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import sys
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from assistant.errors import AssistantError, BadSettings
from assistant.journal.clock import Clock, utc_now, utc_read, utc_text
from assistant.journal.disk import Disk, make_folders, not_writable, read_regular, replace_file
from assistant.journal.register import Register, read_register
from assistant.journal.seal import KEY_NAME, fingerprint_of, installation_key, public_key_of
from assistant.journal.witness import Statement, kept_statements

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

TRUSTED_NAME = "trusted-keys.toml"
THIS_MACHINE = "this machine"
LONGEST_NAME = 80
_PUBLIC = re.compile("[0-9a-f]{64}")
_FIELDS = ("public_key", "name", "added_by", "added_utc", "revoked_by", "revoked_utc", "reason")
_HEAD = """\
# Keys whose signatures this machine trusts. `assistant key` writes this file; it may be edited by hand.
# A key stands here because somebody compared its fingerprint and gave it a name: say who, in added_by.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownKey:
    """A public key with the name that people know it by.

    Args:
        public_key: 64 hexadecimal figures.
        name: of the machine or the person that holds the private part.
        own: it is this machine's own.
        added_by, added_utc: who put it on the list, and when by this machine's clock.
        revoked_by, revoked_utc, reason: since when it proves nothing any more; "" while it is in force.
    """

    public_key: str
    name: str
    own: bool = False
    added_by: str = ""
    added_utc: str = ""
    revoked_by: str = ""
    revoked_utc: str = ""
    reason: str = ""

    @property
    def revoked(self) -> bool:
        """Whether it was taken off the list."""
        return bool(self.revoked_utc)

    @property
    def fingerprint(self) -> str:
        """The first 16 figures in fours, for comparing by eye."""
        return fingerprint_of(self.public_key)


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What a machine has to judge a session by.

    Args:
        keys: that it knows, in force or revoked.
        register: of the sessions that it recorded or reviewed itself.
        witnessed: what it, or another machine, signed of sessions as a witness.
    """

    keys: tuple[KnownKey, ...] = ()
    register: Register = field(default_factory=Register)
    witnessed: tuple[Statement, ...] = ()

    def key(self, public_key: str) -> KnownKey | None:
        """The key by its public part; None where it is not known."""
        return next((each for each in self.keys if each.public_key == public_key), None)


NOTHING_KNOWN = Basis()
"""A machine without any key: whatever is signed cannot be trusted there."""


def basis_of(public_keys: Iterable[str]) -> Basis:
    """A basis of these keys (hex) as the machine's own."""
    return Basis(keys=tuple(KnownKey(public_key=each, name=THIS_MACHINE, own=True) for each in public_keys))


def read_basis(folder: Path) -> Basis:
    """The keys that a machine trusts, read from its key `folder`. Creates nothing; leaves out a damaged own key.

    Raises:
        BadSettings: the list of trusted keys, or a witness's statement, is there and cannot be read.
    """
    keys = list(read_trusted(folder))
    own = own_public_key(folder)
    if own:
        named = next((each for each in keys if each.public_key == own), None)
        keys = [each for each in keys if each.public_key != own]
        keys.insert(0, replace(named or KnownKey(public_key=own, name=THIS_MACHINE), own=True))
    return Basis(keys=tuple(keys), register=read_register(folder), witnessed=kept_statements(folder))


def own_public_key(folder: Path) -> str:
    """Public part (hex) of this machine's own key; "" where it has none yet, or none that can be used."""
    if (folder / KEY_NAME).is_file():
        with contextlib.suppress(AssistantError):
            return public_key_of(installation_key(folder))
    return ""


def read_trusted(folder: Path) -> tuple[KnownKey, ...]:
    """The keys on the list, as written; none where there is no list.

    Raises:
        BadSettings: no TOML, or a field that is missing, unknown or wrong; the message names it.
    """
    path = folder / TRUSTED_NAME
    if not os.path.lexists(path):
        return ()
    remedy = "each [[keys]] needs public_key (64 hexadecimal figures) and name; `assistant key show` lists them"
    try:
        document = tomllib.loads(read_regular(path).decode("utf-8"))
    except AssistantError as error:
        raise BadSettings(error.message, remedy=remedy) from None
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise BadSettings(f"{path} is not TOML: {error}", remedy=remedy) from None
    listed = document.get("keys", [])
    if document.keys() - {"keys"} or not isinstance(listed, list):
        raise BadSettings(f"{path} holds something else than a list of [[keys]]", remedy=remedy)
    keys: dict[str, KnownKey] = {}
    for number, each in enumerate(listed, start=1):
        wrong = _wrong(each)
        if not wrong and each["public_key"] in keys:
            wrong = "this public_key is listed twice"
        if wrong:
            raise BadSettings(f"{path}: key {number}: {wrong}", remedy=remedy)
        keys[each["public_key"]] = KnownKey(**each)
    return tuple(keys.values())


def _wrong(found: Any) -> str:
    """What is wrong with one entry of the list; "" when nothing."""
    if not isinstance(found, dict):
        return "it is not a table"
    for name in found:
        if name not in _FIELDS:
            return f"there is no field {name[:40]!r}"
        if not isinstance(found[name], str) or not found[name].isprintable():
            return f"{name} is not plain text"
    if not _PUBLIC.fullmatch(found.get("public_key", "")):
        return f"public_key is {found.get('public_key', '')[:80]!r}"
    if not 0 < len(found.get("name", "")) <= LONGEST_NAME:
        return f"name is missing, or longer than {LONGEST_NAME} letters"
    try:
        for name in ("added_utc", "revoked_utc"):
            if found.get(name):
                utc_read(found[name])
    except ValueError as error:
        return f"{name}: {error}"
    return ""


def trust_key(folder: Path, public_key: str, *, name: str, by: str, clock: Clock = utc_now) -> KnownKey:
    """Put a key on the list: from now on its signatures count on this machine.

    Raises:
        BadSettings: no public key, or it is on the list under another name, or was revoked.
        RecordNotWritable: the folder refuses.
    """
    public_key = "".join(public_key.split()).lower()
    if not _PUBLIC.fullmatch(public_key):
        raise BadSettings(f"{public_key[:80]!r} is not a public key", remedy="64 hexadecimal figures, or a file")
    keys = {each.public_key: each for each in read_trusted(folder)}
    there = keys.get(public_key)
    if there is not None and there.revoked:
        message = f"the key {there.fingerprint} of {there.name} was revoked by {there.revoked_by or 'somebody'}"
        raise BadSettings(message, remedy=f"let a new key be made; only {TRUSTED_NAME} edited by hand brings it back")
    if there is not None and there.name != name:
        raise BadSettings(f"that key is known as {there.name!r}", remedy="a key has one name: revoke it first")
    if any(each.name == name and each.public_key != public_key and not each.revoked for each in keys.values()):
        raise BadSettings(f"another key is called {name!r}", remedy="choose another name, or revoke that one first")
    added = KnownKey(public_key=public_key, name=name, added_by=by, added_utc=utc_text(clock()))
    _write(folder, [*(each for each in keys.values() if each.public_key != public_key), added])
    return added


def revoke_key(folder: Path, named: str, *, by: str, reason: str, clock: Clock = utc_now) -> KnownKey:
    """Take a key off: nothing signed with it counts any more on this machine, however old it says it is.

    Args:
        named: its name, or the beginning of its public key.

    Raises:
        BadSettings: no such key, or several.
    """
    figures = "".join(named.split()).lower()
    keys = list(read_trusted(folder))
    own = own_public_key(folder)
    if own and own not in {each.public_key for each in keys}:
        keys.insert(0, KnownKey(public_key=own, name=THIS_MACHINE))
    found = [k for k in keys if k.name == named or (len(figures) >= 8 and k.public_key.startswith(figures))]
    if len(found) != 1:
        remedy = "a name of `assistant key show`, or at least 8 figures of the key"
        raise BadSettings(f"{'no' if not found else 'more than one'} key is {named[:80]!r}", remedy=remedy)
    gone = replace(found[0], revoked_by=by, revoked_utc=utc_text(clock()), reason=reason)
    _write(folder, [gone if each is found[0] else each for each in keys])
    return gone


def _write(folder: Path, keys: Iterable[KnownKey]) -> None:
    text = _HEAD
    for each in keys:
        lines = [f"{name} = {json.dumps(getattr(each, name), ensure_ascii=False)}" for name in _FIELDS]
        text += "\n[[keys]]\n" + "".join(f"{line}\n" for line in lines if not line.endswith('= ""'))
    disk, path = Disk(), folder / TRUSTED_NAME
    try:
        make_folders(disk, folder)
        replace_file(disk, path, text.encode("utf-8"))
    except OSError as error:
        raise not_writable(path, error) from None
