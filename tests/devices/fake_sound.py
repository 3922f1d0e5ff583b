"""A sounddevice without sound hardware: devices as a list, streams that a test drives by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np


class FakeStream:
    """Records what is done to it; `deliver` and `play` stand for PortAudio's thread."""

    def __init__(self, library, **options):
        self.library, self.options, self.latency = library, options, 0.01
        self.running = self.closed = False
        self.aborts = 0
        self.adc = 1.0
        self.played_s = 0.0  # by the loudspeaker, since it was opened

    def start(self):
        self.running = True

    def abort(self):
        self.running = False
        self.aborts += 1

    def close(self):
        self.running, self.closed = False, True

    def deliver(self, samples, *, overflow=False, skipped_s=0.0):
        """Hand a block (int16, mono or (n, channels)) to the microphone's callback."""
        samples = np.asarray(samples, np.int16)
        data = samples[:, None].repeat(self.options["channels"], 1) if samples.ndim == 1 else samples
        reused = data.copy()
        self.adc += skipped_s
        status = SimpleNamespace(input_overflow=overflow) if overflow else None
        self.options["callback"](reused, len(data), SimpleNamespace(inputBufferAdcTime=self.adc), status)
        self.adc += len(data) / self.options["samplerate"]
        reused.fill(12345)  # PortAudio uses its buffer again

    def play(self, frames, *, underflow=False):
        """Let the loudspeaker's callback fill a block; returns it, shape (frames, channels)."""
        block = np.full((frames, self.options["channels"]), 999, np.int16)
        status = SimpleNamespace(output_underflow=True) if underflow else None
        self.options["callback"](block, frames, SimpleNamespace(), status)
        self.played_s += frames / self.options["samplerate"]
        return block


class FakeLibrary:
    """Stands for the sounddevice module."""

    def __init__(self, devices=None, *, stereo_only=False, dead=False, shared=False):
        self.listed = [dict(entry) for entry in (devices if devices is not None else DEVICES)]
        self.streams: list[FakeStream] = []
        self.stereo_only, self.dead, self.shared = stereo_only, dead, shared
        self.refreshed = 0
        self.opened = None  # called with each new stream

    def query_devices(self, kind=None):
        if kind is None:
            return self.listed
        for index, entry in enumerate(self.listed):
            if entry[f"max_{kind}_channels"]:
                return {**entry, "index": index}
        raise ValueError("no default device")

    def InputStream(self, **options):
        return self._stream(options)

    def OutputStream(self, **options):
        if options.get("prime_output_buffers_using_stream_callback") and not self.shared:
            raise OSError("Device unavailable [-9985]")  # plain hardware takes one stream
        return self._stream(options)

    def _stream(self, options):
        if self.dead or (self.stereo_only and options["channels"] == 1):
            raise OSError("Invalid number of channels [-9998]")
        stream = FakeStream(self, **options)
        self.streams.append(stream)
        if self.opened:
            self.opened(stream)
        return stream

    def _terminate(self):
        assert all(stream.closed for stream in self.streams), "streams were open while PortAudio was ended"

    def _initialize(self):
        self.refreshed += 1


def entry(name, *, inputs=0, outputs=0, rate=48000.0):
    return {"name": name, "max_input_channels": inputs, "max_output_channels": outputs, "default_samplerate": rate}


DEVICES = [
    entry("HDMI", outputs=8),
    entry("Headset: USB Audio", inputs=1, outputs=2, rate=44100.0),
    entry("Lapel microphone", inputs=2),
    entry("Tool bag speaker", outputs=2),
]
