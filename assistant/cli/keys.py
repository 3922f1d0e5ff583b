"""What this machine has to judge by: its keys. One place for all commands, so that all give the same answer."""

from __future__ import annotations

import getpass
import hashlib
from pathlib import Path

from assistant.config import paths
from assistant.config.program import product, program_digest
from assistant.config.settings import read_settings
from assistant.errors import BadSettings
from assistant.journal.keyring import Basis, read_basis
from assistant.journal.person_key import PersonKey, key_file, unlock_person_key
from assistant.journal.signing import Signer, machine_signer


def key_folder() -> Path:
    """Where this machine's key, its list of trusted keys and its register are kept."""
    return paths.key_folder(read_settings().keys)


def own_signer() -> Signer:
    """What this machine signs sessions with; its key is made where there is none yet.

    Raises:
        BadSettings: the key or the list of trusted keys cannot be read.
    """
    return machine_signer(key_folder(), product())


def own_basis() -> Basis:
    """The keys that this machine trusts; nothing is made.

    Raises:
        BadSettings: the list of trusted keys cannot be read.
    """
    return read_basis(key_folder())


def person_key(file: Path | None, name: str, passphrase_file: Path | None) -> PersonKey:
    """The own key of a person, unlocked with the passphrase that is asked for at the keyboard.

    Args:
        file: None takes the one that was made for this name on this machine.
        name: who signs; the key must have been made for that name.
        passphrase_file: holds the passphrase in its first line, where nobody can be asked.

    Raises:
        BadSettings: no such key, another passphrase, or a key of somebody else.
    """
    path = file or key_file(key_folder(), name)
    if not path.is_file():
        raise BadSettings(
            f"{path}: there is no key of {name!r}",
            remedy="`assistant key new --name NAME` makes one, or name its file with --key; without --sign nothing is "
            "signed",
        )
    key = unlock_person_key(path, passphrase(passphrase_file, f"Passphrase of {name}: "))
    if key.name != name:
        raise BadSettings(f"{path} is the key of {key.name!r}, not of {name!r}", remedy="sign as yourself: --by NAME")
    return key


def passphrase(file: Path | None, question: str) -> str:
    """The passphrase: asked for, or from a file's first line.

    Raises:
        BadSettings: the file cannot be read, or there is no keyboard to ask at.
    """
    try:
        if file is not None:
            return file.read_text("utf-8").partition("\n")[0]
        return getpass.getpass(question)
    except (OSError, UnicodeDecodeError, EOFError) as error:
        raise BadSettings(f"no passphrase: {error or 'nobody answers'}", remedy="type it when asked") from None


def registered_texts(basis: Basis) -> dict[str, str]:
    """By a session's first hash, a text that changes with the register's lines on it."""
    return {
        first: " ".join(f"{each.act}:{each.count}:{each.last_hash}:{each.session}" for each in entries)
        for first, entries in basis.register.by_first.items()
    }


def basis_text(basis: Basis) -> str:
    """A text that changes with the program and with the keys that are trusted."""
    keys = [f"{key.public_key} {key.name} {key.revoked}" for key in basis.keys]
    text = "\n".join([program_digest(), *sorted(keys)])
    return hashlib.sha256(text.encode()).hexdigest()
