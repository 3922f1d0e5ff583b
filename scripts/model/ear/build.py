"""Build the ear from a folder of recordings in one command.

usage: build.py small SPEECH_FOLDER WORK_FOLDER      two CPU cores, meant for 20 minutes
       build.py full  SPEECH_FOLDER WORK_FOLDER      a GPU with 16 CPU cores (about 25 minutes), an hour of one CPU core for the voices

Steps: synthetic voices, the packaged weights as numpy files, stage 1, stage 2, export, development check of the packaged encoder and of the new
one. A step whose result is in WORK_FOLDER is not done again. `full` may be cut into two machines: `--until prepare` on one with the
voices and the wheel, the rest on the other, with WORK_FOLDER carried over. Nothing outside WORK_FOLDER is written.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
BLEND = 0.25  # share of stage 1 in the exported weights
STEPS = ("voices", "prepare", "stage1", "stage2", "export", "evaluate")


@dataclass(frozen=True)
class Size:
    """What a build costs. `voices`: family -> (clips, seed). Times in seconds."""

    voices: dict[str, tuple[int, int]]
    dev_families: str
    dev_clips: int
    stage1: list[str]
    stage2: list[str]
    evaluate: list[str]


SIZES = {
    "small": Size(
        {"espeak": (280, 2)}, "espeak", 40,
        "--seconds 300 --batch 36 --checks 1 --mean 0.98 --threads 2 --device cpu".split(),
        "--seconds 330 --batch 36 --checks 1 --mean 0.98 --threads 2 --device cpu --lr 1.5e-4 --wrongs 3 --ways 2 --most 12".split(),
        "--every 12 --jobs 2".split(),
    ),
    "full": Size(
        {"espeak": (900, 2), "hibari": (450, 3), "joe": (450, 4), "flite": (300, 5), "festival": (160, 6), "kokoro": (1350, 7)}, "espeak,kokoro", 160,
        "--seconds 240 --batch 480 --workers 6 --lr 6e-4".split(),
        "--seconds 490 --batch 480 --workers 14 --lr 3e-4 --low -6 --deep 0.25 --most 96".split(),
        "--jobs 14".split(),
    ),
}


def run(script: str, *arguments: object) -> None:
    """Run one of the scripts of this folder; its failure ends the build."""
    begin = time.time()
    print(f"--- {script} {' '.join(str(a) for a in arguments)}", flush=True)
    subprocess.run([sys.executable, str(HERE / script), *map(str, arguments)], check=True)
    print(f"--- {script} took {(time.time() - begin) / 60:.1f} min", flush=True)


def plain_sentences(speech: Path, out: Path) -> Path:
    """The read sentences of the speech folder's train split, as texts for the voices."""
    lines = (speech / "manifest.tsv").read_text(encoding="utf8").splitlines()
    head = lines[0].split("\t")
    rows = (dict(zip(head, line.split("\t"))) for line in lines[1:])
    out.write_text("\n".join(r["text"] for r in rows if r["source"] == "speechocean762" and r["split"] == "train") + "\n", encoding="utf8")
    return out


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("size", choices=sorted(SIZES))
    p.add_argument("speech", type=Path)
    p.add_argument("work", type=Path)
    p.add_argument("--until", choices=STEPS, default=STEPS[-1])
    a = p.parse_args()
    size, work = SIZES[a.size], a.work
    if not (a.speech / "manifest.tsv").is_file():
        sys.exit(f"{a.speech}: no manifest.tsv there; give the folder of recordings described in README.md")
    work.mkdir(parents=True, exist_ok=True)
    last = STEPS.index(a.until)
    synth, dev = [work / "synth" / f for f in size.voices], work / "synth" / "dev"
    weights, decoder = work / "model" / "encoder.npz", [work / "model" / "decoder.npz", work / "model" / "tokenizer.bin"]
    one, two, onnx = work / "stage1.pt", work / "stage2.pt", work / "encoder.onnx"
    texts = plain_sentences(a.speech, work / "plain.txt")
    if not dev.exists():
        run("synth.py", dev, "--dev", "--clips", size.dev_clips, "--seed", 99, "--families", size.dev_families)
    for folder, (clips, seed) in zip(synth, size.voices.values()):
        if not folder.exists():
            run("synth.py", folder, "--families", folder.name, "--clips", clips, "--seed", seed, "--texts", texts)
    if last >= 1 and not weights.exists():
        run("prepare.py", a.speech, work / "model", "--more", *synth)
    common = [weights, a.speech]
    data = ["--more", *synth, "--dev-more", dev]
    if last >= 2 and not one.exists():
        run("train.py", *common, one, *data, *size.stage1)
    if last >= 3 and not two.exists():
        run("train.py", *common, two, *data, "--init", one, "--decoder", *decoder, *size.stage2)
    if last >= 4 and not onnx.exists():
        run("export.py", two, onnx, "--blend", one, BLEND)
    if last >= 5:
        run("evaluate.py", a.speech, work / "figures", "packaged=packaged", f"new={onnx}", "--dev-more", dev, *size.evaluate)


if __name__ == "__main__":
    main()
