"""Learning to talk to it, with real listeners on a voice; and what is kept of a person, only with consent."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.cli import reminders
from assistant.cli.main import main
from assistant.config.learned import Learned, Missed, file_of, keep, learned_by
from assistant.devices.espeak_voices import speak
from assistant.devices.wav_file import write_wav
from assistant.errors import BadSettings
from assistant.events import SAMPLE_RATE_HZ
from assistant.rehearsal.voice_lesson import WORDS
from assistant.speech.vocabulary import everything

ROOT = Path(__file__).resolve().parents[2]
BASE = ROOT / "demo_joints" / "north-sluice-gearbox-base.toml"
ROBIN = "Robin Marsh"


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))


def spoken(tmp_path: Path, said: list[str]) -> str:
    """One recording of all that is said, with pauses between."""
    quiet = np.random.default_rng(1).standard_normal(SAMPLE_RATE_HZ) * 5
    pieces = [quiet]
    for text in said:
        samples, _, _ = speak(text, "gmw/en-us-nyc+m4", 150)
        pieces += [np.asarray(samples, np.float64) + np.resize(quiet, len(samples)), np.resize(quiet, 24_000)]
    write_wav(tmp_path / "said.wav", np.rint(np.concatenate(pieces)).astype(np.int16))
    return f"wav:{tmp_path / 'said.wav'}"


def test_every_word_and_its_better_form_mean_the_same():
    for word in WORDS:
        for form in (word.say, word.better):
            meaning = everything().parse(form)
            assert meaning is not None, form
            assert getattr(meaning, "number", getattr(meaning, "name", None)) == word.means, form


def test_words_are_learned_by_voice_and_kept_only_where_that_is_asked_for(tmp_path, capsys):
    listen = spoken(tmp_path, ["hammer and tongs", "one two seven"])
    options = ["practise", "--voice", "--json", "--listen", listen, "--speak", "silent"]
    assert main(options) == 1  # the recording ends before the words do
    told = json.loads(capsys.readouterr().out)
    first = told["words"][0]
    assert (first["say"], first["first"], first["second"]) == ("one twenty seven", "other", "sure")
    assert told["better"][0] == {"word": "one twenty seven", "say": "one two seven"}
    assert told["hard"] == ["three forty"] and told["words"][1]["first"] == "nothing"  # nothing more was said
    assert learned_by(ROBIN) is None
    assert main([*options, "--keep", ROBIN]) == 1
    kept = learned_by(ROBIN)
    assert kept is not None and kept.better[0] == ("one twenty seven", "one two seven") and kept.consent_utc


def test_a_guided_joint_begins_with_what_helps_that_person_to_be_heard(tmp_path, monkeypatch, capsys):
    keep(Learned(name=ROBIN, consent_utc="2026-11-20", better=(("yes", "that's correct"),)))
    monkeypatch.setattr(sys, "stdin", io.StringIO("robin marsh\nyes\n"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / "s"), "--date", "2026-11-25"]
    assert main(["guide", str(BASE), *options]) == 1
    assert "For yes, say: that's correct." in capsys.readouterr().out


def test_what_an_apprentice_missed_is_kept_from_joint_to_joint_until_a_supervisor_signs(tmp_path, monkeypatch, capsys):
    keep(Learned(name=ROBIN, consent_utc="2026-11-20"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / "s"), "--date", "2026-11-25"]
    for joint in ("first", "second"):
        lines = ["Robin Marsh", "yes", *["yes"] * 4, "the coupling"] if joint == "first" else ["Robin Marsh", "yes"]
        monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(lines) + "\n"))
        assert main(["guide", str(BASE), "--apprentice", "--new", *options]) == 1
    known = learned_by(ROBIN)
    assert known is not None and [each.what for each in known.unseen] == ["Hold point: lock-out"]
    assert "Last time you missed: Hold point: lock-out." in capsys.readouterr().out
    assert main(["practise", "--sign-off", ROBIN, "--supervisor", "Kim Osei"]) == 0
    assert "gone through with Kim Osei" in capsys.readouterr().out
    assert reminders.reminder(ROBIN, "en", apprentice=True) == ""
    assert main(["practise", "--forget", ROBIN]) == 0
    assert learned_by(ROBIN) is None


def test_nothing_is_kept_of_whoever_did_not_agree(tmp_path, monkeypatch):
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / "s"), "--date", "2026-11-25"]
    monkeypatch.setattr(
        sys, "stdin", io.StringIO("\n".join(["Robin Marsh", "yes", *["yes"] * 4, "the coupling"]) + "\n")
    )
    assert main(["guide", str(BASE), "--apprentice", *options]) == 1
    assert not file_of(ROBIN).exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--show", ROBIN], "nothing is kept"),
        (["--sign-off", ROBIN], "--supervisor"),
        (["--show", ROBIN, "--keep", ROBIN], "--voice"),
        (["--forget", "?!"], "no letter"),
        (["--voice", "--listen", "typed"], "--listen"),
    ],
)
def test_what_cannot_be_is_refused_in_words(capsys, arguments, said):
    assert main(["practise", *arguments]) == 2
    assert said in capsys.readouterr().err


def test_a_damaged_file_is_refused_and_holds_no_work_up(tmp_path, monkeypatch, capsys):
    keep(Learned(name=ROBIN, consent_utc="2026-11-20", missed=(Missed(what="x", joint="y", utc="z"),)))
    file_of(ROBIN).write_text("{")
    with pytest.raises(BadSettings):
        learned_by(ROBIN)
    monkeypatch.setattr(sys, "stdin", io.StringIO("Robin Marsh\nyes\n"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / "s"), "--date", "2026-11-25"]
    assert main(["guide", str(BASE), *options]) == 1
    assert "cannot be used" in capsys.readouterr().err
