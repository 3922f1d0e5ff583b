"""Promises 7 and 8: audio is whole, synced and compared before it has its name; no number twice."""

import errno
import hashlib
import io
import os

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from assistant.errors import BadAudio, BadSession, RecordNotWritable
from assistant.journal.audio import AudioStore, MemoryAudio, decode_flac, encode_flac
from assistant.journal.disk import Disk
from tests.journal.short_record import FailingDisk, sound


class AudioContract:
    def make(self, folder, used=()):
        raise NotImplementedError

    def again(self, keeper, used=()):
        raise NotImplementedError

    def test_names_count_from_one_and_hashes_fit(self, tmp_path):
        keeper = self.make(tmp_path)
        kept = [keeper.keep(sound(seed)) for seed in range(3)]
        assert [name for name, _ in kept] == ["0001", "0002", "0003"]
        assert len({digest for _, digest in kept}) == 3
        for seed, (name, digest) in enumerate(kept):
            assert (keeper.load(name) == sound(seed)).all()
            assert keeper.holds(name, digest) and not keeper.holds(name, "0" * 64)

    def test_extreme_samples_come_back(self, tmp_path):
        keeper = self.make(tmp_path)
        for samples in (
            np.zeros(1, np.int16),
            np.full(5, -32768, np.int16),
            np.array([-32768, 32767] * 4000, np.int16),
            np.zeros(100_000, np.int16),
            sound(1, 20_000)[::2],  # not contiguous
        ):
            name, _ = keeper.keep(samples)
            assert (keeper.load(name) == samples).all()

    def test_no_samples_take_a_number_and_no_file(self, tmp_path):
        keeper = self.make(tmp_path)
        assert keeper.keep(np.zeros(0, np.int16)) == ("0001", None)
        with pytest.raises(BadAudio):
            keeper.load("0001")
        assert keeper.keep(sound(1))[0] == "0002"

    def test_numbering_goes_on_behind_files_and_behind_names_in_the_journal(self, tmp_path):
        keeper = self.make(tmp_path, used=["0004", "", "note", "-1"])
        assert keeper.keep(sound(1))[0] == "0005"
        assert self.again(keeper).keep(sound(1))[0] == "0006"
        assert self.again(keeper, used=["0002"]).keep(sound(1))[0] == "0007"
        assert self.again(keeper, used=["9999"]).keep(sound(1))[0] == "10000"

    def test_what_is_no_utterance_is_our_bug(self, tmp_path):
        keeper = self.make(tmp_path)
        for wrong in (np.zeros(5, np.float32), np.zeros((5, 2), np.int16), np.zeros(5, np.uint8)):
            with pytest.raises(TypeError, match="int16"):
                keeper.keep(wrong)
        assert keeper.keep(sound(1))[0] == "0001"

    @pytest.mark.parametrize("name", ["0009", "", "../0001", "x", "0001.flac", "٠٠٠١", "/etc/passwd"])
    def test_what_is_not_there_is_a_clear_refusal(self, tmp_path, name):
        keeper = self.make(tmp_path)
        keeper.keep(sound(1))
        with pytest.raises(BadAudio):
            keeper.load(name)
        assert not keeper.holds(name, "0" * 64)


class TestAudioStore(AudioContract):
    def make(self, folder, used=()):
        self.folder = folder
        return AudioStore(folder, Disk(), used=used)

    def again(self, keeper, used=()):
        return AudioStore(self.folder, Disk(), used=used)


class TestMemoryAudio(AudioContract):
    def make(self, folder, used=()):
        return MemoryAudio(used=used)

    def again(self, keeper, used=()):
        return MemoryAudio(keeper.files, used=used)


@given(arrays.arrays(np.int16, st.integers(1, 300)))
def test_flac_gives_back_every_sample(samples):
    assert (decode_flac(encode_flac(samples), name="x") == samples).all()


def test_the_file_is_what_the_hash_says_and_flac_in_16_khz_mono(tmp_path):
    name, digest = AudioStore(tmp_path, Disk()).keep(sound(1))
    raw = (tmp_path / f"{name}.flac").read_bytes()
    assert hashlib.sha256(raw).hexdigest() == digest and raw.startswith(b"fLaC")


def test_a_half_written_file_has_no_name_and_its_number_is_not_used_again(tmp_path):
    (tmp_path / "0003.flac.part").write_bytes(b"fLaC")
    assert AudioStore(tmp_path, Disk()).keep(sound(1))[0] == "0004"


@pytest.mark.parametrize("half", [False, True])
def test_whichever_operation_fails_there_is_no_file_of_that_name_that_is_not_whole(tmp_path, half):
    for passes in range(7):  # open, write, sync, close, rename, open folder, sync folder
        folder = tmp_path / str(passes)
        folder.mkdir()
        disk = FailingDisk(passes, OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), half=half)
        store = AudioStore(folder, disk)
        with pytest.raises(RecordNotWritable, match="No space left"):
            store.keep(sound(1))
        for path in folder.glob("*.flac"):
            assert (decode_flac(path.read_bytes(), name="x") == sound(1)).all()
        again = AudioStore(folder, Disk())
        name, _ = again.keep(sound(2))
        assert (again.load(name) == sound(2)).all()
    disk = FailingDisk(7)
    AudioStore(tmp_path, disk).keep(sound(1))
    assert disk.done == 7


def test_a_disk_that_gives_back_other_bytes_is_noticed(tmp_path):
    class Lying(Disk):
        def write(self, descriptor, data, at):
            return super().write(descriptor, bytes(len(data)), at)

    with pytest.raises(RecordNotWritable, match="other bytes"):
        AudioStore(tmp_path, Lying()).keep(sound(1))
    assert list(tmp_path.glob("*.flac")) == []


def test_a_file_that_is_there_already_is_never_replaced(tmp_path):
    store = AudioStore(tmp_path, Disk())
    (tmp_path / "0001.flac").write_bytes(b"somebody else's")
    with pytest.raises(RecordNotWritable, match="File exists"):
        store.keep(sound(1))
    assert (tmp_path / "0001.flac").read_bytes() == b"somebody else's"


def test_a_damaged_cut_or_foreign_file_is_refused(tmp_path):
    store = AudioStore(tmp_path, Disk())
    name, _ = store.keep(sound(1, 5000))
    path = tmp_path / f"{name}.flac"
    raw = path.read_bytes()
    for changed in (b"", raw[:-1], raw[: len(raw) // 2], raw[:50], b"RIFF" + raw[4:], bytes(len(raw))):
        path.write_bytes(changed)
        with pytest.raises(BadAudio):
            store.load(name)
    path.unlink()
    path.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(BadAudio, match="link"):
        store.load(name)


@pytest.mark.parametrize(
    ("form", "rate", "channels", "width"),
    [
        ("FLAC", 8000, 1, "PCM_16"),
        ("FLAC", 16000, 2, "PCM_16"),
        ("FLAC", 16000, 1, "PCM_24"),
        ("WAV", 16000, 1, "PCM_16"),
    ],
)
def test_sound_of_another_kind_is_refused(form, rate, channels, width):
    file = io.BytesIO()
    soundfile.write(file, np.zeros((500, channels), np.int16), rate, format=form, subtype=width)
    with pytest.raises(BadAudio, match="not 16 kHz mono 16-bit FLAC"):
        decode_flac(file.getvalue(), name="audio/0001.flac")


def test_a_missing_folder_is_a_clear_refusal(tmp_path):
    with pytest.raises(BadSession):
        AudioStore(tmp_path / "nothing", Disk())
