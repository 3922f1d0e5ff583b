"""Settings of this installation: an optional TOML file, checked; errors name file, field, value and what is allowed."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from assistant.config import paths
from assistant.errors import BadSettings

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib


class Settings(BaseModel):
    """What a person may set. Every setting may be left out."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    voice: str = "gmw/en"
    """eSpeak NG voice, with + and a variant if wanted: 'en-gb', 'gmw/en-us+m3'."""
    rate_wpm: Annotated[int, Field(ge=80, le=450)] = 165
    """Words per minute."""
    volume: Annotated[float, Field(ge=0.0, le=1.0)] = 1.0
    """0 silent, 1 the voice's loudest without clipping."""
    talk: Literal["brief", "normal", "full"] = "normal"
    """How much is said: brief asks and reads back, normal also names the answers, full says every figure each time."""
    language: Literal["en", "de"] = "en"
    """Language of the prompts; people always answer in English."""
    people: tuple[Annotated[str, Field(min_length=2, max_length=60)], ...] = ()
    """Names of the people who work here, so that they are recognised when they are said."""
    microphone: str | None = None
    """Name of the microphone, or a part of it; left out: the system's own choice."""
    loudspeaker: str | None = None
    """Name of the loudspeaker, or a part of it."""
    headset: bool = False
    """The microphone does not hear the speaker: 'stop' works while a prompt sounds."""
    echo_tail_ms: Annotated[int, Field(ge=0, le=2000)] = 200
    """After a prompt the microphone stays closed for its echo."""
    sound_test: bool = True
    """A session begins with a sentence to answer with two numbers: whether hearing and speaking work here."""
    models: Path | None = None
    """Folder of the models (ear, vosk, calibration.json)."""
    vosk_model: Path | None = None
    """Another Vosk model folder, in place of models/vosk."""
    sessions: Path | None = None
    """Folder of all sessions."""
    keep_sound: Literal["all", "doubtful"] = "all"
    """Sound of people that is kept: all of it, or only what was asked about, refused, corrected, or free speech."""
    keys: Path | None = None
    """Folder of this machine's key, its trusted keys and its register, where the home folder is read-only."""


PREFIX = "ASSISTANT_"
"""Of the environment variables that go before the settings file: ASSISTANT_VOICE, ASSISTANT_HEADSET, ..."""
DEFAULT = "default"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Settings and where each came from.

    Args:
        settings: those in force.
        origins: by name: "default", the settings file's path, or the environment variable's name.
        file: the settings file that was looked for.
        there: whether the file exists.
    """

    settings: Settings
    origins: Mapping[str, str]
    file: Path
    there: bool


def read_settings(path: Path | None = None) -> Settings:
    """The settings in force: from the environment, else from the settings file, else the defaults.

    Args:
        path: None takes the user's own (`paths.settings_file`).

    Raises:
        BadSettings: no TOML, an unknown key, or a value out of its range.
    """
    return find_settings(path).settings


def find_settings(path: Path | None = None, environment: Mapping[str, str] = os.environ) -> Found:
    """The settings in force, and where each came from.

    Args:
        path: None takes the user's own.
        environment: variables named ASSISTANT_ and a setting in capitals; others are not looked at.

    Raises:
        BadSettings: as `read_settings`.
    """
    file = path or paths.settings_file()
    there = True
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        if path is not None:
            raise BadSettings(f"{file} is not there", remedy="name a settings file that exists") from None
        text, there = "", False
    except (OSError, UnicodeDecodeError, ValueError) as error:
        raise BadSettings(f"{file} cannot be read: {error}", remedy="a TOML file in UTF-8 that you may read") from None
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadSettings(
            f"{file} is not TOML: {error}", remedy="`assistant settings` prints a file to start from"
        ) from None
    except (RecursionError, ValueError) as error:
        raise BadSettings(f"{file} cannot be read: {error}", remedy="one `name = value` a line") from None
    variables = {name: f"{PREFIX}{name.upper()}" for name in Settings.model_fields}
    said = {name: environment[variable] for name, variable in variables.items() if environment.get(variable)}
    origins = dict.fromkeys(Settings.model_fields, DEFAULT) | dict.fromkeys(written, str(file))
    origins |= {name: variables[name] for name in said}
    try:
        settings = Settings(**(written | said))
    except ValidationError as error:
        lines = [
            f"{origins.get(_field(e), file)}: {_field(e)} is {e.get('input')!r}: {e['msg']}" for e in error.errors()
        ]
        known = ", ".join(Settings.model_fields)
        raise BadSettings("\n".join(lines), remedy=f"known settings: {known}") from None
    return Found(settings=settings, origins=origins, file=file, there=there)


def _field(error: object) -> str:
    place = error["loc"]  # type: ignore[index]
    return ".".join(str(step) for step in place)
