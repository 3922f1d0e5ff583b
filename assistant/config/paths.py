"""Where things are kept: models beside the code, sessions and keys in the user's own folders."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

NAME = "bolting-assistant"
MODELS_VARIABLE = "ASSISTANT_MODELS"


def models_folder(named: Path | None = None) -> Path:
    """Folder of the models: the one named in the settings, else ASSISTANT_MODELS, else `models/` of the checkout."""
    if named is not None:
        return named
    variable = os.environ.get(MODELS_VARIABLE)
    return Path(variable) if variable else Path(__file__).resolve().parents[2] / "models"


def sessions_folder() -> Path:
    """Folder of all sessions where none is named: `sessions/` in the working folder."""
    return Path("sessions")


def key_folder() -> Path:
    """Folder of this installation's signing key; never within a session."""
    return Path(platformdirs.user_data_dir(NAME, appauthor=False)) / "key"


def cache_folder() -> Path:
    """Folder of rendered prompts; may be deleted at any time."""
    return Path(platformdirs.user_cache_dir(NAME, appauthor=False))


def settings_file() -> Path:
    """The settings file; need not exist."""
    return Path(platformdirs.user_config_dir(NAME, appauthor=False)) / "settings.toml"
