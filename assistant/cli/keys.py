"""The public keys that count as this installation's own."""

from __future__ import annotations

from collections.abc import Collection

from assistant.config.paths import key_folder
from assistant.errors import AssistantError
from assistant.journal.seal import KEY_NAME, installation_key, public_key_of


def own_keys() -> Collection[str]:
    """Public key (hex) of this installation, where it has one already; none is made, and a damaged one knows nobody."""
    if not (key_folder() / KEY_NAME).is_file():
        return ()
    try:
        return (public_key_of(installation_key(key_folder())),)
    except AssistantError:
        return ()
