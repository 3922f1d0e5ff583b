"""Reads any sound file as 16 kHz mono, with the figures that tell whether it is fit to be listened to."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from assistant.errors import BadAudio

RATE_HZ = 16_000
SHORTEST_SECONDS = 0.02
LONGEST_SECONDS = 4 * 3600
_BLOCK_FRAMES = 1 << 16
_CHANNELS = 32
_FORMATS = "WAV, FLAC, OGG"
_SILENT_DBFS = -75.0  # r.m.s. below this is a dead microphone; the quietest room tone tried here was at -66
_CANCELLED = 0.1  # a mix with less than this share of its loudest channel's power cancels itself


@dataclass(frozen=True, slots=True)
class Recording:
    """A whole sound file.

    Args:
        path: where it came from.
        samples: int16, shape (n,), mono, 16 000 Hz.
        seconds: duration.
        rate_hz: rate of the file.
        channels: channels of the file.
        clipped: share of the file's samples that stand at full scale in runs of three or more, 0..1.
        peak: greatest amplitude of the file, 1.0 is full scale (float files may exceed it; they are then scaled down).
        rms_dbfs: root mean square of `samples` against full scale, dB, at least -100.
        silent: nothing but hush: a dead or muted microphone.
        notes: what was odd and what was done about it, for people; empty for a good file.
    """

    path: Path
    samples: npt.NDArray[np.int16]
    seconds: float
    rate_hz: int
    channels: int
    clipped: float
    peak: float
    rms_dbfs: float
    silent: bool
    notes: tuple[str, ...]


def read_audio(path: Path) -> Recording:
    """Read a sound file of any rate, width and channel count.

    Channels are mixed evenly; where they cancel each other (a cable wired the wrong way round) the loudest one is
    taken. NaN and infinite samples become silence and are noted.

    Raises:
        BadAudio: missing, not a sound file, cut or damaged, without samples, or longer than four hours.
    """
    if path.is_dir() or not path.exists():
        raise BadAudio(f"{path}: there is no such file", remedy=f"Name a sound file ({_FORMATS}).")
    try:
        if path.stat().st_size == 0:
            raise BadAudio(f"{path}: the file is empty (0 bytes)", remedy="Record or copy it again.")
        with soundfile.SoundFile(path) as file:
            return _read(path, file)
    except PermissionError as error:
        raise BadAudio(f"{path}: may not be read", remedy="Give yourself the right to read it.") from error
    except (soundfile.SoundFileError, RuntimeError, OSError) as error:
        raise BadAudio(
            f"{path}: cannot be read as sound: {str(error).splitlines()[-1] if str(error) else type(error).__name__}",
            remedy=f"Copy or record it again; whole {_FORMATS} files of any rate and channel count are read.",
        ) from error


def _read(path: Path, file: soundfile.SoundFile) -> Recording:
    rate, channels, declared = int(file.samplerate), int(file.channels), int(file.frames)
    if channels > _CHANNELS:
        raise BadAudio(f"{path}: has {channels} channels", remedy=f"At most {_CHANNELS} channels are read.")
    if 0 <= declared < 1 << 62 and declared > LONGEST_SECONDS * rate:
        raise BadAudio(
            f"{path}: lasts {declared / rate / 3600:.1f} hours", remedy="Cut it into pieces of at most 4 hours."
        )
    fit = soxr.ResampleStream(rate, RATE_HZ, channels, dtype="float32")
    pieces: list[npt.NDArray[np.float32]] = []
    figures = _Figures()
    while True:
        block = file.read(_BLOCK_FRAMES, dtype="float32", always_2d=True)
        last = len(block) < _BLOCK_FRAMES
        clean = figures.take(block)
        pieces.append(fit.resample_chunk(clean[:, 0] if channels == 1 else clean, last=last).reshape(-1, channels))
        if last:
            break
    if figures.frames < rate * SHORTEST_SECONDS:
        raise BadAudio(
            f"{path}: has only {figures.frames} samples", remedy="Record it again; there is no time for a word in it."
        )
    if declared < 1 << 62 and figures.frames < declared:
        raise BadAudio(
            f"{path}: is cut off after {figures.frames / rate:.2f} s of {declared / rate:.2f} s",
            remedy="Copy or record it again.",
        )
    figures.missing = _missing_bytes(path)
    return _recording(path, np.concatenate(pieces), figures, rate)


def _recording(path: Path, sound: npt.NDArray[np.float32], figures: _Figures, rate: int) -> Recording:
    notes = list(figures.notes())
    mono = sound.mean(axis=1)
    power = (sound.astype(np.float64) ** 2).mean(axis=0) if len(sound) else np.zeros(sound.shape[1])
    loudest = int(power.argmax())
    if (
        sound.shape[1] > 1
        and float((mono.astype(np.float64) ** 2).mean()) < _CANCELLED * float(power[loudest]) / sound.shape[1] ** 2
    ):
        mono = sound[:, loudest]
        notes.append(f"the channels cancel each other: channel {loudest + 1} is used alone")
    if figures.peak > 1.0:
        mono = mono * np.float32(0.99 / figures.peak)
        notes.append(f"louder than full scale ({figures.peak:.3g} times): scaled down")
    samples = np.clip(np.rint(mono * 32768.0), -32768, 32767).astype(np.int16)
    rms = float(np.sqrt((samples.astype(np.float64) ** 2).mean())) / 32768 if len(samples) else 0.0
    rms_dbfs = 20 * float(np.log10(max(rms, 1e-5)))
    silent = rms_dbfs < _SILENT_DBFS
    if silent:
        notes.append(f"silent: {rms_dbfs:.0f} dB of full scale")
    clipped = figures.clipped / (figures.frames * sound.shape[1])
    if clipped > 0.001:
        notes.append(f"clipped: {clipped:.1%} of the samples stand at full scale")
    return Recording(
        path=path,
        samples=samples,
        seconds=figures.frames / rate,
        rate_hz=rate,
        channels=sound.shape[1],
        clipped=clipped,
        peak=figures.peak,
        rms_dbfs=rms_dbfs,
        silent=silent,
        notes=tuple(notes),
    )


class _Figures:
    """Counts over the file as it is, block by block."""

    def __init__(self) -> None:
        self.frames = 0
        self.peak = 0.0
        self.clipped = 0
        self.unreal = 0
        self.missing = 0

    def take(self, block: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
        """Count a block, shape (n, channels); returns it with NaN and infinite samples made silent."""
        real = np.isfinite(block)
        if not real.all():
            self.unreal += int(block.size - real.sum())
            block = np.where(real, block, np.float32(0.0))
        self.frames += len(block)
        if block.size:
            self.peak = max(self.peak, float(np.abs(block).max()))
            self.clipped += _at_full_scale(block)
        return block

    def notes(self) -> list[str]:
        notes = [f"{self.unreal} samples are not numbers: taken as silence"] if self.unreal else []
        return notes + ([f"cut off: {self.missing} bytes that its header promises are missing"] if self.missing else [])


def _at_full_scale(block: npt.NDArray[np.float32]) -> int:
    """Samples of a block, shape (n, channels), in runs of three or more that stand still at full scale or above."""
    if len(block) < 3:
        return 0
    top = np.abs(block) >= 0.998
    still = np.abs(np.diff(block, axis=0)) < 1e-3
    runs = top[:-2] & top[1:-1] & top[2:] & still[:-1] & still[1:]
    member = np.zeros_like(top)
    member[:-2] |= runs
    member[1:-1] |= runs
    member[2:] |= runs
    return int(member.sum())


def _missing_bytes(path: Path) -> int:
    """Bytes that a RIFF header promises and the file has not; libsndfile reads such a file without a word (tried)."""
    with path.open("rb") as file:
        head = file.read(8)
    size = int.from_bytes(head[4:8], "little")
    if head[:4] != b"RIFF" or size in (0, 0xFFFFFFFF, 0x7FFFFFFF):  # sizes that streaming writers leave
        return 0
    return max(0, size + 8 - path.stat().st_size)
