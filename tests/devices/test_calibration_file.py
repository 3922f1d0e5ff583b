from __future__ import annotations

import json

import pytest

from assistant.devices.calibration_file import other_weights, read_calibration
from assistant.errors import ModelMissing
from assistant.speech.calibration import KINDS, SOURCES
from tests.devices.clips import MODELS

FILE = MODELS / "calibration.json"
EAR, VOSK = MODELS / "ear" / "encoder.onnx", MODELS / "vosk"


def test_the_shipped_calibration_is_of_the_shipped_weights():
    calibration = read_calibration(FILE)
    assert other_weights(calibration, encoder=EAR, vosk_model=VOSK) == ()
    assert other_weights(calibration, encoder=None, vosk_model=None) == ()


def test_other_weights_are_named(tmp_path):
    other = tmp_path / "encoder.onnx"
    other.write_bytes(b"other")
    assert other_weights(read_calibration(FILE), encoder=other, vosk_model=VOSK) == ("ear/encoder.onnx",)
    assert other_weights(read_calibration(FILE), encoder=EAR, vosk_model=tmp_path) == ("vosk/am/final.mdl",)


def test_the_shipped_calibration_tells_where_it_comes_from():
    source = read_calibration(FILE).source
    assert source["script"] == "scripts/bench/calibrate"
    assert len(source["corpus_manifest_sha256"]) == 64
    before = source["after"]["utterances"]["learnt_from"] if source["after"] else 0
    assert source["utterances"]["learnt_from"] + before > 5_000 and source["people"]["strange"] > 150
    for report in source["reports"].values():
        assert report["dev split"]["expected_calibration_error"] < 0.05


def test_one_listener_alone_needs_more_than_the_pair():
    """With less evidence probabilities are lower already; the threshold itself must not be lower on top of that."""
    combiners = read_calibration(FILE).combiners
    assert set(combiners) == set(SOURCES)
    for combiner in combiners.values():
        assert set(combiner.thresholds) == set(KINDS)
        assert all(t.accept >= 0.9 for t in combiner.thresholds.values())
        for harder in ("confusable value", "teen or ten", "short value"):
            assert combiner.thresholds[harder].accept >= combiner.thresholds["value"].accept
        assert combiner.thresholds["short command"].accept >= combiner.thresholds["command"].accept
    for alone in ("constrained", "vosk"):
        for kind, threshold in combiners["constrained+vosk"].thresholds.items():
            assert combiners[alone].thresholds[kind].accept >= threshold.accept


@pytest.mark.parametrize("change", ["missing", "no json", "version", "combiner", "threshold", "weight"])
def test_a_file_that_cannot_be_used_is_named_with_a_remedy(tmp_path, change):
    told = json.loads(FILE.read_text(encoding="utf-8"))
    if change == "version":
        told["version"] = 99
    elif change == "combiner":
        del told["combiners"]["vosk"]
    elif change == "threshold":
        told["combiners"]["vosk"]["thresholds"]["value"]["ask"] = 2
    elif change == "weight":
        told["combiners"]["vosk"]["weights"]["one word"] = float("nan")
    path = tmp_path / "calibration.json"
    if change != "missing":
        path.write_text("{" if change == "no json" else json.dumps(told), encoding="utf-8")
    with pytest.raises(ModelMissing, match=r"calibration\.json") as error:
        read_calibration(path)
    assert "scripts/bench/calibrate" in error.value.remedy
