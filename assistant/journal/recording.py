"""What a session records into, whatever lies beneath: the promises once, and the one that lives in memory."""

from __future__ import annotations

import abc
from collections.abc import Iterable, Sequence
from types import TracebackType
from typing import TypeVar

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.errors import BadSession
from assistant.events import (
    Event,
    UtteranceHeard,
    utterance_in,
)
from assistant.journal.audio import NAME, AudioKeeper, MemoryAudio
from assistant.journal.clock import Clock, utc_now
from assistant.journal.reading import Entry
from assistant.journal.seal import Seal, make_seal
from assistant.journal.tape import MemoryTape
from assistant.journal.writer import JournalWriter

_Self = TypeVar("_Self", bound="Recording")


class Recording(abc.ABC):
    """One session being recorded. One writer, one thread.

    Attributes:
        audio: keeps the utterances that events name.
        joint_toml, plan_json: the files as the session began with them.
    """

    def __init__(
        self, writer: JournalWriter, audio: AudioKeeper, *, clock: Clock, joint_toml: bytes, plan_json: bytes
    ) -> None:
        self._writer, self._clock = writer, clock
        self._sealed = False
        self.audio = audio
        self.joint_toml, self.plan_json = joint_toml, plan_json

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Everything recorded so far, in order."""
        return self._writer.entries

    @property
    def torn_bytes(self) -> int:
        """Bytes of half-written lines set aside and not told of by a `SessionResumed` yet; the next one must."""
        return self._writer.torn_bytes

    @property
    def closed(self) -> bool:
        """Whether the last event is `SessionClosed`; then only `seal` may follow."""
        return self._writer.closed

    def append(self, events: Sequence[Event], at_sample: int) -> list[Entry]:
        """Record events in order; when this returns they last and may be acted on.

        A crash in the middle leaves all of them or none.

        Args:
            events: of `assistant.events`.
            at_sample: >= 0, for all of them, in samples at 16 000 Hz from the session's start.

        Raises:
            RecordNotWritable: the medium refused, now or before; nothing more is taken.
            BadSession: the session is closed or sealed.
            ValueError, TypeError: an event that cannot be kept as it is, or that names audio which is not kept
                (our bug); nothing is written.
        """
        if self._sealed:
            raise already_sealed("the session")
        for event in events:
            if not isinstance(event, UtteranceHeard) or event.audio_sha256 is None:
                continue
            if not self.audio.holds(event.utterance, event.audio_sha256):
                raise ValueError(f"{event.kind} names audio that is not kept")
        return self._writer.append(events, at_sample)

    def seal(self, key: Ed25519PrivateKey, product: str) -> Seal:
        """Sign a closed session; nothing can be appended afterwards.

        Args:
            key: of `seal.installation_key`.
            product: name and version that seals.

        Raises:
            BadSession: not closed yet, or sealed already.
            RecordNotWritable: the medium refused; the session stays closed and can be sealed when opened again.
        """
        if self._sealed:
            raise already_sealed("the session")
        self._writer.finish_interrupted()
        if not self.closed:
            raise BadSession("the session is not closed, so it cannot be sealed", remedy="finish the joint first")
        checkpoints_sha256, unprotected = self._checkpoints()
        seal = make_seal(
            key,
            count=self._writer.count,
            last_hash=self._writer.last_hash,
            product=product,
            utc=self._clock(),
            checkpoints_sha256=checkpoints_sha256,
            unprotected=unprotected,
        )
        self._keep_seal(seal)
        self._sealed = True
        return seal

    def _checkpoints(self) -> tuple[str, tuple[tuple[int, ...], ...]]:
        """SHA-256 of the checkpoints that are sealed along, and what they leave unprotected; "" where none are made."""
        return "", ()

    @abc.abstractmethod
    def _keep_seal(self, seal: Seal) -> None:
        """Put the seal where it lasts; raises RecordNotWritable."""

    def close(self) -> None:
        """Let go; what is recorded stays. May be called twice."""
        self._writer.close()

    def __enter__(self: _Self) -> _Self:
        """Itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close, whatever happened."""
        self.close()


class MemoryStore(Recording):
    """A session in memory with the same promises, for tests and for rehearsals that leave nothing behind."""

    def __init__(self, *, joint_toml: bytes = b"", plan_json: bytes = b"", clock: Clock = utc_now) -> None:
        self._begin(MemoryTape(), {}, clock=clock, joint_toml=joint_toml, plan_json=plan_json)
        self.kept_seal: Seal | None = None

    def _begin(
        self, tape: MemoryTape, files: dict[str, bytes], *, clock: Clock, joint_toml: bytes, plan_json: bytes
    ) -> None:
        self.tape, self._files = tape, files
        writer = JournalWriter(tape, clock)
        audio = MemoryAudio(files, used=used_names(writer.entries))
        super().__init__(writer, audio, clock=clock, joint_toml=joint_toml, plan_json=plan_json)

    def reopened(self, *, clock: Clock | None = None) -> MemoryStore:
        """The same memory opened again, as a folder would be; this one must not be used any more.

        Raises:
            BadSession: sealed, or the memory was damaged meanwhile.
        """
        if self.kept_seal is not None:
            raise already_sealed("the session in memory")
        again = MemoryStore.__new__(MemoryStore)
        again.kept_seal = None
        again._begin(
            self.tape,
            self._files,
            clock=clock or self._clock,
            joint_toml=self.joint_toml,
            plan_json=self.plan_json,
        )
        return again

    def _keep_seal(self, seal: Seal) -> None:
        self.kept_seal = seal


def used_names(entries: Iterable[Entry]) -> set[str]:
    """Names of utterances that the journal mentions, with audio or typed."""
    names = {utterance_in(entry.event) for entry in entries}
    return {name for name in names if NAME.fullmatch(name)}


def already_sealed(what: str) -> BadSession:
    """The refusal to write behind a seal."""
    return BadSession(f"{what} is sealed; nothing can be added to it", remedy="start a new session for more work")
