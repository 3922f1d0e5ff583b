"""Lets the listeners hear mixes and remembers what they made of them, so that a second run is quick.

Readings are kept in a folder as JSON lines, one file for each engine; its name holds a hash of the weights, of the code
that listens and of the grammar, so that nothing stale is ever read.
"""

from __future__ import annotations

import ast
import base64
import hashlib
import json
import multiprocessing
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np

from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.encoder_decoder import packaged_folder
from assistant.devices.vosk_listener import VoskListener
from assistant.ports import Recogniser
from assistant.speech.grammar import Grammar
from assistant.speech.heard import Candidate, Reading
from assistant.speech.letters import COUNT, Scores
from assistant.speech.meaning import Command, Meaning, Note, Value
from assistant.speech.quality import Quality, measure
from scripts.bench.mixes import Mix

ROOT = Path(__file__).resolve().parents[2]
MEMORY = ROOT / ".training" / "bench"
LISTENS = ("constrained_listener", "encoder_decoder", "vosk_listener")
CODE = (*(f"devices/{n}.py" for n in LISTENS), "speech/beam.py", "speech/tokens.py")
ENGINES = ("packaged", "ear", "vosk")
SAVE_EVERY = 50


@dataclass(frozen=True)
class Listened:
    """A mix without its sound, and what was made of it.

    Args:
        key: of the mix.
        quality: of its sound.
        readings: engine -> reading.
    """

    key: str
    quality: Quality
    readings: dict[str, Reading]


def engine(name: str, models: Path) -> Recogniser:
    """One of `ENGINES`, opened."""
    if name == "vosk":
        return VoskListener(models / "vosk")
    return ConstrainedListener(None if name == "packaged" else models / "ear" / "encoder.onnx")


def weights(name: str, models: Path) -> dict[str, str]:
    """File name -> SHA-256 of the weights that an engine uses."""
    if name == "vosk":
        files = sorted(p for p in (models / "vosk").rglob("*") if p.suffix in (".mdl", ".fst", ".conf", ".txt"))
        return {f"vosk/{p.relative_to(models / 'vosk')}": _sha(p) for p in files}
    wheel = packaged_folder()
    encoder = models / "ear" / "encoder.onnx" if name == "ear" else wheel / "encoder_model.ort"
    return {p.name: _sha(p) for p in (encoder, wheel / "decoder_model_merged.ort")}


def hear(
    mixes: Iterable[Mix], names: Iterable[str], grammar: Grammar, *, models: Path, jobs: int = 1
) -> list[Listened]:
    """What every named engine makes of every mix, from memory where it is known; `jobs` processes hear at once."""
    listed = list(mixes)
    qualities = _qualities(listed, jobs)
    by_engine = {name: _readings(listed, name, grammar, models, jobs) for name in names}
    return [
        Listened(m.key, qualities[m.key], {name: found[m.key] for name, found in by_engine.items()}) for m in listed
    ]


def _qualities(mixes: list[Mix], jobs: int) -> dict[str, Quality]:
    """Of the sound of every mix, from memory where it is known; tells each mix its kind of noise and its length."""
    path = MEMORY / "sounds.jsonl"
    known = _known_sounds(path)

    def measure_all(todo: Sequence[Mix], to: Path) -> None:
        with to.open("a", encoding="utf-8") as out:
            for mix in todo:
                told, quality = {"noise": mix.noise, "seconds": mix.seconds}, measure(mix.samples)
                out.write(json.dumps([mix.key, told, asdict(quality)]) + "\n")
                mix.forget()

    if _shared_out([m for m in mixes if m.key not in known], path, measure_all, jobs):
        known = _known_sounds(path)
    for mix in mixes:
        mix.told.update(known[mix.key][0])
    return {m.key: known[m.key][1] for m in mixes}


def _known_sounds(path: Path) -> dict[str, tuple[dict[str, Any], Quality]]:
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    return {key: (told, Quality(**quality)) for key, told, quality in map(json.loads, lines)}


def _shared_out(todo: Sequence[Mix], path: Path, work: Callable[[Sequence[Mix], Path], None], jobs: int) -> bool:
    """Let `jobs` processes do the work, each into a file of its own, and put those behind `path`; whether any was left.

    Raises:
        RuntimeError: one of them failed; what the others found is kept.
    """
    if not todo:
        return False
    path.parent.mkdir(parents=True, exist_ok=True)
    if jobs <= 1:
        work(todo, path)
        return True
    own = multiprocessing.get_context("fork")  # a mix cannot be sent: its sound is a function
    parts = [path.with_name(f"{path.name}.{i}") for i in range(jobs)]
    workers = [own.Process(target=work, args=(todo[i::jobs], part)) for i, part in enumerate(parts)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    with path.open("a", encoding="utf-8") as out:
        for part in parts:
            if part.is_file():
                out.write(part.read_text(encoding="utf-8"))
                part.unlink()
    if any(worker.exitcode for worker in workers):
        raise RuntimeError(f"{path.name}: a process that was hearing failed")
    return True


def memory_of(name: str, grammar: Grammar, models: Path) -> Path:
    """Where the readings of an engine are kept."""
    mark = hashlib.sha256(json.dumps(weights(name, models)).encode())
    mark.update(f"{grammar.name}{sorted(grammar.arcs.items())}".encode())
    for code in CODE:
        mark.update(_logic((ROOT / "assistant" / code).read_text(encoding="utf-8")).encode())
    return MEMORY / f"{name}-{mark.hexdigest()[:12]}.jsonl"


def remembered(name: str, grammar: Grammar, models: Path) -> set[str]:
    """Keys of the mixes that an engine has heard before."""
    path = memory_of(name, grammar, models)
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    return {json.loads(line)[0] for line in lines}


def _readings(mixes: list[Mix], name: str, grammar: Grammar, models: Path, jobs: int) -> dict[str, Reading]:
    path = memory_of(name, grammar, models)
    known = _known_readings(path)

    def hear_all(todo: Sequence[Mix], to: Path) -> None:
        listener, start = engine(name, models), time.monotonic()
        with to.open("a", encoding="utf-8") as out:
            for i, mix in enumerate(todo, 1):
                out.write(json.dumps([mix.key, _told(listener.hear(mix.samples, grammar))]) + "\n")
                mix.forget()
                if i % SAVE_EVERY == 0 or i == len(todo):
                    out.flush()
                    left = (time.monotonic() - start) / i * (len(todo) - i)
                    print(f"{name}: {i} of {len(todo)} utterances heard, {left / 60:.0f} min to go", file=sys.stderr)

    if _shared_out([m for m in mixes if m.key not in known], path, hear_all, jobs):
        known = _known_readings(path)
    return {m.key: _reading(known[m.key]) for m in mixes}


def _known_readings(path: Path) -> dict[str, dict[str, Any]]:
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    return dict(map(json.loads, lines))


def _told(reading: Reading) -> dict[str, Any]:
    return {
        "listener": reading.listener,
        "candidates": [[_meaning_told(c.meaning), c.text, c.log_probability] for c in reading.candidates],
        "fit": reading.fit,
        "free_text": reading.free_text,
        "seconds": reading.seconds,
        "extra": reading.extra,
        "letters": None if reading.letters is None else _packed(reading.letters),
    }


def _reading(told: dict[str, Any]) -> Reading:
    candidates = tuple(Candidate(_meaning(m), text, score) for m, text, score in told.pop("candidates"))
    letters = told.pop("letters", None)
    return Reading(candidates=candidates, letters=None if letters is None else _unpacked(letters), **told)


def _packed(letters: Scores) -> str:
    """16 bits a number, as text; in steps of 1/64 down to -20, so that the file packs well."""
    return base64.b64encode((np.rint(np.maximum(letters, -20) * 64) / 64).astype(np.float16).tobytes()).decode()


def _unpacked(text: str) -> Scores:
    return np.frombuffer(base64.b64decode(text), np.float16).astype(np.float32).reshape(-1, COUNT)


def _meaning_told(meaning: Meaning) -> dict[str, Any]:
    fields = asdict(meaning)
    return {"kind": type(meaning).__name__, **{k: str(v) if isinstance(v, Decimal) else v for k, v in fields.items()}}


def _meaning(told: dict[str, Any]) -> Meaning:
    kind = told.pop("kind")
    if kind == "Value":
        return Value(Decimal(told.pop("number")), **told)
    return Command(**told) if kind == "Command" else Note(**told)


def _logic(source: str) -> str:
    """A module's code without its comments and docstrings: a better wording must not make all readings stale."""
    tree = ast.parse(source)
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list):
            node.body = [b for b in body if not (isinstance(b, ast.Expr) and isinstance(b.value, ast.Constant))]  # type: ignore[attr-defined]
    return ast.dump(tree)


def _sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
