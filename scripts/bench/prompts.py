"""How well our own prompts are understood over noise: `scripts/bench/prompts`.

Every prompt of `speech.wording` that holds a value or a bolt, and the fixed ones, as our own voice renders them, mixed
with workshop noise at 5 dB SNR and heard back by our own ear. It knows which kind of sentence comes, as whoever works
with the assistant does, but not the numbers: those may be any, in any form. Fixed prompts are heard among each other.
Also lists the prompts which their words alone leave open (`one, ninety five`). Ends with 1 when fewer than 98 % of the
prompts with a value were heard with all numbers right.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.voice_settings import VoiceSettings
from scripts.bench.heard_back import LIMITS, HeardBack, Voice, hear_back
from scripts.bench.hearing import ROOT
from scripts.bench.judging import wilson
from scripts.bench.prompt_material import VALUES, prompts, templates, two_readings

WANTED = 0.98


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="prompts", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("--count", type=int, default=24, help="prompts of each kind with numbers")
    p.add_argument("--snr", type=float, default=5.0, help="dB")
    p.add_argument("--plain", action="store_true", help="as the engine renders them, not made clearer")
    p.add_argument("--voice", default=VoiceSettings().voice)
    p.add_argument("--rate", type=int, default=VoiceSettings().rate_wpm, help="words per minute")
    p.add_argument("--only", nargs="*", help="kinds of prompts, by name")
    p.add_argument("--json", type=Path, help="file for all figures")
    p.add_argument("--models", type=Path, default=ROOT / "models")
    a = p.parse_args(arguments)
    known = [t for t in templates() if not a.only or t.name in a.only]
    numbered = [t for t in known if t.slots]
    still = [t for t in known if not t.slots]
    unclear = two_readings([t for t in known if t.has_value], bolts=range(1, 49), values=VALUES)
    for name, texts in unclear.items():
        print(f"open by its words alone, {name}: {len(texts)} of them, such as {texts[0]!r}")
    ear = ConstrainedListener(a.models / "ear" / "encoder.onnx", limits=LIMITS)
    found: list[HeardBack] = []
    with tempfile.TemporaryDirectory(prefix="prompts-") as folder:
        voice = Voice(Path(folder), VoiceSettings(a.voice, a.rate), plain=a.plain)
        for spoken, among in ((prompts(a.count, numbered), []), (prompts(1, still), still)):
            for heard in hear_back(spoken, voice, ear, snr_db=a.snr, among=among):
                found.append(heard)
                if not heard.right:
                    print(f"  {heard.noise:10} {heard.prompt.text!r} heard as {heard.meaning}", flush=True)
        voice.close()
    told = table(found)
    if a.json:
        a.json.write_text(json.dumps({"snr_db": a.snr, "open": unclear, **told}, indent=1) + "\n", encoding="utf-8")
    right, count = told["rows"].get("all with a value", (0, 0))
    return 0 if right >= WANTED * count else 1


def table(found: Sequence[HeardBack]) -> dict[str, dict[str, tuple[int, int]]]:
    """Print and return right and count by kind of prompt, by noise, and together."""
    rows: dict[str, list[HeardBack]] = {}
    for h in found:
        own = h.prompt.template
        if own.slots:
            rows.setdefault(own.name, []).append(h)
        rows.setdefault(
            "all with a value" if own.has_value else "all with a bolt" if own.slots else "fixed", []
        ).append(h)
        if own.has_value:
            rows.setdefault(f"value in {h.noise}", []).append(h)
    print(f"{'prompt':22} {'n':>4} {'right':>6}  95 % interval  seconds")
    counts = {}
    for name, own_rows in rows.items():
        right, count = sum(h.right for h in own_rows), len(own_rows)
        low, high = wilson(right, count)
        seconds = sum(h.seconds for h in own_rows) / count
        print(f"{name:22} {count:4} {100 * right / count:6.1f}  {100 * low:5.1f} to {100 * high:5.1f}  {seconds:.1f}")
        counts[name] = (right, count)
    return {"rows": counts}


if __name__ == "__main__":
    sys.exit(main())
