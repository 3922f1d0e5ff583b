"""A session from its folder to its seal, left once in between; and going on with what something left of it.

For whatever can stop a session: the power, a kill, a disk that fails. What was answered for has to be there afterwards,
nothing may look like tampering, and the session goes on to a seal that verifies.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from assistant.events import SessionClosed, SessionLeft
from assistant.journal.disk import Disk
from assistant.journal.keyring import read_basis
from assistant.journal.sessions import status_of
from assistant.journal.signing import machine_signer
from assistant.journal.store import JournalStore
from assistant.journal.verify import verify
from tests.journal.short_record import Ticking, new_store, opened, resumed, say

PRODUCT = "assistant 0.2.0"
ENTRIES = 12
"""Lines of the whole course."""


def recorded(root: Path, disk: Disk, acknowledge: Callable[[int], None], *, sittings: int = 2) -> Path:
    """Record the whole course below `root`; `acknowledge` is told how many entries are answered for by now.
    With one sitting it is left open.

    The machine's key has to be in `root`/keys already.
    """
    signer = machine_signer(root / "keys", PRODUCT)
    with new_store(root / "sessions", disk, signer) as store:
        store.append([opened(store)], 0)
        acknowledge(len(store.entries))
        for seed in (1, 2, 3):
            say(store, "310", seed)
            acknowledge(len(store.entries))
        store.append([SessionLeft(reason="left open")], 9000)
        acknowledge(len(store.entries))
        folder = store.folder
    if sittings == 1:
        return folder
    with JournalStore.open(folder, clock=Ticking(), disk=disk, signer=machine_signer(root / "keys", PRODUCT)) as store:
        store.append([resumed(0)], 9000)
        say(store, "312", 5)
        store.append([SessionClosed(utterance="0001")], 9500)
        acknowledge(len(store.entries))
        store.seal(signer.key, PRODUCT)
    return folder


def session_in(root: Path) -> Path | None:
    """The session below `root`; None where its journal was not made yet."""
    folders = sorted((root / "sessions").iterdir()) if (root / "sessions").is_dir() else []
    return next((path for path in folders if (path / "journal.jsonl").is_file()), None)


def lost(root: Path, acknowledged: int) -> int:
    """How many of the acknowledged entries are not there; then go on with the session to its seal.

    Raises:
        AssertionError: it looks like tampering or damage, or the sealed session does not verify.
        AssistantError: it cannot be continued.
    """
    folder = session_in(root)
    if folder is None:
        return acknowledged
    keys = root / "keys"
    for finding in verify(folder, basis=read_basis(keys)).findings:
        assert finding.severity == "note" or finding.sign == "crash", finding
    if status_of(folder) == "sealed":
        return 0
    with JournalStore.open(folder, clock=Ticking(), signer=machine_signer(keys, PRODUCT)) as store:
        gone = max(0, acknowledged - len(store.entries))
        if not store.closed:
            store.append([resumed(store.torn_bytes)] if store.entries else [opened(store)], 9900)
            last = SessionClosed(utterance="0001") if len(store.entries) > 4 else SessionLeft(reason="left open")
            store.append([last], 9901)
        if store.closed:
            store.seal(machine_signer(keys, PRODUCT).key, PRODUCT)
    report = verify(folder, basis=read_basis(keys))
    explained = {"audio-unnamed"}  # a recording whose line was lost with its batch: one for each stop
    assert {f.code for f in report.findings if f.severity != "note"} <= explained, report.findings
    return gone
