from __future__ import annotations

import json

import pytest

from assistant.errors import ModelMissing
from assistant.speech.calibration import KINDS, SOURCES, VERSION, parse_calibration
from tests.speech.readings import plain_calibration


def told() -> dict:
    thresholds = {k: {"accept": 0.99, "ask": 0.4} for k in KINDS}
    combiner = {"weights": {"constrained": 1.0}, "otherwise": {"any": -2.0}, "thresholds": thresholds}
    return {
        "version": VERSION,
        "source": {"script": "x"},
        "weights_sha256": {"a": "b"},
        "combiners": dict.fromkeys(SOURCES, combiner),
    }


def test_what_was_written_is_read():
    read = parse_calibration(json.dumps(told()))
    assert read.combiners["vosk"].thresholds["value"].accept == 0.99
    assert read.combiners["vosk"].weights == {"constrained": 1.0}
    assert read.weights_sha256 == {"a": "b"}


@pytest.mark.parametrize("part", ["version", "source", "weights_sha256", "combiners"])
def test_every_part_is_needed(part):
    less = told()
    del less[part]
    with pytest.raises(ModelMissing, match=r"calibration\.json"):
        parse_calibration(json.dumps(less))


def test_a_threshold_below_its_question_is_refused():
    changed = told()
    changed["combiners"]["vosk"] = json.loads(json.dumps(changed["combiners"]["vosk"]))
    changed["combiners"]["vosk"]["thresholds"]["value"] = {"accept": 0.3, "ask": 0.4}
    with pytest.raises(ModelMissing, match="ask <= accept"):
        parse_calibration(json.dumps(changed))


def test_stricter_leaves_a_quarter_of_the_doubt():
    usual, strict = plain_calibration(), plain_calibration().stricter()
    for name, combiner in usual.combiners.items():
        for kind, t in combiner.thresholds.items():
            assert 1 - strict.combiners[name].thresholds[kind].accept == pytest.approx((1 - t.accept) / 4)
