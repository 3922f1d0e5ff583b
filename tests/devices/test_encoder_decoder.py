from __future__ import annotations

import shutil

import numpy as np
import pytest

from assistant.devices.encoder_decoder import SHORTEST_SAMPLES, WIDTH, Decoder, Encoder, packaged_folder
from assistant.errors import ModelMissing
from assistant.speech.letters import COUNT
from assistant.speech.tokens import BEGIN
from tests.devices.clips import MODELS

EAR = MODELS / "ear" / "encoder.onnx"


@pytest.fixture(scope="module")
def decoder():
    return Decoder()


@pytest.fixture
def copy(tmp_path):
    folder = tmp_path / "tiny-en"
    folder.mkdir()
    for name in ("decoder_model_merged.ort", "tokenizer.bin"):
        shutil.copy(packaged_folder() / name, folder / name)
    return folder


def frames(seconds: float = 1.0, seed: int = 0):
    return np.random.default_rng(seed).standard_normal((1, int(seconds * 41.67), WIDTH)).astype(np.float32)


@pytest.mark.parametrize("path", [EAR, packaged_folder() / "encoder_model.ort"], ids=["ours", "packaged"])
def test_both_encoders_give_one_frame_every_24_ms(path):
    encoder = Encoder(path)
    for seconds in (0.1, 1.0, 3.3):
        found, letters = encoder.frames(
            np.random.default_rng(0).standard_normal(int(seconds * 16_000)).astype(np.float32) * 0.01
        )
        assert found.shape[0] == 1 and found.shape[2] == WIDTH
        assert abs(found.shape[1] * 0.024 - seconds) < 0.1
        assert np.isfinite(found).all()
        assert (letters is None) == (path != EAR)
        if letters is not None:
            assert letters.shape == (found.shape[1], COUNT)
            assert np.exp(letters).sum(axis=1) == pytest.approx(1.0, abs=1e-3)
    assert encoder.frames(np.zeros(SHORTEST_SAMPLES, np.float32))[0].shape[1] >= 1


def test_each_row_goes_on_from_its_own_parent(decoder):
    """Rows given side by side score as the same rows given alone, up to the rounding of 8-bit sums in a batch."""
    tokens = decoder.table.ids[b"\xe2\x96\x81the"], decoder.table.ids[b"\xe2\x96\x81a"]

    def after(*path: int):
        decoding = decoder.decoding(frames())
        decoding.step(np.array([BEGIN]), np.array([0]))
        for token in path:
            logits = decoding.step(np.array([token]), np.array([0]))
        return logits[0]

    together = decoder.decoding(frames())
    together.step(np.array([BEGIN]), np.array([0]))
    together.step(np.array(tokens), np.array([0, 0]))
    crossed = together.step(np.array([tokens[0], tokens[0]]), np.array([1, 0]))
    apart = after(tokens[1], tokens[0]), after(tokens[0], tokens[0])
    for row, alone in zip(crossed, apart, strict=True):
        assert np.abs(row - alone).max() < 0.35 * np.abs(crossed[0] - crossed[1]).max()


@pytest.mark.parametrize("seconds", [0.1, 1.0, 9.0, 9.3, 16.6])
def test_any_length_of_utterance_can_be_decoded(decoder, seconds):
    """Over 384 frames the decoder's own mask once had two entries, and the batch did not fit together."""
    decoding = decoder.decoding(frames(seconds))
    decoding.step(np.array([BEGIN]), np.array([0]))
    logits = decoding.step(np.array([300, 400, 500]), np.array([0, 0, 0]))
    assert logits.shape == (3, len(decoder.table.tokens)) and np.isfinite(logits).all()


def test_a_missing_encoder_is_named_with_a_remedy(tmp_path):
    with pytest.raises(ModelMissing, match="no-such") as error:
        Encoder(tmp_path / "no-such.onnx")
    assert error.value.remedy


@pytest.mark.parametrize("kept", [0, 1_000, 5_000_000])
def test_a_cut_encoder_is_named(tmp_path, kept):
    path = tmp_path / "encoder.onnx"
    path.write_bytes(EAR.read_bytes()[:kept])
    with pytest.raises(ModelMissing, match=r"encoder\.onnx"):
        Encoder(path)


def test_a_decoder_is_no_encoder():
    with pytest.raises(ModelMissing, match="inputs"):
        Encoder(packaged_folder() / "decoder_model_merged.ort")


@pytest.mark.parametrize("name", ["decoder_model_merged.ort", "tokenizer.bin"])
@pytest.mark.parametrize("fault", ["missing", "cut", "foreign"])
def test_every_file_of_the_decoder_is_named_when_something_is_wrong_with_it(copy, name, fault):
    path = copy / name
    whole = path.read_bytes()
    path.unlink()
    if fault != "missing":
        path.write_bytes(whole[:3_000] if fault == "cut" else b"\x05hello" * 10)
    with pytest.raises(ModelMissing) as error:
        Decoder(copy)
    assert name in error.value.message and error.value.remedy
