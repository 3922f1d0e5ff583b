"""The sound of a page: each recording as it was kept, with the outline of its loudness; prompts rendered again."""

from __future__ import annotations

import base64
import hashlib
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
import soundfile

from assistant.errors import AssistantError, BadAudio, BadSession, ModelMissing
from assistant.journal.audio import Samples, decode_flac
from assistant.replay.moments import Moment

Load = Callable[[str], bytes]
Keep = Callable[[str, bytes], None]
Render = Callable[[str], tuple[Samples, int]]

BINS = 44
"""Steps of an outline."""
_FIGURES = "0123456789abcdefghijklmnopqrstuvwxyz"
_QUIET = 800  # of 32 768: a recording that is nowhere louder is drawn low
_MP3 = {"format": "MP3", "compression_level": 0.8, "bitrate_mode": "VARIABLE"}  # 36 kbit/s: half the size of the usual
_FLAC = {"format": "FLAC", "subtype": "PCM_16"}
_FORMATS = ((_MP3, "mp3", "audio/mpeg"), (_FLAC, "flac", "audio/flac"))


@dataclass(slots=True, kw_only=True)
class Sounds:
    """What a page can play.

    Args:
        states: name of a recording -> 'kept' (as it was recorded), 'changed' (other bytes than the journal names),
            'damaged' (cannot be decoded), 'missing'. Typed utterances are not in it.
        outlines: name of a recording -> BINS figures of base 36, its peaks over time.
        embedded: key -> base64, where the sound goes into the page. Keys are names ('0007') and 'p12' for prompts.
        prompts: text of a prompt -> its key.
        prompt_type, prompt_ending: media type and file ending of prompts.
        silent: why prompts are not heard; '' when they are.
    """

    states: dict[str, str] = field(default_factory=dict)
    outlines: dict[str, str] = field(default_factory=dict)
    embedded: dict[str, str] = field(default_factory=dict)
    prompts: dict[str, str] = field(default_factory=dict)
    prompt_type: str = ""
    prompt_ending: str = ""
    silent: str = ""

    def missing(self) -> dict[str, int]:
        """How many recordings are not as they were kept, by state."""
        bad = [state for state in self.states.values() if state != "kept"]
        return {state: bad.count(state) for state in sorted(set(bad))}


def collect(moments: Iterable[Moment], load: Load, *, render: Render | None = None, keep: Keep | None = None) -> Sounds:
    """Gather the sound of a conversation.

    Args:
        moments: of a story.
        load: bytes of a recording by its name ('0007'); raises BadSession where it is not there.
        render: a prompt's samples (int16, mono) and rate in hertz; None leaves prompts silent. Where it raises, that
            prompt is silent; after ModelMissing all are.
        keep: stores sound beside the page (file name, bytes); None embeds it.
    """
    sounds = Sounds(silent="" if render else "no voice was asked to render them")
    texts: dict[str, None] = {}
    for moment in moments:
        if moment.who == "assistant":
            texts.setdefault(moment.text)
        elif moment.name and moment.heard is not None and moment.heard.audio_sha256 is not None:
            _recording(sounds, moment.name, moment.heard.audio_sha256, load, keep)
    if render is not None:
        _prompts(sounds, texts, render, keep)
    return sounds


def _recording(sounds: Sounds, name: str, sha256: str, load: Load, keep: Keep | None) -> None:
    if name in sounds.states:
        return
    try:
        raw = load(name)
        samples = decode_flac(raw, name=name)
    except BadSession:
        sounds.states[name] = "missing"
        return
    except BadAudio:
        sounds.states[name] = "damaged"
        return
    sounds.states[name] = "kept" if hashlib.sha256(raw).hexdigest() == sha256 else "changed"
    sounds.outlines[name] = outline(samples)
    _store(sounds, name, f"{name}.flac", raw, keep)


def _store(sounds: Sounds, key: str, file_name: str, raw: bytes, keep: Keep | None) -> None:
    if keep is not None:
        keep(file_name, raw)
    else:
        sounds.embedded[key] = base64.b64encode(raw).decode("ascii")


def outline(samples: Samples) -> str:
    """The peaks of a recording over its length, as BINS figures of base 36: z is its loudest.

    What is hardly there at all is not blown up.

    Args:
        samples: int16, shape (n,).
    """
    if not samples.size:
        return "0" * BINS
    edges = np.linspace(0, samples.size, BINS + 1).astype(np.int64)
    starts = np.minimum(edges[:-1], samples.size - 1)
    peaks = np.maximum.reduceat(np.abs(samples.astype(np.int32)), starts)
    steps = np.round(peaks * (len(_FIGURES) - 1) / max(int(peaks.max()), _QUIET)).astype(int)
    return "".join(_FIGURES[step] for step in steps)


def _prompts(sounds: Sounds, texts: Iterable[str], render: Render, keep: Keep | None) -> None:
    form, ending, media_type = next(f for f in _FORMATS if f[0]["format"] in soundfile.available_formats())
    sounds.prompt_type, sounds.prompt_ending = media_type, ending
    for text in texts:
        try:
            samples, rate_hz = render(text)
        except ModelMissing as missing:
            sounds.silent = missing.message
            return
        except AssistantError:
            continue
        file = io.BytesIO()
        soundfile.write(file, samples, rate_hz, **form)
        key = f"p{len(sounds.prompts) + 1}"
        sounds.prompts[text] = key
        _store(sounds, key, f"{key}.{ending}", file.getvalue(), keep)
