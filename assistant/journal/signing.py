"""Signs a session while it is recorded: checkpoints in its folder, and what the register keeps outside of it.

Nothing here changes the journal. What a stop leaves unsigned is told by the next checkpoint and stays told in the seal.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import AssistantError, BadSession
from assistant.journal.checkpoints import (
    EVERY,
    LONGEST_UNPROTECTED,
    Checkpoint,
    Found,
    checkpoint_fits,
    contradiction,
    make_checkpoint,
    read_checkpoints,
    write_checkpoint,
)
from assistant.journal.clock import Clock
from assistant.journal.disk import Disk, not_writable
from assistant.journal.keyring import Basis, read_basis
from assistant.journal.register import Register, add_to_register
from assistant.journal.seal import installation_key

_REMEDY = (
    "nothing was changed and nothing was signed; `assistant verify` says more. Show the folder to the lead. The joint "
    "can be begun anew with --new"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signer:
    """With what a session is signed.

    Args:
        key: the machine's own.
        keys: the folder of keys, where the register lies.
        product: name and version that signs.
        basis: the keys and the register that a session is judged by when it is opened again.
    """

    key: Ed25519PrivateKey
    keys: Path
    product: str
    basis: Basis


def machine_signer(keys: Path, product: str) -> Signer:
    """The signer of this machine; its key is made where there is none yet.

    Raises:
        BadSettings, RecordNotWritable: as `installation_key`; the list of trusted keys cannot be read.
    """
    key = installation_key(keys)
    return Signer(key=key, keys=keys, product=product, basis=read_basis(keys))


class Signing:
    """Checkpoints and register of one open session.

    Args:
        hashes: SHA-256 of each line of the journal as it was opened, in order; none for a new one.

    Raises:
        BadSession: the journal lacks or contradicts what was signed, or more of it is unsigned than a stop leaves.
    """

    def __init__(self, folder: Path, signer: Signer, *, hashes: Sequence[str], clock: Clock, disk: Disk) -> None:
        self._folder, self._signer, self._clock, self._disk = folder, signer, clock, disk
        found = read_checkpoints(folder)
        if hashes or found is not None:
            checked(folder, found, hashes, signer.basis)
        self._found = found or Found()
        self._first = hashes[0] if hashes else ""
        self._signed = self._found.checkpoints[-1].count if self._found.checkpoints else 0
        self._gap = (self._signed + 1, len(hashes)) if self._signed < len(hashes) else ()
        self._gaps = [each.unprotected for each in self._found.checkpoints if each.unprotected]
        known = register_of(signer.basis, self._first) if self._first else []
        self._registered = max((count for count, _, _ in known), default=0)

    def complete(self, *, count: int, last_hash: str) -> None:
        """Sign what is not signed yet, before the seal goes on. Raises RecordNotWritable."""
        if count > self._signed:
            self._checkpoint(count, last_hash, "resumed" if self._gap else "closed")

    @property
    def gap(self) -> tuple[int, ...]:
        """First and last line that no checkpoint covers since the session was opened again; () for none."""
        return tuple(self._gap)

    @property
    def unprotected(self) -> tuple[tuple[int, ...], ...]:
        """Stretches of lines (first, last) that no checkpoint had covered when the session was opened again."""
        return tuple(self._gaps)

    @property
    def checkpoints_sha256(self) -> str:
        """Of the whole lines on disk."""
        found = read_checkpoints(self._folder)
        return found.sha256 if found is not None else Found().sha256

    def recorded(self, *, count: int, last_hash: str, first: str, end: bool) -> None:
        """Lines were recorded: sign them where that is due.

        Args:
            count, last_hash, first: lines of the journal, hashes of its last and first.
            end: a sitting ends with them.

        Raises:
            RecordNotWritable: the medium refuses.
        """
        begun = not self._first
        self._first = first
        if begun or self._gap or end or count - self._signed >= EVERY:
            why = "begun" if begun else "resumed" if self._gap else "sitting" if end else "lines"
            self._checkpoint(count, last_hash, why)
        if begun or (end and count > self._registered):
            self._register("opened" if begun else "left", count, last_hash)

    def end(self, *, count: int, last_hash: str) -> None:
        """The session is let go of: sign what is not signed yet, where the medium still takes it."""
        with contextlib.suppress(AssistantError):
            if self._first and count > self._signed:
                self._checkpoint(count, last_hash, "sitting")
            if self._first and count > self._registered:
                self._register("left", count, last_hash)

    def sealed(self, *, count: int, last_hash: str) -> None:
        """The seal is on disk: the register remembers it. Raises RecordNotWritable."""
        self._register("sealed", count, last_hash)

    def _checkpoint(self, count: int, last_hash: str, why: str) -> None:
        line, made = make_checkpoint(
            self._signer.key,
            self._found,
            count=count,
            last_hash=last_hash,
            why=why,
            product=self._signer.product,
            utc=self._clock(),
            unprotected=self._gap,
        )
        try:
            write_checkpoint(self._disk, self._folder, line, self._found)
        except OSError as error:
            raise not_writable(self._folder, error) from None
        if self._gap:
            self._gaps.append(self._gap)
        self._found, self._signed, self._gap = made, count, ()

    def _register(self, act: str, count: int, last_hash: str) -> None:
        add_to_register(
            self._signer.keys,
            self._signer.key,
            act=act,
            session=self._folder,
            first=self._first,
            count=count,
            last_hash=last_hash,
            utc=self._clock(),
            disk=self._disk,
        )
        self._registered = count


def checked(folder: Path, found: Found | None, hashes: Sequence[str], basis: Basis) -> None:
    """See that a journal is what was signed of it, before anything is added.

    Raises:
        BadSession: it is not, or too much of it is not signed.
    """
    register = basis.register
    known = register_of(basis, hashes[0]) if hashes else []
    wrong = register.trouble or (_other_session(folder, hashes[0], register) if hashes else "")
    signed_here = found is not None and _signed_here(found, basis)
    if signed_here and not known and not wrong:
        gone = "does not know this session" if register.exists else "is gone"
        wrong = f"it was signed on this machine, whose register {gone}"
    for each in found.checkpoints if found is not None else ():
        wrong = wrong or _wrong(each, hashes, basis)
    for count, last_hash, told in known:
        if not wrong and (count > len(hashes) or hashes[count - 1] != last_hash):
            wrong = f"this machine's register says otherwise: {told}"
    signed = found.checkpoints[-1].count if found is not None and found.checkpoints else 0
    if not wrong and len(hashes) - signed > LONGEST_UNPROTECTED:
        wrong = (
            f"lines {signed + 1} to {len(hashes)} were never signed, more than a stop leaves ({LONGEST_UNPROTECTED})"
        )
    if wrong:
        raise BadSession(f"{folder} cannot be trusted: {wrong}", remedy=_REMEDY)


def register_of(basis: Basis, first: str) -> list[tuple[int, str, str]]:
    """(lines, hash of the last, in words) of what the register tells of a session's journal."""
    return [
        (each.count, each.last_hash, f"on {each.utc} it had {each.count} lines, and line {each.count} was another")
        for each in basis.register.of(first)
        if each.act in ("opened", "left", "sealed")
    ]


def _signed_here(found: Found, basis: Basis) -> bool:
    """Whether it was signed with the machine's own key, and not stopped before its first entry in the register."""
    last = found.checkpoints[-1] if found.checkpoints else None
    known = basis.key(last.public_key) if last is not None else None
    return known is not None and known.own and len(found.checkpoints) > 1


def _other_session(folder: Path, first: str, register: Register) -> str:
    there = register.named(folder)
    return "" if there is None or there.first == first else "this machine's register knows another session of that name"


def _wrong(checkpoint: Checkpoint, hashes: Sequence[str], basis: Basis) -> str:
    known = basis.key(checkpoint.public_key)
    if not checkpoint_fits(checkpoint):
        return f"the checkpoint over line {checkpoint.count} was changed"
    if known is None or known.revoked:
        return f"the checkpoint over line {checkpoint.count} was signed with a key that is not trusted here"
    return contradiction(checkpoint, hashes)
