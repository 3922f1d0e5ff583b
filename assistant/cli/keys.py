"""What this machine has to judge by: its keys. One place for all commands, so that all give the same answer."""

from __future__ import annotations

from assistant.config.paths import key_folder
from assistant.journal.keyring import Basis, read_basis


def own_basis() -> Basis:
    """The keys that this machine trusts; nothing is made.

    Raises:
        BadSettings: the list of trusted keys cannot be read.
    """
    return read_basis(key_folder())
