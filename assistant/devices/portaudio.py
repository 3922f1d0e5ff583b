"""The one door to sounddevice and its PortAudio library; imported only when a microphone or loudspeaker is wanted."""

from __future__ import annotations

import contextlib
import ctypes
import os
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from assistant.devices.sound_server import CALLED, Kind, Place, SoundServer, opening_at
from assistant.errors import DeviceMissing

OUTPUT_BUFFER_SECONDS = 0.1
"""On a busy machine with a sound server 27 of 173 prompts lost more than 15 % of their length with the 0.04 s that
PortAudio takes by itself, and 0 of 158 with 0.1 s; the price is 65 to 85 ms until a reply sounds.
"""
MOST_BUFFER_SECONDS = 0.3  # some drivers call a second safe; nobody waits that long for a reply
CLOSE_SECONDS = 3.0  # closing a pulled device may hang (reported by others, not seen here): then we leave it behind

INSTALL_REMEDY = (
    "Install it (Debian: apt-get install libportaudio2), or use --listen wav:FILE or typed and --speak wav:FOLDER."
)


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone or loudspeaker as PortAudio lists it, or one of the sound server's behind PortAudio's door to it."""

    index: int
    name: str
    rate_hz: int  # its own rate; it is opened at this one and resampled here
    channels: int
    latency_s: float = 0.0  # of its own high setting: what the driver holds to be safe
    place: str = ""  # the sound server's name for it; "" where it is opened past the server, or nobody named it


class PortAudio:
    """Lists, opens and closes devices. Devices are known by name: indexes shift when one is plugged in.

    Args:
        library: the sounddevice module, or something like it in tests; None imports it.
        server: of the sound server, which knows devices that PortAudio cannot name.

    Raises:
        DeviceMissing: sounddevice or PortAudio cannot be loaded.
    """

    def __init__(self, library: Any = None, server: SoundServer | None = None) -> None:
        self._library = _load() if library is None else library
        self.server = server or SoundServer()
        self._streams: list[Any] = []
        self._lock = threading.RLock()
        self._refreshed = float("-inf")
        self._hangs = False
        self.generation = 0  # grows when the device list is read anew; streams of an older generation are closed

    def devices(self, kind: Kind) -> list[Device]:
        """All devices of `kind`: "input" or "output".

        Raises:
            DeviceMissing: PortAudio cannot list them.
        """
        try:
            with self._lock:  # not while the list is read anew
                listed = list(self._library.query_devices())
        except Exception as error:  # sounddevice raises its own and ValueError
            raise DeviceMissing(
                f"the sound devices cannot be listed: {error}", remedy="Check the sound system."
            ) from error
        found = []
        for index, entry in enumerate(listed):
            channels = int(entry[f"max_{kind}_channels"])
            if channels > 0:
                rate_hz, latency_s = (
                    round(float(entry["default_samplerate"])),
                    entry.get(f"default_high_{kind}_latency", 0),
                )
                found.append(Device(index, str(entry["name"]), rate_hz, channels, float(latency_s)))
        return found

    def device(self, name: str | None, kind: Kind) -> Device:
        """The device called `name` (whole name, or a part that only one has), or the system's default for None. Where a
        sound server runs, its names and descriptions go before PortAudio's.

        Raises:
            DeviceMissing: there is none, or several have that name; the message lists what is there.
        """
        present = self.devices(kind)
        what = CALLED[kind]
        if not present:
            raise DeviceMissing(f"there is no {what}", remedy=f"Plug one in, or use {_without(kind)}.")
        if name is None:
            return self._default(present, kind)
        places = self.server.places(kind)
        wanted = name.casefold()
        whole = [p for p in places if wanted in (p.name.casefold(), p.description.casefold())]
        exact = [device for device in present if device.name.casefold() == wanted]
        part = [p for p in places if wanted in p.name.casefold() or wanted in p.description.casefold()]
        if len(whole) == 1:
            return self._at(whole[0], present, kind)
        if not (whole or exact) and len(part) == 1:
            return self._at(part[0], present, kind)
        matches = exact or [device for device in present if wanted in device.name.casefold()]
        several = whole or ([] if exact else part)
        if not several and len({device.name for device in matches}) == 1:
            return matches[0]
        called = [p.name for p in several] or [device.name for device in matches]
        others = [p.description for p in places] + [device.name for device in present]
        names = ", ".join(sorted({repr(each) for each in called or others}))
        how = "several are" if called else "none is"
        raise DeviceMissing(f"{what} {name!r}: {how} called so", remedy=f"Name one of: {names}.")

    def _at(self, place: Place, present: list[Device], kind: Kind) -> Device:
        """PortAudio's door to the server, with the place behind it that is meant."""
        door = next((device for device in present if device.name == "pulse"), None) or self._default(present, kind)
        return replace(door, name=place.description, place=place.name)

    def open_input(self, device: Device, callback: Callable[..., None], *, block_s: float) -> Any:
        """A running input stream, int16, of one channel or, where that is refused, two.

        Raises:
            DeviceMissing: it does not open at its own rate.
        """
        return self._open("InputStream", device, callback, block_s)

    def open_output(
        self, device: Device, callback: Callable[..., None], *, block_s: float, standing_by: bool = False
    ) -> Any:
        """A running output stream, int16, of one channel or, where that is refused, two.

        Its buffer is OUTPUT_BUFFER_SECONDS, or what the driver calls safe, where that is more.

        Args:
            standing_by: it is opened and not started; when it is, its buffer is filled first, so that what it plays
                begins at once instead of behind a buffer of silence. A device that takes one stream alone refuses it.

        Raises:
            DeviceMissing: it does not open at its own rate.
        """
        buffer_s = min(max(OUTPUT_BUFFER_SECONDS, device.latency_s), MOST_BUFFER_SECONDS)
        primed = {"prime_output_buffers_using_stream_callback": True} if standing_by else {}
        return self._open("OutputStream", device, callback, block_s, start=not standing_by, latency=buffer_s, **primed)

    def close(self, stream: Any) -> None:
        """Stop and close a stream; never raises, never waits longer than CLOSE_SECONDS."""
        with self._lock:
            if stream in self._streams:
                self._streams.remove(stream)
        closer = threading.Thread(target=_close, args=(stream,), daemon=True, name="close-stream")
        closer.start()
        closer.join(CLOSE_SECONDS)

    def leave(self, stream: Any) -> None:
        """Have nothing to do any more with a stream that may hang in the library. To end the library would then abort
        the process (an assertion about the stream's lock), so that is not done any more: neither to read the device
        list anew nor when the process ends.
        """
        with self._lock:
            self._hangs = True
            if stream in self._streams:
                self._streams.remove(stream)
            self._library._initialized = 0  # what sounddevice goes by at the end

    def refresh(self, *, at_most_every_s: float = 0.0) -> bool:
        """Read the device list anew (it is frozen when PortAudio starts); closes every stream opened here first.

        Args:
            at_most_every_s: nothing is done where somebody did it less than so long ago: microphone and loudspeaker
                would go on closing each other's streams.

        Returns:
            False when PortAudio did not come back in time, a stream hangs in it, or it was too early; the old list
            then stays.
        """
        with self._lock:
            now = time.monotonic()
            if self._hangs or now - self._refreshed < at_most_every_s:
                return False
            self._refreshed = now
            for stream in list(self._streams):
                self.close(stream)
            self.generation += 1
            done = threading.Event()
            threading.Thread(target=self._restart, args=(done,), daemon=True, name="portaudio-restart").start()
            return done.wait(CLOSE_SECONDS)

    def _restart(self, done: threading.Event) -> None:
        with contextlib.suppress(Exception), _quiet():
            self._library._terminate()
            self._library._initialize()
            done.set()

    def _default(self, present: list[Device], kind: Kind) -> Device:
        with contextlib.suppress(Exception):
            index = int(self._library.query_devices(kind=kind)["index"])
            for device in present:
                if device.index == index:
                    return device
        return present[0]

    def _open(
        self,
        what: str,
        device: Device,
        callback: Callable[..., None],
        block_s: float,
        *,
        start: bool = True,
        **options: float,
    ) -> Any:
        fault: Exception | None = None
        kind: Kind = "input" if what == "InputStream" else "output"
        with self._lock, _quiet(), opening_at(kind, device.place):
            for channels in sorted({1, min(2, device.channels)}):
                try:
                    stream = getattr(self._library, what)(
                        samplerate=device.rate_hz,
                        device=device.index,
                        channels=channels,
                        dtype="int16",
                        blocksize=round(device.rate_hz * block_s),
                        callback=callback,
                        **options,
                    )
                    if start:
                        stream.start()
                except Exception as error:  # PortAudioError, ValueError
                    fault = error
                else:
                    self._streams.append(stream)
                    return stream
        raise DeviceMissing(
            f"{device.name!r} does not open at {device.rate_hz} Hz: {fault}",
            remedy="Close other programs that use it, or name another in the settings; 'assistant devices' lists them.",
        )


def _load() -> Any:
    try:
        import sounddevice
    except (ImportError, OSError) as error:  # OSError: PortAudio library not found
        raise DeviceMissing(f"the sound library does not load: {error}", remedy=INSTALL_REMEDY) from error
    _hush_alsa()
    return sounddevice


def _hush_alsa() -> None:
    """Turn ALSA's own error lines away; what is wrong comes to us as an error or a status, and the terminal is ours.

    The handler is a function of the C library that looks at no argument: one in Python would take the interpreter's
    lock in the thread that plays.
    """
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(ctypes.CDLL(None).getpid)


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """PortAudio's build prints failed expressions by itself: not while a device is tried."""
    try:
        kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # no error output at all
        yield
        return
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


def _without(kind: Kind) -> str:
    return "--listen wav:FILE or --listen typed" if kind == "input" else "--speak wav:FOLDER or --speak silent"


def _close(stream: Any) -> None:
    for step in ("abort", "close"):
        with contextlib.suppress(Exception):
            getattr(stream, step)()
