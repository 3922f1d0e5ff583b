"""One contract for all speakers; what each adds."""

from __future__ import annotations

import threading

import numpy as np
import pytest
import soundfile

from assistant.devices import loudspeaker
from assistant.devices.loudspeaker import LoudSpeaker
from assistant.devices.portaudio import PortAudio
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.devices.speaker import INDEX, SilentSpeaker, WavSpeaker, slug
from assistant.errors import BadSettings, DeviceMissing, SpeakerFailed
from assistant.ports import KnownSound, Speaker
from tests.devices.fake_sound import FakeLibrary, entry
from tests.devices.test_prompt_cache import CountingRenderer
from tests.session.house import LongVoice


class Player:
    """Stands for PortAudio's thread: plays a loudspeaker's stream as fast as it can and keeps what was heard."""

    def __init__(self, library):
        self.library, self.heard, self.stop = library, [], threading.Event()
        self.thread = threading.Thread(target=self._run, daemon=True)
        library.opened = lambda _stream: None
        self.thread.start()

    def _run(self):
        while not self.stop.wait(0.001):
            for stream in list(self.library.streams):
                if stream.running:
                    self.heard.append(stream.play(960))

    def close(self):
        self.stop.set()
        self.thread.join()

    def now(self):
        """A clock on which sound takes its time, however fast this thread is."""
        return sum(stream.played_s for stream in self.library.streams)

    @property
    def sound(self):
        return np.concatenate(self.heard) if self.heard else np.zeros((0, 1), np.int16)


@pytest.fixture(scope="module")
def renderer():
    renderer = Pyttsx3Renderer()
    yield renderer
    renderer.close()


class SpeakerContract:
    """What `ports.Speaker` promises. `make(prompts, folder)` gives the speaker."""

    DURATION = True

    @pytest.fixture
    def speaker(self, renderer, tmp_path):
        speaker = self.make(PromptCache(renderer, tmp_path / "cache"), tmp_path / "out")
        yield speaker
        speaker.close()

    def test_speaking_takes_the_time_of_the_prompt(self, speaker):
        spoken = speaker.say("Bolt five. One eighty.", 1000)
        assert spoken.start_sample >= 1000 and not spoken.cut_short
        seconds = (spoken.end_sample - spoken.start_sample) / 16_000
        assert 1.0 < seconds < 4.0 if self.DURATION else seconds == 0.0

    def test_a_second_prompt_follows_the_first(self, speaker):
        first = speaker.say("Yes.", 0)
        second = speaker.say("No.", first.end_sample)
        assert second.start_sample >= first.end_sample

    def test_preparing_never_raises_and_what_is_prepared_can_be_said(self, speaker):
        speaker.prepare(["Bolt five.", "", "..."])
        speaker.prepare([])
        assert speaker.say("Bolt five.", 0).end_sample >= 0

    def test_cutting_it_short_while_nothing_is_said_changes_nothing(self, speaker):
        speaker.interrupt()
        assert not speaker.say("Yes.", 0).cut_short

    def test_what_it_plays_is_as_long_as_was_asked_for(self, speaker):
        if isinstance(speaker, KnownSound):
            assert speaker.playing(0, 160).shape == (160,)

    def test_it_has_a_name_and_closes_twice(self, speaker):
        assert isinstance(speaker, Speaker)
        assert speaker.name
        speaker.close()
        speaker.close()


class RenderingContract(SpeakerContract):
    """For those that render: a prompt that cannot be made is `SpeakerFailed`."""

    def test_what_cannot_be_rendered_fails_loudly(self, tmp_path):
        speaker = self.make(PromptCache(CountingRenderer(), tmp_path / "cache"), tmp_path / "out")
        with pytest.raises(SpeakerFailed):
            speaker.say("broken", 0)
        speaker.close()


class TestTheVoiceOfTheTests(SpeakerContract):
    def make(self, prompts, folder):
        return LongVoice(32_000)


class TestSilentSpeaker(SpeakerContract):
    DURATION = False

    def make(self, prompts, folder):
        return SilentSpeaker()


class TestSilentSpeakerWithDurations(RenderingContract):
    def make(self, prompts, folder):
        return SilentSpeaker(prompts)


class TestWavSpeaker(RenderingContract):
    def make(self, prompts, folder):
        return WavSpeaker(prompts, folder)

    def test_each_prompt_is_a_file_and_a_line(self, speaker, tmp_path):
        spoken = speaker.say("Bolt five. One eighty.", 32_000)
        speaker.say("Three ten?", 64_000)
        files = sorted(path.name for path in (tmp_path / "out").glob("*.wav"))
        assert files == ["0001-bolt-five-one-eighty.wav", "0002-three-ten.wav"]
        samples, rate = soundfile.read(tmp_path / "out" / files[0])
        assert len(samples) / rate == pytest.approx((spoken.end_sample - spoken.start_sample) / 16_000, abs=1e-3)
        lines = (tmp_path / "out" / INDEX).read_text().splitlines()
        assert lines[0].split("\t") == [
            files[0],
            "2.000",
            f"{spoken.end_sample / 16_000:.3f}",
            "Bolt five. One eighty.",
        ]

    def test_a_resumed_session_adds_to_the_folder(self, renderer, tmp_path):
        for number in (1, 2):
            speaker = WavSpeaker(PromptCache(renderer, tmp_path / "cache"), tmp_path / "out")
            speaker.say("Yes.", 0)
            assert len(list((tmp_path / "out").glob("*.wav"))) == number
        assert len((tmp_path / "out" / INDEX).read_text().splitlines()) == 2

    def test_a_folder_that_cannot_be_written_is_refused_at_once(self, renderer, tmp_path):
        (tmp_path / "file").write_text("")
        with pytest.raises(BadSettings, match="file"):
            WavSpeaker(PromptCache(renderer, tmp_path / "cache"), tmp_path / "file" / "out")

    def test_a_folder_that_vanishes_is_a_failure(self, renderer, tmp_path):
        speaker = WavSpeaker(PromptCache(renderer, tmp_path / "cache"), tmp_path / "out")
        (tmp_path / "out" / INDEX).unlink()
        (tmp_path / "out").rmdir()
        with pytest.raises(SpeakerFailed, match="out"):
            speaker.say("Yes.", 0)

    def test_names_of_files_are_plain(self):
        assert slug("Bolt 5: 310 N·m / what?") == "bolt-5-310-nm-what"
        assert slug("../../etc/passwd") == "etc-passwd"
        assert slug("?!") == "prompt"
        assert len(slug("word " * 40)) <= 40


class TestLoudSpeaker(RenderingContract):
    @pytest.fixture(autouse=True)
    def player(self):
        self.library = FakeLibrary()
        self.player = Player(self.library)
        yield
        self.player.close()

    def make(self, prompts, folder):
        return LoudSpeaker(
            prompts,
            clock=lambda: 0,
            device="Tool bag",
            audio=PortAudio(self.library),
            patience_s=2.0,
            now=self.player.now,
        )

    def test_all_of_the_prompt_is_heard_on_both_channels_and_nothing_else(self, renderer, tmp_path):
        self.library.stereo_only = True
        speaker = self.make(PromptCache(renderer, tmp_path / "cache"), tmp_path)
        speaker.say("Bolt five.", 0)
        heard, rendered = self.player.sound, speaker._prompts.sound("Bolt five.")[0]
        assert heard.shape[1] == 2 and np.array_equal(heard[:, 0], heard[:, 1])
        loud = np.flatnonzero(heard[:, 0])
        spoken = np.flatnonzero(rendered)
        assert (loud[-1] - loud[0]) / 48_000 == pytest.approx((spoken[-1] - spoken[0]) / 22_050, abs=0.01)
        speaker.close()

    def test_times_are_those_of_the_microphones_clock(self, renderer, tmp_path):
        clock = iter(range(50_000, 10_000_000, 1_000))
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"),
            clock=lambda: next(clock),
            audio=PortAudio(self.library),
            now=self.player.now,
        )
        spoken = speaker.say("Bolt five.", 16_000)
        assert spoken.start_sample == 50_000 + 160, "clock when the first sample left, plus the device's latency"
        speaker.close()

    def test_interrupt_cuts_the_prompt_short(self, renderer, tmp_path):
        speaker = self.make(PromptCache(renderer, tmp_path / "cache"), tmp_path)
        whole = speaker.say("one two three four five six seven eight nine", 0)
        self.player.close()  # from here on this test plays by hand
        stream = self.library.streams[-1]
        said = []
        voice = threading.Thread(
            target=lambda: said.append(speaker.say("one two three four five six seven eight nine", 0))
        )
        voice.start()
        while not stream.play(4_800).any():
            pass
        speaker.interrupt()
        stream.play(4_800)
        voice.join(10)
        assert (
            said[0].cut_short
            and said[0].end_sample - said[0].start_sample < (whole.end_sample - whole.start_sample) / 2
        )
        assert not stream.play(4_800).any(), "still sounding"
        speaker.interrupt()  # nothing plays: nothing happens
        speaker.close()

    def by_hand(self, renderer, tmp_path, text="Torque one eighty."):
        """A prompt that is being said while the test plays the stream itself: `(stream, clock, said, voice)`."""
        self.player.close()
        clock = {"now": 5.0}
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"),
            clock=lambda: round(16_000 * clock["now"]),
            audio=PortAudio(self.library),
            now=lambda: clock["now"],
        )
        said = []
        voice = threading.Thread(target=lambda: said.append(speaker.say(text, 0)))
        voice.start()
        return self.library.streams[-1], clock, said, voice

    def play_on(self, stream, clock, said, voice, *, seconds):
        """Play block after block until the prompt is over; `seconds(n)` is how long block n takes, and whether the
        library tells of an underrun.
        """
        heard, begun = 0, False
        for _ in range(100_000):
            took, underflow = seconds(heard)
            begun = bool(stream.play(960, underflow=underflow).any()) or begun
            heard += begun
            clock["now"] += took
            if not voice.is_alive():
                return
            voice.join(0.001)
        raise AssertionError("it never ended")

    def test_the_buffer_is_large_enough_for_a_busy_machine_and_no_larger(self, renderer, tmp_path):
        for driver_s, buffer_s in ((0.035, 0.1), (0.2, 0.2), (1.5, 0.3)):
            library = FakeLibrary([entry("Out", outputs=2) | {"default_high_output_latency": driver_s}])
            LoudSpeaker(PromptCache(renderer, tmp_path), clock=lambda: 0, audio=PortAudio(library)).close()
            assert library.streams[0].options["latency"] == buffer_s

    def test_a_prompt_that_sounded_whole_is_said_once(self, renderer, tmp_path):
        stream, clock, said, voice = self.by_hand(renderer, tmp_path)
        jitter = (0.0, 0.04, 0.03, 0.01)
        self.play_on(stream, clock, said, voice, seconds=lambda n: (jitter[n % 4], n == 7))
        assert said[0].whole and said[0].times == 1

    @pytest.mark.parametrize(
        "fault",
        [
            lambda n: (0.002 if 10 < n < 20 else 0.02, False),  # taken faster than it can have sounded
            lambda n: (0.4 if n == 10 else 0.02, False),  # nothing asked for meanwhile
            lambda n: (0.02, n in (9, 12)),  # the library says so
        ],
        ids=["swallowed", "stalled", "told"],
    )
    def test_a_broken_prompt_is_said_again_whole(self, fault, renderer, tmp_path):
        stream, clock, said, voice = self.by_hand(renderer, tmp_path)
        self.play_on(stream, clock, said, voice, seconds=lambda n: fault(n) if n < 30 else (0.02, False))
        assert said[0].whole and said[0].times == 2
        assert said[0].end_sample - said[0].start_sample > 1.5 * 16_000, "both times together"

    def test_one_that_is_broken_each_time_is_told_as_broken(self, renderer, tmp_path):
        stream, clock, said, voice = self.by_hand(renderer, tmp_path)
        self.play_on(stream, clock, said, voice, seconds=lambda n: (0.004, False))
        assert not said[0].whole and said[0].times == 2

    def test_a_dead_loudspeaker_is_opened_anew_and_given_up_in_the_end(self, renderer, tmp_path):
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"),
            clock=lambda: 0,
            audio=PortAudio(self.library),
            patience_s=0.05,
            give_up_s=0.0,
        )
        self.player.close()
        with pytest.raises(SpeakerFailed, match="took no sound"):
            speaker.say("Yes.", 0)
        assert len(self.library.streams) == 2 and all(stream.closed for stream in self.library.streams)

    def test_one_that_dies_and_comes_back_says_the_whole_prompt(self, renderer, tmp_path):
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"),
            clock=lambda: 0,
            audio=PortAudio(self.library),
            patience_s=0.3,
            now=self.player.now,
        )
        self.library.streams[0].running = False  # no callback comes any more
        spoken = speaker.say("Yes.", 0)
        assert len(self.library.streams) == 2 and spoken.end_sample > 4_000
        speaker.close()

    def test_one_that_is_gone_for_a_while_is_waited_for_and_told_of(self, renderer, tmp_path, monkeypatch):
        monkeypatch.setattr(loudspeaker, "RETRY_SECONDS", 0.01)
        monkeypatch.setattr(loudspeaker, "REFRESH_SECONDS", 0.0)
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"),
            clock=lambda: 0,
            audio=PortAudio(self.library),
            patience_s=0.02,
            now=self.player.now,
        )
        self.library.dead = True
        self.library.streams[0].running = False
        tries = iter(range(100))

        def back_at_the_fifth(kind=None):
            self.library.dead = next(tries) < 5
            return FakeLibrary.query_devices(self.library, kind)

        self.library.query_devices = back_at_the_fifth
        spoken = speaker.say("Yes.", 0)
        assert spoken.whole and spoken.end_sample > 4_000 and spoken.waited_s > 0
        assert self.library.refreshed >= 1, "a device that comes back is not on the old list"
        assert speaker.say("No.", 0).waited_s == 0
        speaker.close()

    def test_closing_ends_the_wait_for_one_that_stays_away(self, renderer, tmp_path):
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"), clock=lambda: 0, audio=PortAudio(self.library), patience_s=0.02
        )
        self.library.dead = True
        self.player.close()
        failed = []

        def say():
            try:
                speaker.say("Yes.", 0)
            except SpeakerFailed as error:
                failed.append(error)

        voice = threading.Thread(target=say)
        voice.start()
        speaker.close()
        voice.join(20)
        assert not voice.is_alive()

    def test_a_device_list_read_anew_opens_it_again(self, renderer, tmp_path):
        audio = PortAudio(self.library)
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"), clock=lambda: 0, audio=audio, now=self.player.now
        )
        assert audio.refresh()
        assert speaker.say("Yes.", 0).end_sample > 4_000 and len(self.library.streams) == 2
        assert self.library.streams[0].aborts == 1, "it waited for a stream that was closed"
        speaker.close()

    def test_one_that_is_not_there_is_named(self, renderer, tmp_path):
        with pytest.raises(DeviceMissing, match="no-such"):
            LoudSpeaker(
                PromptCache(renderer, tmp_path), clock=lambda: 0, device="no-such", audio=PortAudio(self.library)
            )


class TestOwnStream:
    """A device that takes several streams: silence goes on one, and each prompt has one of its own."""

    @pytest.fixture
    def made(self, renderer, tmp_path):
        self.library = FakeLibrary(shared=True)
        self.clock = {"now": 5.0}
        speaker = LoudSpeaker(
            PromptCache(renderer, tmp_path / "cache"),
            clock=lambda: round(16_000 * self.clock["now"]),
            audio=PortAudio(self.library),
            now=lambda: self.clock["now"],
        )
        self.said = []
        self.library.streams[0].latency = 0.1
        yield speaker
        speaker.close()

    def say(self, speaker, text="Torque one eighty."):
        """The voice, and the stream that it opened for the prompt, as soon as that runs."""
        known = len(self.library.streams)
        voice = threading.Thread(target=lambda: self.said.append(speaker.say(text, 0)))
        voice.start()
        while voice.is_alive() and not (len(self.library.streams) > known and self.library.streams[-1].running):
            voice.join(0.001)
        return voice, self.library.streams[-1]

    def play(self, stream, voice, *, late_s=0.0, primed=5):
        """What the stream plays until the prompt is over: five blocks at once when it starts, then one each 20 ms."""
        heard = []
        for block in range(10_000):
            if not (stream.running and voice.is_alive()):
                break
            heard.append(stream.play(960))
            self.clock["now"] += 0.0 if block < primed else 0.02 + (late_s if block == 20 else 0.0)
            voice.join(0.001)
        return np.concatenate(heard)[:, 0] if heard else np.zeros(0, np.int16)

    def test_a_prompt_begins_at_once_and_silence_goes_on_beside_it(self, made):
        running, tried = self.library.streams
        assert running.running and tried.closed
        for _ in range(2):
            asked = self.clock["now"]
            voice, own = self.say(made)
            heard = self.play(own, voice)
            voice.join(5)
            spoken = self.said[-1]
            assert own is not running and own.options["prime_output_buffers_using_stream_callback"]
            assert spoken.whole and spoken.times == 1 and spoken.start_sample == round(16_000 * (asked + 0.02))
            rendered = made._prompts.sound("Torque one eighty.")[0]
            assert np.flatnonzero(heard)[-1] / 48_000 == pytest.approx(np.flatnonzero(rendered)[-1] / 22_050, abs=0.01)
            assert len(rendered) / 22_050 == pytest.approx(
                (spoken.end_sample - spoken.start_sample) / 16_000, abs=0.001
            )
            assert own.closed and running.running and not running.play(960).any()

    def test_a_hole_is_told_and_the_prompt_said_again(self, made):
        voice, own = self.say(made)
        self.play(own, voice, late_s=0.5)
        while self.library.streams[-1] is own and voice.is_alive():
            voice.join(0.001)
        self.play(self.library.streams[-1], voice)
        voice.join(5)
        assert self.said[0].whole and self.said[0].times == 2

    def test_interrupt_ends_it_without_playing_the_buffer_out(self, made):
        voice, own = self.say(made, "one two three four five six seven eight nine")
        for _ in range(10):
            own.play(960)
        self.clock["now"] += 0.1
        made.interrupt()
        own.play(960)
        voice.join(5)
        (spoken,) = self.said
        assert spoken.cut_short and own.closed
        assert (spoken.end_sample - spoken.start_sample) / 16_000 == pytest.approx(0.1, abs=0.001)

    def test_where_it_does_not_open_the_running_one_plays(self, made):
        running = self.library.streams[0]
        self.library.shared = False
        voice, _ = self.say_on_running(made)
        assert self.play(running, voice, primed=0).any()
        voice.join(5)
        assert self.said[0].whole

    def say_on_running(self, made):
        voice = threading.Thread(target=lambda: self.said.append(made.say("Torque one eighty.", 0)))
        voice.start()
        return voice, self.library.streams[0]

    def test_one_that_hangs_is_left_behind_and_the_library_is_never_ended_under_it(self, made, monkeypatch):
        monkeypatch.setattr(loudspeaker, "START_SECONDS", 0.2)
        running, forever = self.library.streams[0], threading.Event()

        def hang(stream):
            stream.start = lambda: forever.wait(30)

        self.library.opened = hang
        voice, _ = self.say_on_running(made)
        assert self.play(running, voice, primed=0).any()
        voice.join(5)
        assert self.said[0].whole and not made._audio.refresh() and self.library.refreshed == 0
        self.library.opened = None
        voice, own = self.say(made)
        self.play(own, voice)
        voice.join(5)
        assert self.said[1].whole and own.closed
        forever.set()
