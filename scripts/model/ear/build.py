#!/usr/bin/env python3
"""Build the ear from a folder of recordings in one command.

usage: build.py small --speech FOLDER --to FOLDER   two CPU cores, at most 20 minutes: shows the chain, not its best
       build.py full  --speech FOLDER --to FOLDER   a GPU and 16 CPU cores (45 minutes; an hour of CPU for voices)

Steps: synthetic voices, the packaged weights as numpy files, stage 1, stage 2 (`full` goes on with it once more, from
other sound), export, development check of the packaged encoder and of the new one, model card. A step whose result is
in the folder is not done again, so `full` may be cut into two machines: `--until prepare` where the voices and the
wheel are, the rest elsewhere with the folder carried over. Nothing outside the folder is written: encoder.onnx, its
card and its licence are to be put into models/ by hand.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path[0] = str(ROOT)

from scripts.model.ear.card import write_card  # noqa: E402
from scripts.model.sound.manifest import ManifestError, read_manifest  # noqa: E402
from scripts.model.sound.voices import families  # noqa: E402

BLEND = 0.25  # share of the first stage 2 in the exported weights, where there is a second
STEPS = ("voices", "prepare", "stage1", "stage2", "again", "export", "evaluate")
LICENCE = "LICENCE-packaged-weights.txt"


@dataclass(frozen=True)
class Size:
    """What a build costs. `voices`: family -> (clips, seed). The rest: command lines of the steps."""

    voices: dict[str, tuple[int, int]]
    dev_families: str
    dev_clips: int
    stage1: str
    stage2: str
    again: str  # stage 2 once more; "" for not
    evaluate: str


SIZES = {
    "small": Size(
        voices={"espeak": (280, 2)},
        dev_families="espeak",
        dev_clips=40,
        stage1="--steps 150 --seconds 270 --batch 36 --checks 0 --mean 0.98 --threads 2 --device cpu",
        stage2="--steps 90 --seconds 300 --batch 36 --checks 0 --mean 0.98 --threads 2 --device cpu --lr 1.5e-4"
        " --wrongs 3 --ways 2 --most 12",
        again="",
        evaluate="--figures 40 --talk 10 --noise 10 --levels 99 10 5 0 --every 3 --jobs 2",
    ),
    "full": Size(
        voices={
            "espeak": (900, 2),
            "hibari": (450, 3),
            "joe": (450, 4),
            "flite": (300, 5),
            "festival": (160, 6),
            "kokoro": (4000, 7),
        },
        dev_families="espeak,kokoro",
        dev_clips=160,
        stage1="--seconds 240 --batch 480 --workers 6 --lr 6e-4",
        stage2="--seconds 490 --batch 480 --workers 14 --lr 3e-4 --low -6 --deep 0.25 --most 96 --letters 0.2"
        " --apart 150",
        again="--seconds 540 --batch 480 --workers 14 --lr 3e-4 --low -6 --deep 0.25 --most 96 --letters 0.25 --seed 3",
        evaluate="--jobs 14",
    ),
}


def run(module: str, *arguments: object) -> float:
    """Run one of the modules; its failure ends the build. Returns the minutes that it took."""
    begin = time.monotonic()
    words = [str(a) for a in arguments]
    print(f"--- {module} {' '.join(words)}", flush=True)
    search = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
    quiet = {"PYTHONPATH": search, "OMP_WAIT_POLICY": "PASSIVE"}  # idle threads do not spin, others may use the cores
    subprocess.run([sys.executable, "-m", f"scripts.model.{module}", *words], check=True, env=os.environ | quiet)
    minutes = (time.monotonic() - begin) / 60
    print(f"--- {module} took {minutes:.1f} min", flush=True)
    return minutes


def build(name: str, speech: Path, to: Path, until: str) -> None:
    """All steps up to `until`, those whose results are there left out."""
    size, last, begin = SIZES[name], STEPS.index(until), time.monotonic()
    to.mkdir(parents=True, exist_ok=True)
    spoken = {f: v for f, v in size.voices.items() if f in families() or (to / "synth" / f).exists()}
    print(
        f"--- voices: {', '.join(spoken)}; not on this machine: {', '.join(set(size.voices) - set(spoken)) or 'none'}"
    )
    synth, dev = [to / "synth" / f for f in spoken], to / "synth" / "dev"
    weights, decoder = to / "model" / "encoder.npz", [to / "model" / "decoder.npz", to / "model" / "tokenizer.bin"]
    one, two, three, onnx = to / "stage1.pt", to / "stage2.pt", to / "again.pt", to / "encoder.onnx"
    sentences = [r.text for r in read_manifest(speech) if r.source == "speechocean762" and r.split == "train"]
    texts = to / "plain.txt"
    texts.write_text("\n".join(sentences) + "\n", encoding="utf-8")
    if not dev.exists():
        run("sound.synth", dev, "--dev", "--clips", size.dev_clips, "--seed", 99, "--families", size.dev_families)
    for folder, (clips, seed) in zip(synth, spoken.values(), strict=True):
        if not folder.exists():
            run("sound.synth", folder, "--families", folder.name, "--clips", clips, "--seed", seed, "--texts", texts)
    if last >= 1 and not weights.exists():
        run("ear.prepare", speech, to / "model", "--more", *synth)
    common, data = [weights, speech], ["--more", *synth, "--dev-more", dev]
    if last >= 2 and not one.exists():
        run("ear.train", *common, one, *data, *size.stage1.split())
    if last >= 3 and not two.exists():
        run("ear.train", *common, two, *data, "--init", one, "--decoder", *decoder, *size.stage2.split())
    if last >= 4 and size.again and not three.exists():
        run("ear.train", *common, three, *data, "--init", two, "--decoder", *decoder, *size.again.split())
    if last >= 5 and not onnx.exists():
        run("ear.export", *((three, onnx, "--blend", two, BLEND) if size.again else (two, onnx)))
        shutil.copyfile(ROOT / "models" / "ear" / LICENCE, to / LICENCE)
    if last >= 6:
        encoders = ["packaged=packaged", f"new={onnx}"]
        run("ear.evaluate", speech, to / "figures", *encoders, "--dev-more", dev, *size.evaluate.split())
        minutes = (time.monotonic() - begin) / 60
        print(write_card(to, name, minutes))
        print(f"--- {name} build: {minutes:.1f} min; {onnx} and MODEL_CARD.md beside it")


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("size", choices=sorted(SIZES))
    p.add_argument("--speech", type=Path, required=True, help="folder of recordings with a manifest.tsv")
    p.add_argument("--to", type=Path, required=True, help="folder for all that the build makes")
    p.add_argument("--until", choices=STEPS, default=STEPS[-1])
    a = p.parse_args()
    try:
        build(a.size, a.speech.resolve(), a.to.resolve(), a.until)
    except ManifestError as problem:
        sys.exit(str(problem))
    except subprocess.CalledProcessError as problem:
        sys.exit(f"{problem.cmd[2]} failed with exit status {problem.returncode}; what it said stands above")


if __name__ == "__main__":
    main()
