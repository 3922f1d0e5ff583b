from __future__ import annotations

import json
import shutil

import numpy as np
import pytest

from assistant.bolting.planning.plan import plan
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import kinds, procedure_for, usual_procedure
from assistant.devices.vosk_listener import FILES, Hypothesis, VoskListener, read_answer, word_confidences
from assistant.errors import ModelMissing
from assistant.events import Question
from assistant.procedure.work import lay_out
from assistant.speech.vocabulary import Expecting, everything, grammar_for
from tests.bolting.joint_samples import DEMOS, TODAY
from tests.devices.clips import MODELS, clip
from tests.devices.listener_contract import ListenerContract
from tests.speech.test_tokens import grammar_of


@pytest.fixture(scope="module")
def listener():
    return VoskListener(MODELS / "vosk")


class TestVoskListener(ListenerContract):
    def test_talk_is_not_read_as_a_sentence(self, listener):
        for name in ("talk-hammer", "talk-canteen"):
            reading = listener.hear(clip(name), everything())
            assert reading.extra["first_readable"] == 0.0
            assert reading.extra["readable"] < 0.5

    def test_tells_how_sure_it_is(self, listener):
        extra = listener.hear(clip("three-hundred-and-ten"), everything()).extra
        assert 0.5 < extra["readable"] <= 1.0 and 0.0 < extra["confidence"] <= 1.0
        assert extra["alternatives"] >= 1

    def test_one_recogniser_is_kept_for_each_grammar(self, listener):
        listener.hear(clip("stop"), everything())
        kept = listener._recognisers[everything()]
        listener.hear(clip("stop"), grammar_for(Expecting(values=False, yes_no=True)))
        listener.hear(clip("stop"), everything())
        assert listener._recognisers[everything()] is kept

    def test_a_phrase_with_an_unknown_word_leaves_the_rest_of_the_grammar(self, listener):
        grammar = grammar_for(Expecting(values=True, yes_no=True, phrases=("zyxwv is shut",)))
        assert listener.unknown_words(grammar) == ("zyxwv",)
        assert str(listener.hear(clip("ninety-five"), grammar).candidates[0].meaning.number) == "95"

    def test_quotes_in_a_grammar_do_not_end_the_process(self, listener):
        """A grammar that is no JSON array kills the process; ours is always written by json.dumps."""
        listener.hear(clip("stop"), grammar_of('say "hello"', "stop"))


@pytest.fixture
def copy(tmp_path):
    return shutil.copytree(MODELS / "vosk", tmp_path / "vosk")


@pytest.mark.parametrize("name", FILES)
def test_an_incomplete_folder_is_named(copy, name):
    (copy / name).unlink()
    with pytest.raises(ModelMissing, match=name):
        VoskListener(copy)


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(ModelMissing, match="nowhere"):
        VoskListener(tmp_path / "nowhere")


def test_a_static_graph_is_refused(copy):
    (copy / "graph" / "HCLG.fst").write_bytes(b"")
    with pytest.raises(ModelMissing, match="static graph"):
        VoskListener(copy)


def test_damaged_weights_are_refused(copy):
    weights = copy / "am" / "final.mdl"
    weights.write_bytes(weights.read_bytes()[:1_000])
    with pytest.raises(ModelMissing, match="damaged"):
        VoskListener(copy)


@pytest.mark.parametrize("word", ["[unk]", "hundred"])
def test_a_model_without_a_word_of_ours_is_refused_by_name(copy, word):
    (copy / "SHA256SUMS").unlink()  # another model, not a damaged one
    table = copy / "graph" / "words.txt"
    lines = table.read_text(encoding="utf-8").splitlines()
    table.write_text(
        "".join(f"{'zzz' if line.split()[0] == word else line.split()[0]} {line.split()[1]}\n" for line in lines)
    )
    with pytest.raises(ModelMissing) as error:
        VoskListener(copy)
    assert word in error.value.message and error.value.remedy


def test_both_shapes_of_answers_are_read():
    plain = '{"result": [{"conf": 0.5, "end": 1, "start": 0, "word": "ten"}], "text": "ten"}'
    assert read_answer(plain) == [Hypothesis(("ten",), 0.0, (0.5,))]
    assert read_answer('{"text": ""}') == [Hypothesis((), 0.0)]
    several = {"alternatives": [{"confidence": 173.9, "text": "three ten"}, {"confidence": 170, "text": "[unk]"}]}
    assert read_answer(json.dumps(several)) == [Hypothesis(("three", "ten"), 173.9), Hypothesis(("[unk]",), 170.0)]


@pytest.mark.parametrize(
    "answer",
    [
        *(
            '{"partial": "three"}',
            "{}",
            "[]",
            "three ten",
            '{"alternatives": [{"text": "ten"}]}',
            '{"text": "a", "spk": [1]}',
        ),
        *('{"alternatives": 5}', '{"result": [{"conf": 1.0}], "text": "three ten"}', '{"text": "ten", "result": [{}]}'),
    ],
)
def test_any_other_shape_is_an_error(answer):
    with pytest.raises(ModelMissing, match="unknown shape"):
        read_answer(answer)


def test_a_word_is_as_sure_as_the_alternatives_that_have_it():
    found = [Hypothesis(("three", "ten"), 0.0), Hypothesis(("three", "two", "ten"), 0.0), Hypothesis(("ten",), -50.0)]
    first, second = word_confidences(found)
    assert first == pytest.approx(1.0, abs=1e-6)
    assert second == pytest.approx(1.0, abs=1e-6)
    assert word_confidences([Hypothesis(("two",), 0.0), Hypothesis(("ten",), 0.0)]) == pytest.approx([0.5])


def test_samples_of_any_layout_are_taken(listener):
    x = clip("ninety-five")
    strided = np.stack([x, x], axis=1)[:, 0]
    assert str(listener.hear(strided, everything()).candidates[0].meaning.number) == "95"


def agreed_phrases() -> list[tuple[str, str]]:
    """(where it stands, phrase) of all that is asked for by the procedures and by the demo joints."""
    found = []
    for kind in kinds():
        for step in usual_procedure(kind).steps:
            said = [step.answer, step.phrase, *step.refused]
            if step.ask_back is not None:
                said += [step.ask_back.answer, *step.ask_back.others]
            found += [(kind, phrase) for phrase in said if phrase]
    for path in sorted(DEMOS.glob("*.toml")):
        joint = read_joint(path, today=TODAY)
        work = lay_out(plan(joint, today=TODAY), procedure_for(joint, near=path.parent))
        asked = [item for item in work.items if isinstance(item, Question)]
        found += [(path.name, phrase) for q in asked for phrase in (q.phrase, *q.refused)]
    return found


def test_every_agreed_phrase_is_of_words_that_the_model_knows(listener):
    """One with a strange word is left to the ear alone, whose stricter thresholds then ask nearly always."""
    phrases = agreed_phrases()
    assert len(phrases) > 40
    strange = {
        (where, phrase)
        for where, phrase in phrases
        if listener.unknown_words(grammar_for(Expecting(values=False, yes_no=False, phrases=(phrase,))))
    }
    assert not strange
