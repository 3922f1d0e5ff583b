"""Settings and places: all optional, every mistake named with file, field and what is allowed."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.config import paths
from assistant.config.settings import Settings, read_settings
from assistant.errors import BadSettings


@pytest.fixture(autouse=True)
def own_home(tmp_path, monkeypatch):
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    monkeypatch.delenv(paths.MODELS_VARIABLE, raising=False)


def written(text):
    file = paths.settings_file()
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return file


def test_without_a_file_the_defaults_hold():
    assert read_settings() == Settings()


def test_all_that_may_be_set_is_read():
    written(
        'voice = "en-gb+f2"\nrate_wpm = 140\nvolume = 0.8\nlanguage = "de"\n'
        'microphone = "Headset"\nloudspeaker = "Headset"\n'
        'headset = true\necho_tail_ms = 250\nsound_test = false\nmodels = "/srv/models"\nvosk_model = "/srv/vosk"\n'
        'sessions = "/srv/sessions"\nkeys = "/srv/keys"\nkeep_sound = "doubtful"\n'
        'talk = "brief"\npeople = ["Robin Marsh"]\n'
    )
    settings = read_settings()
    assert (settings.voice, settings.rate_wpm, settings.volume, settings.headset) == ("en-gb+f2", 140, 0.8, True)
    assert settings.models == Path("/srv/models")
    assert set(settings.model_dump(exclude_defaults=True)) == set(Settings.model_fields), "a field is not tried here"


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("colour = 1", "colour"),
        ("rate_wpm = 20", "rate_wpm"),
        ("rate_wpm = 'fast'", "rate_wpm"),
        ("volume = 1.5", "volume"),
        ("volume = nan", "volume"),
        ("echo_tail_ms = -1", "echo_tail_ms"),
        ("headset = 'perhaps'", "headset"),
        ("voice = 3", "voice"),
        ("language = 'fr'", "language"),
        ("voice", "TOML"),
        ("voice = 'a'\nvoice = 'b'", "TOML"),
    ],
)
def test_a_mistake_names_file_and_field(text, field):
    file = written(text)
    with pytest.raises(BadSettings) as caught:
        read_settings()
    assert str(file) in caught.value.message and field in caught.value.message and caught.value.remedy


def test_a_file_that_is_not_text_is_told():
    written("x").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadSettings, match=r"settings\.toml"):
        read_settings()


def test_a_file_named_but_missing_is_told(tmp_path):
    with pytest.raises(BadSettings, match="nowhere"):
        read_settings(tmp_path / "nowhere.toml")


def test_models_are_beside_the_code_unless_named(monkeypatch, tmp_path):
    assert paths.models_folder() == Path(__file__).resolve().parents[2] / "models"
    monkeypatch.setenv(paths.MODELS_VARIABLE, str(tmp_path / "variable"))
    assert paths.models_folder() == tmp_path / "variable"
    assert paths.models_folder(tmp_path / "named") == tmp_path / "named"


def test_keys_and_prompts_stay_out_of_each_other(tmp_path):
    assert paths.key_folder().is_relative_to(tmp_path / "xdg_data_home")
    assert paths.cache_folder().is_relative_to(tmp_path / "xdg_cache_home")
