"""The bench's own arithmetic: mixes have the SNR that they say, intervals are Wilson's, thresholds keep their share."""

from __future__ import annotations

import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest

from assistant.speech.calibration import KINDS, Combiner, Threshold
from scripts.bench.breakdown import form_of
from scripts.bench.corpus import Clip, active_level
from scripts.bench.figures import aligned, counted, table
from scripts.bench.fitting import SURE_OF, Verdict, chosen, reliability, thresholds
from scripts.bench.judging import _difference, wilson
from scripts.bench.mixes import CLEAN, Mixer
from scripts.bench.pictures import Line, accuracy_picture, reliability_picture
from scripts.bench.spoken import said

ROOT = Path(__file__).resolve().parents[2]


def spoken(key: str = "a"):
    t = np.arange(16_000) / 16_000
    return said(key, "ten", "nobody", "digits", np.sin(2 * np.pi * 500 * t).astype(np.float32) * 0.01)


@pytest.mark.parametrize("snr_db", [0.0, 5.0, 20.0])
def test_a_mix_has_the_snr_it_says(snr_db):
    """Noise beats and hums, so one mix tells little: the median of many."""
    mixer = Mixer([], [], plain=True)
    found = []
    for seed in range(25):
        whole = mixer.mix(spoken(), snr_db, seed=str(seed), kind="coloured").samples.astype(np.float64)
        noise = (whole[:3_000] ** 2).mean()
        speech = max((whole[8_000:16_000] ** 2).mean() - noise, 1.0)
        found.append(10 * np.log10(speech / noise))
    assert np.median(found) == pytest.approx(snr_db, abs=1.5)


def test_a_mix_is_the_same_each_time_and_another_for_another_seed():
    mixer = Mixer([], [], plain=False)
    first, again = (mixer.mix(spoken(), 5.0, seed="x", kind="knocks") for _ in range(2))
    assert np.array_equal(first.samples, again.samples)
    other = mixer.mix(spoken(), 5.0, seed="y", kind="knocks")
    assert len(first.samples) != len(other.samples) or not np.array_equal(first.samples, other.samples)
    assert mixer.mix(spoken(), CLEAN, seed="x").noise == "quiet"


def test_speech_level_leaves_the_pauses_out():
    x = np.concatenate([np.zeros(16_000), np.full(16_000, 0.5), np.zeros(16_000)]).astype(np.float32)
    assert active_level(x) == pytest.approx(0.5, rel=0.01)


def test_wilson_interval():
    """Source: 0 of 10 gives 0 to 27.8 %, 5 of 10 gives 23.7 to 76.3 % (worked out by hand from Wilson's formula)."""
    assert wilson(0, 10) == pytest.approx((0.0, 0.278), abs=0.001)
    assert wilson(5, 10) == pytest.approx((0.237, 0.763), abs=0.001)


def verdict(probability: float, right: bool, kind: str = "value") -> Verdict:
    return Verdict(kind, probability, right)


def test_the_threshold_lies_where_wrong_readings_are_rare_enough():
    sure = [verdict(0.9995, True)] * 4_000
    middling = [verdict(0.97, True)] * 100 + [verdict(0.96, False)] * 50
    found = thresholds([*sure, *middling], ask_share=0.35)
    assert 0.96 < found["value"].accept <= 0.97
    strict = thresholds([*sure, *middling, *[verdict(0.9999, False)] * 40], ask_share=0.35)
    assert strict["value"].accept > 0.9995


def test_where_there_are_few_data_half_of_the_doubt_of_the_surest_wrong_one_is_left():
    few = [verdict(0.98, True)] * 10 + [verdict(0.94, False)]
    assert thresholds(few, ask_share=0.35)["value"].accept == pytest.approx(0.97)
    assert thresholds([verdict(0.98, True)] * 10, ask_share=0.35)["value"].accept == pytest.approx(0.9)


def test_a_kind_that_was_never_seen_takes_the_threshold_of_commands():
    found = thresholds([verdict(0.9, False, "command"), verdict(0.99, True, "command")], ask_share=0.35)
    assert found["phrase"] == found["command"] and found["phrase"].accept == pytest.approx(0.95)


def test_probabilities_that_can_be_taken_at_their_word_are_accepted_up_to_the_share():
    """Right as often as they say: 1 in 2, 3 in 4, ... 4095 in 4096, each said 4096 times."""
    ones = [verdict(1 - 0.5**k, i >= 4096 * 0.5**k) for k in range(1, 13) for i in range(4096)]
    start = thresholds(ones, ask_share=0.35)["value"].accept
    wrong = sum(not v.right for v in ones if v.probability >= start)
    assert 0.98 < start < 0.998 and 0.0002 * len(ones) < wrong <= 0.001 * len(ones)


def test_the_harder_kind_of_value_is_never_accepted_sooner():
    ones = [verdict(0.95 + 0.0004 * i, i > 60) for i in range(100)] * 3
    ones += [verdict(0.99, True, "teen or ten")] * 200
    found = thresholds(ones, ask_share=0.35)
    for kind in ("confusable value", "teen or ten", "short value"):
        assert found[kind].accept >= found["value"].accept


def test_wrong_values_accepted_stay_within_the_share_of_all_kinds_together():
    ones = [verdict(0.97, i != 0, kind) for kind in ("value", "teen or ten") for i in range(100)]
    found = thresholds(ones, ask_share=0.35)
    accepted = [v for v in ones if v.probability >= found[v.kind].accept]
    assert not accepted


def test_more_than_one_person_in_ten_with_wrong_ones_makes_all_stricter():
    """20 people of 200 values each; one or three of them have four wrong ones (2 %), too few to tell in the whole."""

    def said(unlucky: int) -> list[Verdict]:
        people = [
            Verdict("value", 0.999 if who >= unlucky or i >= 4 else 0.95, who >= unlucky or i >= 4, speaker=str(who))
            for who in range(20)
            for i in range(200)
        ]
        return [*people, *[Verdict("value", 0.9999, True, speaker="21")] * 8_000]

    assert thresholds(said(1), ask_share=0.35)["value"].accept <= 0.95
    assert thresholds(said(3), ask_share=0.35)["value"].accept > 0.95


def test_an_earlier_threshold_stays_only_where_little_was_said():
    before = Combiner({}, {}, dict.fromkeys(KINDS, Threshold(0.9995, 0.35)))
    much = [verdict(0.999, True)] * SURE_OF + [verdict(0.97, True, "command")] * 20
    found = chosen(much, much, ask_share=0.35, before=before)
    assert found["value"].accept < 0.9995 and found["command"].accept == 0.9995


def test_figures_are_aligned_by_the_fewest_changes():
    assert aligned("310", "30") == [("3", "3"), ("1", "-"), ("0", "0")]
    assert aligned("661", "6611") in (
        [("6", "6"), ("6", "6"), ("1", "1"), ("-", "1")],
        [*zip("66-1", "6611", strict=True)],
    )
    assert aligned("95", "59") == [("9", "5"), ("5", "9")]
    found = counted([("310", "390"), ("310", "310")])
    assert found["1", "9"] == 1 and found["3", "3"] == 2
    assert table(found).splitlines()[0].split()[3:] == ["0", "1", "3", "9"]


def test_pictures_are_well_formed_and_say_what_they_show():
    rows = [(0.0, 0.05, 0.02, 100), (0.9, 0.98, 0.99, 400)]
    line = Line("people: accepted right", ((0, 0.9, 0.8, 0.95), (1, 0.5, 0.4, 0.6)))
    for drawn, words in (
        (reliability_picture(rows, 0.011, "How far"), ["How far", "1.1 %", "400"]),
        (
            accuracy_picture(["clean", "0 dB"], [line], (0.99, 0.6), "Values"),
            ["clean", "0 dB", "people: accepted right"],
        ),
    ):
        texts = [e.text or "" for e in ElementTree.fromstring(drawn).iter()]
        assert all(any(word in text for text in texts) for word in words)


def test_perfectly_reliable_probabilities_have_no_error():
    found = [verdict(0.75, i % 4 != 0) for i in range(400)]
    rows, error = reliability(found)
    assert error == pytest.approx(0.0) and rows[0][3] == 400
    assert reliability([verdict(0.95, False)] * 10)[1] == pytest.approx(0.95)


def test_where_two_numbers_differ():
    assert _difference("310", "390") == ("1", "9")
    assert _difference("122", "12") == ("2", "-")
    assert _difference("15", "50") == ("15", "50")


def test_bench_scripts_say_so_when_there_is_no_corpus(tmp_path):
    for script in ("listening", "calibrate", "srt", "manners"):
        answer = subprocess.run(
            [ROOT / "scripts/bench" / script, tmp_path], capture_output=True, text=True, check=False
        )
        assert answer.returncode == 2
        assert "manifest.tsv is missing" in answer.stderr and "Traceback" not in answer.stderr


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("bolt five one eighty newton metres", "with bolt"),
        ("two seventy point five foot pounds", "decimal"),
        ("three hundred foot pounds", "with unit"),
        ("ninety", "one word"),
        ("one two oh", "figure by figure"),
        ("one hundred and twenty", "hundred or thousand"),
        ("three ten", "in groups"),
    ],
)
def test_the_form_of_a_number(text, form):
    assert form_of(text) == form


def test_clips_know_their_split():
    assert Clip(Path("a"), "ten", "x", "FSDD", "dev").split == "dev"
