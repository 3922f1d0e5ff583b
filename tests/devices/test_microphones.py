"""One contract for all microphones: a file, typed lines, a device that delivers, overflows, stops, falls silent."""

from __future__ import annotations

import io
import itertools
import threading

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.devices.live_microphone import OVERRUN, QUEUE_BLOCKS, REOPENED, SILENT, STOPPED, SoundDeviceMicrophone
from assistant.devices.microphones import TypedMicrophone, WavMicrophone
from assistant.devices.portaudio import PortAudio
from assistant.errors import BadAudio, BadSettings, DeviceMissing
from assistant.ports import Block, Lost, Typed
from tests.devices.fake_sound import FakeLibrary, entry


def end_of(piece):
    if isinstance(piece, Typed):
        return None
    return piece.at_sample + (len(piece.samples) if isinstance(piece, Block) else piece.samples)


class MicrophoneContract:
    """What `ports.Microphone` promises. `make(folder)` gives one with something to read."""

    def test_pieces_follow_each_other_without_gaps(self, tmp_path):
        microphone = self.make(tmp_path)
        pieces = [microphone.read() for _ in range(4)]
        assert pieces[0].at_sample == 0
        for piece, following in itertools.pairwise(pieces):
            if isinstance(piece, Block):
                assert following.at_sample == end_of(piece)
                assert piece.samples.dtype == np.int16 and piece.samples.ndim == 1 and len(piece.samples)
            assert following.at_sample >= piece.at_sample
        microphone.close()

    def test_after_closing_nothing_comes(self, tmp_path):
        microphone = self.make(tmp_path)
        assert microphone.name
        microphone.read()
        microphone.close()
        microphone.close()
        assert microphone.read() is None and microphone.read() is None


class TestWavMicrophone(MicrophoneContract):
    def make(self, folder):
        tone = 0.5 * np.sin(2 * np.pi * 440 * np.arange(48_000) / 48_000)
        soundfile.write(folder / "tone.wav", np.stack([tone, tone], axis=1), 48_000)
        return WavMicrophone(folder / "tone.wav")

    def test_all_of_the_file_comes_then_the_end(self, tmp_path):
        microphone = self.make(tmp_path)
        pieces = list(iter(microphone.read, None))
        np.testing.assert_array_equal(np.concatenate([piece.samples for piece in pieces]), microphone.recording.samples)
        assert {len(piece.samples) for piece in pieces[:-1]} == {320}
        assert microphone.read() is None and microphone.now_sample() == 16_000

    def test_at_real_pace_a_block_comes_when_it_has_sounded(self, tmp_path):
        self.make(tmp_path)
        clock = {"now": 100.0}

        def sleep(seconds):
            clock["now"] += seconds

        microphone = WavMicrophone(tmp_path / "tone.wav", pace="real", now=lambda: clock["now"], sleep=sleep)
        for number in range(1, 26):
            microphone.read()
            assert clock["now"] == pytest.approx(100.0 + number * 0.02)
        clock["now"] += 0.3  # somebody computed for long
        for _ in range(15):
            microphone.read()
        assert clock["now"] == pytest.approx(100.8), "it did not catch up"

    def test_a_file_that_is_none_is_refused(self, tmp_path):
        (tmp_path / "words.wav").write_text("words")
        with pytest.raises(BadAudio, match=r"words\.wav"):
            WavMicrophone(tmp_path / "words.wav")

    def test_another_pace_is_refused(self, tmp_path):
        self.make(tmp_path)
        with pytest.raises(BadSettings, match="slow"):
            WavMicrophone(tmp_path / "tone.wav", pace="slow")


class TestTypedMicrophone(MicrophoneContract):
    def make(self, folder):
        return TypedMicrophone(io.StringIO("three ten\n\n  yes  \nno\n\tbolt   five\nstop"))

    def test_lines_come_trimmed_and_empty_ones_not_at_all(self, tmp_path):
        microphone = self.make(tmp_path)
        assert [piece.text for piece in iter(microphone.read, None)] == ["three ten", "yes", "no", "bolt five", "stop"]

    def test_time_moves_on_with_each_line(self, tmp_path):
        microphone = self.make(tmp_path)
        assert [piece.at_sample for piece in iter(microphone.read, None)] == [0, 16_000, 32_000, 48_000, 64_000]


def noise(count, seed=0):
    return np.random.default_rng(seed).integers(-1000, 1000, count).astype(np.int16)


class TestSoundDeviceMicrophone(MicrophoneContract):
    def open(self, library=None, **options):
        self.library = library or FakeLibrary()
        options.setdefault("stopped_s", 5.0)
        return SoundDeviceMicrophone(audio=PortAudio(self.library), **options)

    @property
    def stream(self):
        return self.library.streams[-1]

    def make(self, folder):
        microphone = self.open(device="Lapel")
        for number in range(10):
            self.stream.deliver(noise(960, number))
        return microphone

    def test_it_opens_at_the_devices_own_rate_and_gives_sixteen_kilohertz(self):
        microphone = self.open(device="Headset")
        assert self.stream.options["samplerate"] == 44_100 and self.stream.options["dtype"] == "int16"
        tone = np.rint(8000 * np.sin(2 * np.pi * 440 * np.arange(44_100) / 44_100)).astype(np.int16)
        for at in range(0, 44_100, 882):
            self.stream.deliver(tone[at : at + 882])
        got = []
        while sum(map(len, got)) < 15_000:
            got.append(microphone.read().samples)
        samples = np.concatenate(got)[1_000:15_000].astype(float)
        spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
        assert spectrum.argmax() * 16_000 / len(samples) == pytest.approx(440, abs=2)
        assert np.abs(samples).max() == pytest.approx(8000, rel=0.02)

    def test_the_devices_buffer_is_copied(self):
        library = FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)])
        microphone = self.open(library)
        samples = noise(320)
        self.stream.deliver(samples)
        np.testing.assert_array_equal(microphone.read().samples, samples)

    def test_one_that_has_only_stereo_is_mixed(self):
        microphone = self.open(FakeLibrary([entry("Stereo", inputs=2, rate=16_000.0)], stereo_only=True))
        self.stream.deliver(np.stack([np.full(320, 1000), np.full(320, 3000)], axis=1))
        assert set(microphone.read().samples) == {2000}

    def test_an_overflow_is_told_with_its_length(self):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        self.stream.deliver(noise(320))
        self.stream.deliver(noise(320), overflow=True, skipped_s=0.1)
        first, lost, second = microphone.read(), microphone.read(), microphone.read()
        assert isinstance(lost, Lost) and lost.reason == OVERRUN
        assert lost.samples == pytest.approx(1600, abs=2)
        assert (first.at_sample, lost.at_sample) == (0, 320) and second.at_sample == end_of(lost)

    def test_an_overflow_of_unknown_length_is_told_too(self):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        self.stream.deliver(noise(320), overflow=True)
        assert isinstance(microphone.read(), Lost)

    @pytest.mark.parametrize("rate", [16_000, 48_000])
    def test_a_full_queue_is_counted_and_the_clock_stays_with_the_sound(self, rate):
        """Overfilled three times: what was dropped is told, and the clock stands at the end of what comes next."""
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=float(rate))]))
        delivered, pieces = 0, []
        for dropped in (20, 333, 1):
            for number in range(QUEUE_BLOCKS + dropped):
                self.stream.deliver(noise(rate // 50, number))
            while microphone._feed.chunks.qsize() > 50:  # the resampler keeps some to itself
                pieces.append(microphone.read())
            self.stream.deliver(noise(rate // 50, 999))
            delivered += QUEUE_BLOCKS + dropped + 1
            assert microphone.now_sample() == pytest.approx(delivered * 320, abs=1)
        while end_of(pieces[-1]) < microphone.now_sample() - (5000 if rate != 16_000 else 0):
            pieces.append(microphone.read())
        heard = sum(len(piece.samples) for piece in pieces if isinstance(piece, Block))
        lost = [piece for piece in pieces if isinstance(piece, Lost)]
        assert {piece.reason for piece in lost} == {OVERRUN} and len(lost) == 3
        assert 354 * 320 <= sum(piece.samples for piece in lost) <= 460 * 320
        assert heard + sum(piece.samples for piece in lost) == end_of(pieces[-1])
        if rate == 16_000:
            assert end_of(pieces[-1]) == microphone.now_sample()
            np.testing.assert_array_equal(pieces[-1].samples, noise(320, 999))

    @settings(max_examples=30)
    @given(
        st.lists(
            st.tuples(st.integers(0, 2), st.integers(1, 9), st.floats(0, 0.3)),  # read, blocks, seconds skipped
            min_size=1,
            max_size=25,
        )
    )
    def test_however_late_it_is_read_the_clock_is_the_end_of_the_sound(self, turns):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        for read, blocks, skipped_s in turns:
            for _ in range(blocks):
                self.stream.deliver(noise(320), overflow=skipped_s > 0.1, skipped_s=skipped_s if skipped_s > 0.1 else 0)
            for _ in range(min(read, microphone._feed.chunks.qsize())):
                microphone.read()
        self.stream.deliver(noise(320))
        piece = microphone.read()
        while microphone._feed.chunks.qsize() or microphone._waiting:
            following = microphone.read()
            assert following.at_sample == end_of(piece)
            piece = following
        assert end_of(piece) == microphone.now_sample()

    def test_a_block_of_the_old_stream_that_comes_late_moves_no_clock(self):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]), stopped_s=0.02)
        old = self.stream
        assert isinstance(microphone.read(), Lost)
        old.deliver(noise(320))
        self.stream.deliver(noise(320))
        block = microphone.read()
        while isinstance(block, Lost):
            block = microphone.read()
        assert end_of(block) == microphone.now_sample()

    def test_a_stopped_device_is_told_again_and_again_and_opened_anew_until_it_comes_back(self):
        clock = {"now": 50.0}
        library = FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)])
        microphone = self.open(library, now=lambda: clock["now"], stopped_s=0.02)
        self.stream.deliver(noise(320))
        assert isinstance(microphone.read(), Block)
        clock["now"] += 1.5
        first = microphone.read()
        assert first == Lost(STOPPED, 320, 24_000)
        library.dead = True
        clock["now"] += 2.0
        second = microphone.read()
        assert second == Lost(STOPPED, 24_320, 32_000)
        library.dead = False
        library.opened = lambda stream: threading.Timer(0.01, stream.deliver, args=(noise(320),)).start()
        third = microphone.read()
        assert isinstance(third, Lost) and third.reason == STOPPED
        back = microphone.read()
        while isinstance(back, Lost):
            back = microphone.read()
        assert isinstance(back, Block) and back.at_sample >= 56_320
        assert library.streams[0].closed

    def test_after_some_failures_the_device_list_is_read_anew(self):
        library = FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)])
        microphone = self.open(library, stopped_s=0.01)
        for _ in range(4):
            assert isinstance(microphone.read(), Lost)
        assert library.refreshed >= 1

    def test_nothing_but_zeros_for_long_is_told_once_a_spell(self):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        told, blocks = [], 0
        for number in range(400):
            self.stream.deliver(noise(320) if number in (0, 200) else np.zeros(320))
        while blocks < 400:
            piece = microphone.read()
            blocks += isinstance(piece, Block)
            if isinstance(piece, Lost):
                told.append(piece)
        assert [(piece.reason, piece.samples) for piece in told] == [(SILENT, 0), (SILENT, 0)]

    def test_the_zeros_of_a_noise_gate_are_no_dead_microphone(self):
        """Zeros, sound, zeros: a headset that is quiet between words. Zeros from the beginning are a muted one."""
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        told = []
        for number in range(1200):
            self.stream.deliver(noise(320) if number in (0, 30, 31, 500) else np.zeros(320))
        blocks = 0
        while blocks < 1200:
            piece = microphone.read()
            blocks += isinstance(piece, Block)
            told += [piece] if isinstance(piece, Lost) else []
        assert told == []

    def test_a_list_read_anew_for_the_loudspeaker_is_no_lost_microphone(self):
        audio = PortAudio(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        microphone = SoundDeviceMicrophone(audio=audio, stopped_s=0.02)
        audio.refresh()
        lost = microphone.read()
        assert isinstance(lost, Lost) and lost.reason == REOPENED
        assert isinstance(microphone.read(), Lost), "and if it stays away it is"

    def test_no_exception_leaves_the_callback(self):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=16_000.0)]))
        callback = self.stream.options["callback"]
        callback(object(), 320, None, None)  # nothing that can be copied
        self.stream.deliver(noise(320))
        lost, block = microphone.read(), microphone.read()
        assert isinstance(lost, Lost) and isinstance(block, Block)

    def test_its_clock_counts_what_has_arrived(self):
        microphone = self.open(FakeLibrary([entry("Plain", inputs=1, rate=48_000.0)]))
        for _ in range(10):
            self.stream.deliver(noise(960))
        assert microphone.now_sample() == 3_200
        microphone.read()
        assert microphone.now_sample() == pytest.approx(3_200, abs=640)

    def test_closing_wakes_nobody_up_wrongly(self):
        microphone = self.open(stopped_s=0.05)
        got = []
        reader = threading.Thread(target=lambda: got.append(microphone.read()))
        microphone.close()
        reader.start()
        reader.join(10)
        assert got == [None] and self.stream.closed

    @pytest.mark.parametrize(
        ("devices", "name", "told"),
        [([], None, "no microphone"), (None, "Garage", "none is"), (None, "speaker", "none is")],
    )
    def test_one_that_is_not_there_is_an_error(self, devices, name, told):
        with pytest.raises(DeviceMissing, match=told):
            self.open(FakeLibrary(devices), device=name)

    def test_one_that_does_not_open_is_an_error(self):
        with pytest.raises(DeviceMissing, match="does not open at 44100 Hz"):
            self.open(FakeLibrary(dead=True))
