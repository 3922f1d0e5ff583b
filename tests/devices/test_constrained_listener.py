from __future__ import annotations

import numpy as np
import pytest

from assistant.devices.constrained_listener import ConstrainedListener, padded, pieces
from assistant.speech.meaning import Note, Value
from assistant.speech.quality import measure
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from tests.devices.clips import MODELS, SAID, clip, hiss, in_noise
from tests.devices.listener_contract import ListenerContract


@pytest.fixture(scope="module")
def listener():
    return ConstrainedListener(MODELS / "ear" / "encoder.onnx")


class TestConstrainedListener(ListenerContract):
    @pytest.mark.parametrize("name", SAID)
    def test_hears_values_said_clearly_first(self, listener, name):
        number, unit = SAID[name]
        best = self.best(listener, name)
        assert isinstance(best, Value) and (str(best.number), best.unit) == (number, unit)

    def test_hears_a_value_in_noise(self, listener):
        found = listener.hear(in_noise(clip("three-hundred-and-ten"), 900.0), everything()).candidates
        assert str(found[0].meaning.number) == "310"

    def test_talk_fits_badly_and_speech_of_the_job_well(self, listener):
        talk = [listener.hear(clip(n), everything()).fit for n in ("talk-hammer", "talk-canteen")]
        job = [listener.hear(clip(n), everything()).fit for n in SAID]
        assert max(talk) < -4 < min(job)

    def test_a_note_carries_its_words_and_is_no_command(self, listener):
        grammar = grammar_for(Expecting(values=True, yes_no=True, free=("note",)))
        best = listener.hear(clip("note-washer-damaged"), grammar).candidates[0].meaning
        assert isinstance(best, Note) and best.opening == "note"
        assert "damage" in best.text.lower()

    def test_free_speech_is_written_down(self, listener):
        assert "can you pass me" in listener.transcribe(clip("talk-hammer")).lower()
        assert listener.transcribe(np.zeros(16_000, np.int16)) == ""

    def test_a_long_note_is_cut_at_its_pauses_and_written_whole(self, listener):
        pause = hiss(0.4, 2.0)
        long = np.concatenate([np.concatenate([clip("talk-hammer"), pause]) for _ in range(9)])
        text = listener.transcribe(long).lower()
        assert text.count("can you pass me") == 9

    def test_the_level_of_the_microphone_does_not_change_what_is_heard(self, listener):
        x = clip("three-hundred-and-ten").astype(np.float64)
        for gain in (0.01, 0.1, 2.4):
            found = listener.hear(np.rint(x * gain).astype(np.int16), everything()).candidates
            assert str(found[0].meaning.number) == "310"

    def test_a_constant_offset_does_not_change_what_is_heard(self, listener):
        x = (clip("three-hundred-and-ten").astype(np.int32) + 3_000).clip(-32_768, 32_767).astype(np.int16)
        assert str(listener.hear(x, everything()).candidates[0].meaning.number) == "310"

    def test_the_packaged_encoder_is_the_fallback(self):
        fallback = ConstrainedListener(None)
        best = fallback.hear(clip("three-hundred-and-ten"), everything()).candidates[0].meaning
        assert str(best.number) == "310"


def test_sound_is_padded_with_a_little_noise_and_never_with_exact_zeros():
    x = clip("stop")
    y = padded(x, measure(x))
    assert len(y) >= len(x) + 9_600
    assert np.count_nonzero(y[:4_800]) == 4_800 and np.abs(y[:4_800]).max() < 0.01
    assert len(padded(hiss(0.01, 3_000.0), measure(hiss(0.01, 3_000.0)))) >= 1_600


def test_pieces_are_the_whole_in_order_and_none_is_too_long():
    x = hiss(40.0, 500.0)
    x[170_000:176_000] = 0
    cut = pieces(x, 16 * 16_000)
    assert np.array_equal(np.concatenate(cut), x)
    assert max(map(len, cut)) <= 16 * 16_000
    assert 170_000 < len(cut[0]) < 176_000
    assert pieces(x[:0], 100) == []
