"""`hear` on files of all kinds, in-process, with the real listeners; its JSON."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli.main import main
from assistant.devices.espeak_voices import speak

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
KEYS = {"start_s", "end_s", "kind", "text", "value", "unit", "command", "bolt", "probability", "fit", "decision"}
KEYS |= {"alternatives", "listeners"}


def sound(text: str, voice: str = "gmw/en-us+m3") -> np.ndarray:
    quiet = np.random.default_rng(1).standard_normal(6400) * 3
    return np.concatenate([quiet, speak(text, voice, 155)[0], quiet]).astype(np.int16)


def hear(*arguments: str, capsys) -> tuple[int, list[dict]]:
    status = main(["hear", "--json", *arguments])
    return status, json.loads(capsys.readouterr().out)


@pytest.fixture(scope="module")
def reading(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "reading.wav"
    soundfile.write(path, sound("one hundred and eighty newton metres"), 16_000)
    return path


def test_a_reading_is_understood(reading, capsys):
    status, (told,) = hear(str(reading), capsys=capsys)
    assert status == 0 and told["file"] == str(reading)
    (each,) = told["utterances"]
    assert set(each) >= KEYS
    assert (each["kind"], each["value"], each["unit"]) == ("value", 180, "N*m")
    assert each["decision"] in ("accept", "ask")
    assert set(each["listeners"]) == {"constrained", "vosk"}
    assert each["start_s"] + 0.4 > 0.5 and each["end_s"] <= told["seconds"]


def test_without_our_ear_the_packaged_one_listens_and_says_so(reading, tmp_path, monkeypatch, capsys):
    for name in ("vosk", "calibration.json"):
        (tmp_path / name).symlink_to(ROOT / "models" / name)
    monkeypatch.setenv("ASSISTANT_MODELS", str(tmp_path))
    assert main(["hear", "--json", str(reading)]) == 0
    out = capsys.readouterr()
    (each,) = json.loads(out.out)[0]["utterances"]
    assert set(each["listeners"]) == {"constrained", "vosk"}
    assert (each["kind"], each["value"]) == ("value", 180)
    assert "the packaged one listens" in out.err and "encoder.onnx" in out.err


def test_with_a_window_due_it_says_what_a_bolt_would_make_of_it(reading, capsys):
    inside = ["--due", "180 N*m", "--low", "171", "--high", "189"]
    _, (told,) = hear(str(reading), *inside, capsys=capsys)
    (context,) = [each["context"] for each in told["utterances"]]
    assert set(context) == {"p", "inside", "lift", "decision"} and context["decision"] == "accept"
    assert context["lift"] == 20 and 0.83 < context["p"] <= context["inside"] <= 1
    _, (told,) = hear(str(reading), "--due", "150", "--low", "142", "--high", "158", capsys=capsys)
    (each,) = told["utterances"]
    assert each["context"]["decision"] in ("outside", "ask") and each["context"]["inside"] < 0.1
    wide = ["--due", "180", "--low", "120", "--high", "240"]
    _, (told,) = hear(str(reading), *wide, capsys=capsys)
    assert told["utterances"][0]["context"]["lift"] == 1
    _, (told,) = hear(str(reading), "--due", "360", "--low", "350", "--high", "370", capsys=capsys)
    assert told["utterances"][0]["context"]["decision"] in ("impossible", "ask")  # half of the setting


@pytest.mark.parametrize(
    ("window", "says"),
    [
        (["--due", "170"], "belong together"),
        (["--due", "170", "--low", "180", "--high", "190"], "do not rise"),
        (["--due", "170 kg", "--low", "160", "--high", "180"], "--due"),
        (["--due", "nan", "--low", "160", "--high", "180"], "--due is nan"),
        (["--due", "0", "--low", "0", "--high", "1"], "do not rise"),
    ],
)
def test_a_window_that_makes_no_sense_is_refused(reading, window, says, capsys):
    assert main(["hear", str(reading), *window]) == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "rate", "channels", "subtype"),
    [
        ("eight-bit.wav", 16_000, 1, "PCM_U8"),
        ("stereo.wav", 44_100, 2, "PCM_16"),
        ("ninety-six.wav", 96_000, 1, "PCM_24"),
        ("float.wav", 48_000, 2, "FLOAT"),
        ("telephone.flac", 8_000, 1, "PCM_16"),
        ("opus.ogg", 48_000, 1, "OPUS"),
    ],
)
def test_any_rate_channel_count_and_format_is_read(tmp_path, capsys, name, rate, channels, subtype):
    import soxr

    made = soxr.resample(sound("one seven zero") / 32768.0, 16_000, rate)
    soundfile.write(tmp_path / name, np.stack([made] * channels, axis=1), rate, subtype=subtype)
    status, (told,) = hear(str(tmp_path / name), capsys=capsys)
    assert status == 0
    assert [u["value"] for u in told["utterances"] if u["decision"] != "reject"] == [170]


def test_silence_and_noise_are_no_reading(tmp_path, capsys):
    soundfile.write(tmp_path / "silence.wav", np.zeros(32_000), 16_000)
    soundfile.write(tmp_path / "noise.wav", np.random.default_rng(3).standard_normal(48_000) * 0.05, 16_000)
    status, told = hear(str(tmp_path / "silence.wav"), str(tmp_path / "noise.wav"), capsys=capsys)
    assert status == 0
    assert all(u["decision"] == "reject" for each in told for u in each["utterances"])


def test_clipped_sound_does_no_harm(tmp_path, capsys):
    loud = np.clip(sound("one seven zero") / 32768.0 * 40, -1, 1)
    soundfile.write(tmp_path / "clipped.wav", loud, 16_000)
    status, (told,) = hear(str(tmp_path / "clipped.wav"), capsys=capsys)
    assert status == 0
    assert all(u["value"] in (170, None) for u in told["utterances"] if u["decision"] == "accept")


def test_a_file_that_is_no_sound_is_named_and_the_others_are_still_read(tmp_path, reading, capsys):
    (tmp_path / "text.wav").write_text("this is no sound")
    (tmp_path / "empty.wav").write_bytes(b"")
    files = [str(tmp_path / "text.wav"), str(tmp_path / "empty.wav"), str(tmp_path / "nowhere.wav"), str(reading)]
    assert main(["hear", "--json", *files]) == 2
    out = capsys.readouterr()
    told = json.loads(out.out)
    assert [each.get("error", {}).get("code") for each in told] == ["bad-audio"] * 3 + [None]
    assert all(name in out.err for name in ("text.wav", "empty.wav", "nowhere.wav"))


def test_with_a_joint_its_phrases_are_understood(tmp_path, capsys):
    soundfile.write(tmp_path / "phrase.wav", sound("locked out and tried"), 16_000)
    status, (told,) = hear(str(tmp_path / "phrase.wav"), "--joint", str(DEMO), capsys=capsys)
    assert status == 0
    assert [u["command"] for u in told["utterances"]] == ["locked out and tried"]


def test_two_readings_in_one_file_are_two_utterances(tmp_path, capsys):
    gap = np.zeros(24_000, np.int16)
    soundfile.write(tmp_path / "two.wav", np.concatenate([sound("one eighty"), gap, sound("one seventy")]), 16_000)
    _, (told,) = hear(str(tmp_path / "two.wav"), capsys=capsys)
    assert [u["value"] for u in told["utterances"]] == [180, 170]


def test_without_any_listener_it_says_so(reading, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("ASSISTANT_MODELS", str(tmp_path / "nothing"))
    assert main(["hear", str(reading)]) == 3
    assert "remedy" not in capsys.readouterr().err.lower()
