"""How the voice sounds: settings that travel to the voice child, and what a plausible rendering of a text lasts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.errors import BadSettings

DEFAULT_VOICE = "gmw/en-us"
RATE_WPM = (80, 450)  # what eSpeak NG 1.52 honours; outside it clamps silently (tried here)
LOUDER, FAINTEST = 1.41, 0.1
"""One step of loudness is 3 dB; it never falls silent."""
FASTER, FASTEST_WPM = 1.12, 240
"""One step of tempo; beyond the fastest nobody follows figures in noise (common practice, no source)."""
LONGEST_TEXT = 2000  # characters of one prompt; a prompt is a short sentence, this is a guard
VOICE_OF = {"en": "gmw/en", "de": "gmw/de"}
"""The usual voice of each language that the assistant speaks."""
_ALIASES = {"en-gb": "gmw/en", "en-us": "gmw/en-us"}  # 1.52 refuses the common name en-gb (tried here)


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """Settings of one voice.

    Args:
        voice: eSpeak NG voice, with `+` and a variant if wanted: "gmw/en-us+m3"; "en-gb" and "en-us" are understood.
        rate_wpm: words per minute, 80 to 450.
        volume: 0 (silent) to 1 (the engine's own loudest without clipping).
        pitch: 0 to 99, 50 is the voice's own.
        quoted_voice: voice for what stands between „ and “ (English phrases in a German prompt); "" for the same one.

    Raises:
        BadSettings: a figure outside its range.
    """

    voice: str = DEFAULT_VOICE
    rate_wpm: int = 165
    volume: float = 1.0
    pitch: int = 50
    quoted_voice: str = ""

    def adjusted(self, what: str) -> VoiceSettings:
        """The same voice one step "louder", "quieter", "slower" or "faster", within what it can do."""
        if what in ("louder", "quieter"):
            volume = self.volume * (LOUDER if what == "louder" else 1 / LOUDER)
            return replace(self, volume=min(1.0, max(FAINTEST, volume)))
        rate = round(self.rate_wpm * (FASTER if what == "faster" else 1 / FASTER))
        return replace(self, rate_wpm=min(FASTEST_WPM, max(RATE_WPM[0], rate)))

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("rate", self.rate_wpm, *RATE_WPM),
            ("volume", self.volume, 0.0, 1.0),
            ("pitch", self.pitch, 0, 99),
        ):
            if not low <= value <= high:
                raise BadSettings(f"voice {name} is {value}", remedy=f"Choose a {name} from {low:g} to {high:g}.")

    @property
    def engine_voice(self) -> str:
        """The name that the engine knows, aliases resolved, variant kept."""
        return _engine_name(self.voice)

    @property
    def engine_quoted_voice(self) -> str:
        """The same for what stands between quotation marks."""
        return _engine_name(self.quoted_voice or self.voice)


def _engine_name(voice: str) -> str:
    name, plus, variant = voice.partition("+")
    return _ALIASES.get(name.lower(), name) + plus + variant


def voices_for(language: str, voice: str) -> tuple[str, str]:
    """The voice of prompts in a language, and that of the English phrases in them ("" for the same one).

    Args:
        language: "en" or "de".
        voice: as set; where it is an English one and the prompts are not, the language's own with the same variant.
    """
    own = VOICE_OF[language]
    name, plus, variant = voice.partition("+")
    if language == "en":
        return voice, ""
    if _engine_name(name).casefold().startswith(("gmw/en", "en")):
        return f"{own}{plus}{variant}", voice
    return voice, f"{VOICE_OF['en']}{plus}{variant}"


def plausible_seconds(text: str, rate_wpm: int) -> tuple[float, float]:
    """Shortest and longest time that a rendering of `text` may take, seconds.

    Bounds are wide on purpose: they catch an empty, cut or runaway file, not a strange accent. At 165 words a minute
    the letters of 14 prompts took 0.07 s each (long words) to 0.46 s ("A"), the figures 0.49 s (measured here, eSpeak
    NG 1.52).
    """
    figures = sum(character.isdigit() for character in text)
    letters = sum(character.isalnum() for character in text) - figures
    others = len(text) - figures - letters
    scale = 165 / rate_wpm
    return (0.03 * letters + 0.1 * figures) * scale, (1.0 + 0.4 * letters + 1.2 * figures + 0.5 * others) * scale
