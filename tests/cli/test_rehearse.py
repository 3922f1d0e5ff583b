"""One whole joint by voice: a simulated technician's real sound through the real endpointer, listeners and record."""

from __future__ import annotations

import hashlib
import io
import json
import sys
from pathlib import Path

import pytest
import soundfile

from assistant.cli.main import main
from assistant.events import PromptSpoken, UtteranceHeard
from assistant.journal.reading import read_session
from assistant.journal.sessions import latest, played, slug_in
from assistant.replay.rebuild import rebuild_state

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))


def rehearse(joint: Path, sessions: Path, *more: str) -> int:
    return main(
        ["rehearse", str(joint), "--fast", "--json", "--sessions", str(sessions), "--date", "2026-11-25", *more]
    )


def test_a_joint_is_closed_by_voice_with_german_prompts(one_day_joint, tmp_path, capsys):
    assert rehearse(one_day_joint, tmp_path / "s", "--snr", "20", "--slips", "none", "--language", "de") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["complete"] and told["wrong_accepted"] == 0
    prompts = [e.event.text for e in read_session(Path(told["session"])).entries if isinstance(e.event, PromptSpoken)]
    assert prompts[-1].endswith("Ist jedes Werkzeug gezählt? Sag: „close the joint“.")
    assert sum(prompt.startswith("Gut. ") for prompt in prompts) > 5


def test_a_joint_is_closed_by_voice_in_noise_with_slips_and_nothing_wrong_is_recorded(small_joint, tmp_path, capsys):
    slips = "wrong-first,out-of-window,say-again,cough"
    status = rehearse(small_joint, tmp_path / "s", "--snr", "10", "--seed", "2", "--slips", slips)
    told = json.loads(capsys.readouterr().out)
    assert status == 0 and told["complete"] and told["wrong_accepted"] == 0 and told["bolts"] == 4
    assert told["accepted"] >= 8 and told["turns"] > 20
    assert set(told["end_to_prompt_ms"]) == {"p50", "p95"}
    folder = Path(told["session"])
    assert main(["verify", str(folder)]) == 0
    entries = read_session(folder).entries
    state = rebuild_state(e.event for e in entries)
    assert state.closed
    for number, item in enumerate(state.stages, start=1):
        bolts = set(getattr(item, "bolts", (None,)))
        assert {e.bolt for e in state.entries if e.valid and e.stage == number} == bolts
    heard = [e.event for e in entries if isinstance(e.event, UtteranceHeard)]
    assert all((folder / "audio" / f"{u.utterance}.flac").exists() for u in heard)
    sound, rate = soundfile.read(folder.with_suffix(".wav"))
    assert rate == 16_000 and len(sound) > 30 * rate


def test_the_same_seed_says_the_same(one_day_joint, tmp_path, capsys):
    joint = tmp_path / "one-pass.toml"
    joint.write_text(one_day_joint.read_text("utf-8").replace('["50 %", "100 %"]', '["100 %"]'), "utf-8")
    texts = []
    for run in ("one", "two"):
        rehearse(joint, tmp_path / run, "--snr", "20", "--seed", "5", "--slips", "none", "--noise", "none")
        folder = Path(json.loads(capsys.readouterr().out)["session"])
        events = [e.event for e in read_session(folder).entries]
        texts.append([e.alternatives[0].text for e in events if isinstance(e, UtteranceHeard) and e.alternatives])
    assert texts[0] == texts[1]


@pytest.mark.parametrize(
    ("option", "text", "told"),
    [("--slips", "sneeze", "sneeze"), ("--noise", "whale", "whale"), ("--snr", "900", "--snr")],
)
def test_an_unknown_option_is_named_with_what_is_allowed(small_joint, tmp_path, capsys, option, text, told):
    assert rehearse(small_joint, tmp_path, option, text) == 2
    assert told in capsys.readouterr().err


def test_a_practice_tells_what_was_caught_and_is_never_gone_on_with(tmp_path, capsys, monkeypatch):
    base = ROOT / "demo_joints" / "north-sluice-gearbox-base.toml"
    said = [*["yes"] * 4, "the load", "locked out and tried", "Sam Reed", "yes", "wrench 31", "newton metres"]
    said += ["stop", "resume", "yes"]
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(said) + "\n"))
    options = ["--apprentice", "--listen", "typed", "--speak", "silent"]
    assert rehearse(base, tmp_path / "s", *options) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["caught"] == ["calibration"] and told["missed"] == [] and not told["complete"]
    assert played(Path(told["session"])) == "practice"
    digest = hashlib.sha256(base.read_bytes()).hexdigest()
    slug = slug_in(Path(told["session"]).name)
    assert slug is not None and latest(tmp_path / "s", joint_sha256=digest, slug=slug) is None


def test_a_practice_names_the_slips_that_there_are(tmp_path, capsys):
    base = ROOT / "demo_joints" / "north-sluice-gearbox-base.toml"
    assert rehearse(base, tmp_path / "s", "--apprentice", "--listen", "typed", "--slips", "cough") == 2
    assert "calibration" in capsys.readouterr().err
