"""A bank in one small folder, to be carried to a machine that learns: Ogg Opus files and a table.

Opus is lossy: people and noises are kept at a rate at which noise of a mix hides what is lost, synthetic clips (which
are Opus already) at a lower one. `bank.json` says which clips lie in which file; many clips share one, because a file
for each costs more than its sound.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import soundfile as sf

from scripts.model.sound.bank import RATE, Bank, Clips, joined, quiet_ends

LOSS = {"people": 0.945, "voices": 0.965, "noise": 0.90}  # libsndfile's compression level: about 20, 13, 30 kbit/s
VOICES = ("kokoro", "joe", "hibari", "espeak", "flite", "festival")
PART_S = 240.0  # of sound in a file
TABLE = "bank.json"


def write_bank(folder: Path, bank: Bank, clips: Sequence[int], *, threads: int = 4) -> str:
    """Write these clips and all noises; returns what was written, in words."""
    folder.mkdir(parents=True, exist_ok=True)
    groups = {
        "people": [i for i in clips if bank.source[i] not in VOICES],
        "voices": [i for i in clips if bank.source[i] in VOICES],
        "noise": list(range(len(bank.noise.start))),
    }
    files: list[dict[str, Any]] = []
    jobs: list[tuple[Path, float, Clips, list[int]]] = []
    for name, members in groups.items():
        held = bank.noise if name == "noise" else bank.speech
        for number, part in enumerate(_parts(held, members)):
            path = folder / f"{name}-{number:03d}.ogg"
            files.append({"file": path.name, "length": [int(held.length[i]) for i in part]})
            jobs.append((path, LOSS[name], held, part))
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(_write, jobs))
    size = sum((folder / f["file"]).stat().st_size for f in files)
    order = groups["people"] + groups["voices"]
    table = {
        "files": files,
        "text": [bank.text[i] for i in order],
        "use": [int(bank.use[i]) for i in order],
        "source": [bank.source[i] for i in order],
        "speaker": [bank.speaker[i] for i in order],
        "doubt": [float(bank.doubt[i]) for i in order],
        "share": bank.share,
        "order": [int(i) for i in order],
    }
    (folder / TABLE).write_text(json.dumps(table), encoding="utf-8")
    return f"{len(order)} clips, {len(groups['noise'])} noises, {size / 1e6:.1f} MB"


def read_bank(folder: Path, *, threads: int = 8) -> tuple[Bank, list[int]]:
    """(the bank, the number that each of its clips had in the bank that was written). Every clip may be drawn."""
    t = json.loads((folder / TABLE).read_text(encoding="utf-8"))
    with ThreadPoolExecutor(threads) as pool:
        read = list(pool.map(lambda f: sf.read(folder / f["file"], dtype="int16")[0], t["files"]))
    speech, noise = [], []
    for f, sound in zip(t["files"], read, strict=True):
        ends = np.cumsum(f["length"])
        if len(sound) < ends[-1]:
            raise ValueError(f"{folder / f['file']}: {len(sound)} samples, the table wants {ends[-1]}")
        (noise if f["file"].startswith("noise") else speech).extend(np.split(sound[: ends[-1]], ends[:-1]))
    doubt = np.array(t["doubt"])
    bank = Bank(joined(speech), joined(noise), t["text"], np.array(t["use"]), t["source"], t["speaker"], doubt)
    bank.share = t["share"]
    bank.quiet = np.array([quiet_ends(x) for x in speech], np.int64)
    for who in sorted(set(bank.speaker)):
        bank.friends[who] = np.array([i for i, w in enumerate(bank.speaker) if w == who])
    bank.sort_sources()
    return bank, t["order"]


def _write(job: tuple[Path, float, Clips, list[int]]) -> None:
    path, loss, held, part = job
    sound = np.concatenate([_cut(held, i) for i in part])
    sf.write(path, sound, RATE, format="OGG", subtype="OPUS", compression_level=loss)


def _parts(held: Clips, members: Sequence[int]) -> list[list[int]]:
    out: list[list[int]] = []
    room = 0
    for i in members:
        if room < held.length[i] or not out:
            out.append([])
            room = int(PART_S * RATE)
        out[-1].append(i)
        room -= int(held.length[i])
    return out


def _cut(held: Clips, i: int) -> np.ndarray:
    return held.sound[held.start[i] : held.start[i] + held.length[i]]
