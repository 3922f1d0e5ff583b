"""What this machine has to judge by: its keys. One place for all commands, so that all give the same answer."""

from __future__ import annotations

from pathlib import Path

from assistant.config import paths
from assistant.config.program import product
from assistant.config.settings import read_settings
from assistant.journal.keyring import Basis, read_basis
from assistant.journal.signing import Signer, machine_signer


def key_folder() -> Path:
    """Where this machine's key, its list of trusted keys and its register are kept."""
    return paths.key_folder(read_settings().keys)


def own_signer() -> Signer:
    """What this machine signs sessions with; its key is made where there is none yet.

    Raises:
        BadSettings: the key or the list of trusted keys cannot be read.
        RecordNotWritable: the folder of keys does not take a new key.
    """
    return machine_signer(key_folder(), product())


def own_basis() -> Basis:
    """The keys that this machine trusts; nothing is made.

    Raises:
        BadSettings: the list of trusted keys cannot be read.
    """
    return read_basis(key_folder())
