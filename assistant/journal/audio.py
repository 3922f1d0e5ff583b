"""Utterances on disk: `audio/0001.flac`, `0002.flac` ... 16 kHz, mono, 16 bit, each complete before it has its name.

An utterance is whole in memory when it comes here; streaming into a FLAC would leave an unreadable file after a crash.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt
import soundfile

from assistant.errors import BadAudio, BadSession
from assistant.events import SAMPLE_RATE_HZ
from assistant.journal.disk import Disk, not_writable, read_regular, write_new_file

Samples = npt.NDArray[np.int16]  # shape (n,), mono, 16 000 Hz

NAME = re.compile(r"[0-9]{4,9}")


class AudioKeeper(Protocol):
    """Keeps utterances under numbers that are never used twice."""

    def keep(self, samples: Samples) -> tuple[str, str | None]:
        """Store an utterance; when this returns it lasts and an event may name it.

        Args:
            samples: int16, shape (n,), mono, 16 000 Hz. None at all (typed, or an empty stretch) takes a number only.

        Returns:
            Its name ("0001") and the SHA-256 of its file; None for no samples.

        Raises:
            RecordNotWritable: the medium refused; the number is not used.
        """

    def drop(self, name: str) -> None:
        """Remove an utterance that no event names yet; its number stays used. Raises RecordNotWritable."""

    def load(self, name: str) -> Samples:
        """The utterance of that name, int16, shape (n,), 16 000 Hz. Raises BadAudio."""

    def holds(self, name: str, sha256: str) -> bool:
        """Whether a file of that name and content is there."""


class AudioStore:
    """Utterances in a folder.

    Args:
        folder: the session's `audio` folder; exists.
        disk: all writing goes through it.
        used: names that the journal already mentions (typed utterances have a number but no file).
    """

    def __init__(self, folder: Path, disk: Disk, *, used: Iterable[str] = ()) -> None:
        self._folder, self._disk = folder, disk
        self._kept: dict[str, str] = {}
        numbers = [int(name) for name in used if NAME.fullmatch(name)]
        try:
            stems = [path.name.split(".")[0] for path in folder.iterdir()]  # also a .part that a crash left
        except OSError as error:
            raise BadSession(f"{folder} cannot be read ({error.strerror})", remedy="name a session folder") from None
        self._last = max([0, *numbers, *(int(stem) for stem in stems if NAME.fullmatch(stem))])

    def keep(self, samples: Samples) -> tuple[str, str | None]:
        """Store an utterance as FLAC: encoded, written, synced, read back, decoded and compared, then named."""
        _check(samples)
        name = f"{self._last + 1:04d}"
        digest = None
        if samples.size:
            path = self._folder / f"{name}.flac"
            encoded = encode_flac(samples)
            try:
                write_new_file(self._disk, path, encoded)
            except OSError as error:
                raise not_writable(path, error) from None
            digest = self._kept[name] = hashlib.sha256(encoded).hexdigest()
        self._last += 1
        return name, digest

    def drop(self, name: str) -> None:
        """Remove an utterance that no event names yet."""
        path = self._folder / f"{name}.flac"
        if self._kept.pop(name, None) is not None:
            try:
                path.unlink()
            except OSError as error:
                raise not_writable(path, error) from None

    def load(self, name: str) -> Samples:
        """The utterance of that name."""
        if not NAME.fullmatch(name):
            raise BadAudio(f"{name[:40]!r} does not name an utterance", remedy="names are figures, like 0007")
        path = self._folder / f"{name}.flac"
        try:
            raw = read_regular(path)
        except BadSession as error:
            raise BadAudio(error.message, remedy="the record says which utterances have audio") from None
        return decode_flac(raw, name=str(path))

    def holds(self, name: str, sha256: str) -> bool:
        """Whether that file is there; one kept by this store is not read again."""
        if name in self._kept:
            return self._kept[name] == sha256
        path = self._folder / f"{name}.flac"
        if not NAME.fullmatch(name) or not os.path.lexists(path):
            return False
        return hashlib.sha256(read_regular(path)).hexdigest() == sha256


class MemoryAudio:
    """Utterances in memory; `files` (name -> FLAC bytes) may be shared with a later one, as a folder is."""

    def __init__(self, files: dict[str, bytes] | None = None, *, used: Iterable[str] = ()) -> None:
        self.files: dict[str, bytes] = {} if files is None else files
        self._last = max([0, *(int(name) for name in [*used, *self.files] if NAME.fullmatch(name))])

    def keep(self, samples: Samples) -> tuple[str, str | None]:
        """Store an utterance."""
        _check(samples)
        self._last += 1
        name = f"{self._last:04d}"
        if not samples.size:
            return name, None
        self.files[name] = encode_flac(samples)
        return name, hashlib.sha256(self.files[name]).hexdigest()

    def drop(self, name: str) -> None:
        """Remove an utterance that no event names yet."""
        self.files.pop(name, None)

    def load(self, name: str) -> Samples:
        """The utterance of that name."""
        if name not in self.files:
            raise BadAudio(f"no utterance {name[:40]!r} in memory", remedy="the record says which have audio")
        return decode_flac(self.files[name], name=name)

    def holds(self, name: str, sha256: str) -> bool:
        """Whether an utterance of that name and content was kept."""
        return name in self.files and hashlib.sha256(self.files[name]).hexdigest() == sha256


def encode_flac(samples: Samples) -> bytes:
    """The samples as a whole FLAC file, decoded again and compared before it is trusted.

    Args:
        samples: int16, shape (n,), n >= 1, 16 000 Hz.

    Raises:
        RuntimeError: the encoder did not give back the same samples (a broken library, never seen).
    """
    file = io.BytesIO()
    soundfile.write(file, samples, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
    encoded = file.getvalue()
    if not np.array_equal(decode_flac(encoded, name="the utterance just encoded"), samples):
        raise RuntimeError("the FLAC encoder does not give back the samples that it was given")
    return encoded


def decode_flac(raw: bytes, *, name: str) -> Samples:
    """The samples in a whole FLAC file as `encode_flac` makes it: int16, shape (n,), 16 000 Hz.

    Raises:
        BadAudio: damaged, cut, or of another rate, width or channel count.
    """
    remedy = "the file was damaged after it was kept; `assistant verify` compares all with the record"
    try:
        with soundfile.SoundFile(io.BytesIO(raw)) as file:
            kind = (file.format, file.subtype, file.samplerate, file.channels)
            samples: Samples = file.read(dtype="int16")
            whole = len(samples) == file.frames
    except (soundfile.SoundFileError, RuntimeError, ValueError, MemoryError) as error:
        raise BadAudio(f"{name} cannot be decoded ({error})", remedy=remedy) from None
    if kind != ("FLAC", "PCM_16", SAMPLE_RATE_HZ, 1) or not whole:
        raise BadAudio(f"{name} is {kind}, not 16 kHz mono 16-bit FLAC, or is cut short", remedy=remedy)
    return samples


def _check(samples: Samples) -> None:
    if samples.dtype != np.int16 or samples.ndim != 1:
        raise TypeError(f"an utterance is int16 of shape (n,), not {samples.dtype} of shape {samples.shape}")
