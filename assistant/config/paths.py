"""Where files are kept: those that come with the program, and sessions and keys in the user's own folders."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

NAME = "bolting-assistant"
MODELS_VARIABLE = "ASSISTANT_MODELS"
_PACKAGE = Path(__file__).resolve().parents[1]


def shipped(name: str) -> Path:
    """Folder that comes with the program, in the wheel as in the checkout.

    Args:
        name: "models" or "demo_joints".
    """
    in_wheel = _PACKAGE / "shipped" / name
    return in_wheel if in_wheel.is_dir() else _PACKAGE.parent / name


def models_folder(named: Path | None = None) -> Path:
    """Folder of the models: that of the settings, else of ASSISTANT_MODELS, else the one that came with the program."""
    if named is not None:
        return named
    variable = os.environ.get(MODELS_VARIABLE)
    return Path(variable) if variable else shipped("models")


def sessions_folder() -> Path:
    """Folder of all sessions where none is named: `sessions/` in the working folder."""
    return Path("sessions")


def key_folder(named: Path | None = None) -> Path:
    """Folder of the machine's key, trusted keys and register: the one named in the settings, else in the user's own
    data folder; never within a session.
    """
    return named if named is not None else Path(platformdirs.user_data_dir(NAME, appauthor=False)) / "key"


def people_folder() -> Path:
    """Folder of what people learned here: a file for each person who agreed to it."""
    return Path(platformdirs.user_data_dir(NAME, appauthor=False)) / "people"


def cache_folder() -> Path:
    """Folder of rendered prompts; may be deleted at any time."""
    return Path(platformdirs.user_cache_dir(NAME, appauthor=False))


def settings_file() -> Path:
    """The settings file; need not exist."""
    return Path(platformdirs.user_config_dir(NAME, appauthor=False)) / "settings.toml"
