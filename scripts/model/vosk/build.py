#!/usr/bin/env python3
"""Build a Vosk model of torque talk from a folder of recordings in one command.

usage: build.py small --speech FOLDER --to FOLDER    two CPU cores, at most 20 minutes: shows the chain, not its best
       build.py full  --speech FOLDER --to FOLDER    a GPU if there is one (then about an hour), else a CPU (a day)

Steps: synthetic speech, lexicon, alignments, training (frame loss, sequence loss), Kaldi files and graph, a try with
the stock wheel, development check by set, SNR and speaker, model card. Synthetic speech and training whose result is in
the folder are not done again. Into it come `model` (the Vosk folder with its card), `trained.npz`, `synth`, `figures`.

A build may be cut into machines: `--until material` packs what training needs into `material`, `learn.py` trains on
that elsewhere, and with its `trained.npz` put into the folder the same command without `--until` does the rest.
`--start FINAL_MDL` goes on from a finished model with the sequence loss alone, which makes its own alignments.
Nothing outside the folder is written: a better model is to be put into models/ by hand.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path[0] = str(ROOT)

import numpy as np  # noqa: E402
import torch  # noqa: E402

from scripts.model.sound import bank as banks  # noqa: E402
from scripts.model.sound import sentences, synth  # noqa: E402
from scripts.model.sound.manifest import ManifestError  # noqa: E402
from scripts.model.sound.material import Said, mixes, utterances  # noqa: E402
from scripts.model.sound.voices import families  # noqa: E402
from scripts.model.vosk import align, card, check, evaluate  # noqa: E402
from scripts.model.vosk.export import Manner, write_folder  # noqa: E402
from scripts.model.vosk.kept import keep, read_kept  # noqa: E402
from scripts.model.vosk.labels import Alignment  # noqa: E402
from scripts.model.vosk.learn import learn  # noqa: E402
from scripts.model.vosk.lexicon import OWN, Lexicon, chosen, joined, packaged_dictionary, read_dictionary  # noqa: E402
from scripts.model.vosk.material import Material, write_material  # noqa: E402
from scripts.model.vosk.read_back import NotOurs  # noqa: E402
from scripts.model.vosk.sizes import SIZES  # noqa: E402

DOUBTFUL = 0.4  # texts doubted more than this teach nothing
LONGEST_S, MOST_WORDS = 9.2, 16
SHIPPED = ROOT / "models" / "vosk"


@dataclass(frozen=True)
class Build:
    """What a build costs. `voices`: family -> (clips, seed)."""

    voices: dict[str, tuple[int, int]]
    share: dict[str, float]  # of sources in what is drawn, where it is another than in `SHARE` of ../sound/bank.py
    sentences: int  # random ones, for the trigram of phones, the vocabulary and the bigram
    manner: Manner
    figures: int  # utterances of the digit speaker in the check
    levels: tuple[int, ...]


BUILDS = {
    "small": Build(
        voices={"espeak": (400, 12)},
        share={"espeak": 0.14},  # nobody else says units and decimals in a small build
        sentences=6000,
        manner=Manner(scale=1.8, bits=8, unknown_phone=9.0),
        figures=40,
        levels=(99, 15, 10, 5, 0),
    ),
    "full": Build(
        voices={
            "espeak": (1200, 12),
            "flite": (300, 15),
            "festival": (160, 16),
            "joe": (450, 14),
            "hibari": (450, 13),
            "kokoro": (1350, 17),
        },
        share={
            "FSDD": 0.08,
            "AN4": 0.15,
            "speechocean762": 0.05,
            "speech-to-intent orders": 0.04,
            "telephone prompts": 0.05,
            "Speech Commands": 0.15,
            "Speech Commands figures": 0.20,
            "alphanumeric phone numbers": 0.07,
            "telephone figures": 0.07,
            "kokoro": 0.12,
            "espeak": 0.07,
        },
        sentences=20000,
        manner=Manner(scale=1.8, bits=8, unknown_phone=9.0),
        figures=60,
        levels=(99, 15, 10, 5, 0),
    ),
}


class Steps:
    """Says what begins and what it took."""

    def __init__(self) -> None:
        self.begin = self.last = time.monotonic()

    def told(self, what: str) -> None:
        """The step that ended now."""
        now = time.monotonic()
        print(f"--- {(now - self.begin) / 60:5.1f} min: {what} ({(now - self.last) / 60:.1f} min)", flush=True)
        self.last = now

    @property
    def minutes(self) -> float:
        """Since the beginning."""
        return (time.monotonic() - self.begin) / 60


def product_words() -> list[str]:
    """Words that the product may listen for, second spellings of one sound left out."""
    from assistant.speech.covering import TWINS
    from assistant.speech.vocabulary import everything

    return sorted(w for w in everything().vocabulary() if w not in TWINS)


def synthetic(build: Build, to: Path) -> tuple[list[Path], Path]:
    """Folders of clips for training and the one kept back; what is there is not spoken again."""
    spoken = {f: v for f, v in build.voices.items() if f in families() or (to / "synth" / f).exists()}
    print(f"  voices: {', '.join(spoken)}; not on this machine: {', '.join(set(build.voices) - set(spoken)) or 'none'}")
    folders, dev = [to / "synth" / f for f in spoken], to / "synth" / "dev"
    for folder, (clips, seed) in zip(folders, spoken.values(), strict=True):
        if not folder.exists():
            print(
                f"  {folder.name}: {synth.speak(folder, clips, families=[folder.name], seed=seed, dev=False)}",
                flush=True,
            )
    if not dev.exists():
        print(f"  kept back: {synth.speak(dev, 40, families=['espeak'], seed=99, dev=True)}", flush=True)
    return folders, dev


def usable(bank: banks.Bank, lexicon: Lexicon) -> np.ndarray:
    """Clips with a text that can be trusted and said: bool, shape (clips,)."""
    out = np.zeros(len(bank.text), bool)
    for i, text in enumerate(bank.text):
        words = text.split()
        short = 0 < len(words) <= MOST_WORDS and bank.speech.length[i] < LONGEST_S * banks.RATE
        out[i] = short and bank.doubt[i] <= DOUBTFUL and all(w in lexicon for w in words)
    return out


def one_digit_and_talk(speech: Path, dev: Path) -> tuple[list[check.Sound], list[check.Sound]]:
    """Clean development recordings for the try: digits, and talk without one."""
    rows = [r for r in banks.read_manifest(speech) if r.split == "dev" and r.text in sentences.ONES][::15][:30]
    digits = [Said("", "", r.text, banks.read_sound(r.path), "", None) for r in rows]
    talk = [s for s in utterances(speech, [dev], figures=0, talk=20) if s.set == "talk"][:20]
    return tuple(  # type: ignore[return-value]
        [check.Sound(s.text, np.round(np.pad(s.sound, 4800).clip(-1, 1) * 16000).astype(np.int16)) for s in part]
        for part in (digits, talk)
    )


def gather(build: Build, speech: Path, folders: list[Path], steps: Steps, *, aligned: bool) -> Material:
    """What training needs; without alignments where the network shall make them."""
    bank = banks.load(speech, "train", folders)
    bank.share = banks.SHARE | build.share
    dictionary = joined(read_dictionary(OWN), read_dictionary(packaged_dictionary(), strange="skip"))
    r = random.Random(3)
    said = [sentences.sentence(r) for _ in range(build.sentences)]
    words = {w for text in [*bank.text, *said, *product_words()] for w in text.split()}
    lexicon, missing = chosen(words, dictionary)
    print(f"  {bank}\n  {len(lexicon)} words; {len(missing)} without a pronunciation: {' '.join(missing[:12])} ...")
    used = usable(bank, lexicon)
    steps.told("recordings and lexicon")
    alignments: list[Alignment | None] = [None] * len(used)
    if aligned:
        alignments = align.align(bank, list(map(int, np.flatnonzero(used))), os.cpu_count() or 1)
        wanted, used = used.sum(), used & np.array([bool(a) for a in alignments])
        steps.told(f"alignments of {used.sum()} of {wanted} clips")
    bank.use = np.where(used, 2, 0)
    known = [s for s in said if all(w in lexicon for w in s.split())]
    return Material(bank, used, alignments, lexicon, known, card.data_table(bank, used))


def run(name: str, speech: Path, to: Path, *, start: Path | None, more: list[Path], until: str) -> None:
    """The whole build."""
    build, steps, jobs = BUILDS[name], Steps(), min(os.cpu_count() or 1, 16)
    device = "cuda" if name == "full" and torch.cuda.is_available() else "cpu"
    torch.set_num_threads(1 if device == "cpu" else 8)  # on a CPU a second process mixes
    to.mkdir(parents=True, exist_ok=True)
    model, learnt = to / "model", to / "trained.npz"
    folders, dev = synthetic(build, to)
    steps.told("synthetic speech")
    if until == "material" or not learnt.exists():
        material = gather(build, speech, [*folders, *more], steps, aligned=start is None)
        if until == "material":
            print(f"--- {to / 'material'}: {write_material(to / 'material', material)}")
            return
        keep(learnt, learn(material, SIZES[name], device, start=start, checkpoints=to / "checkpoints"))
        steps.told("training")
    kept = read_kept(learnt)
    written = write_folder(model, kept.trained, kept.lexicon, kept.sentences, build.manner)
    digits, talk = one_digit_and_talk(speech, dev)
    needed = product_words()
    checks = check.verify(model, kept.trained, kept.lexicon, build.manner, needed=needed, digits=digits, talk=talk)
    print("  " + "\n  ".join(checks), flush=True)
    steps.told("model folder written and tried")
    todo = mixes(speech, [dev], figures=build.figures, talk=20, noise=20, levels=build.levels)
    tables = evaluate.compare(todo, to / "figures", {"shipped": SHIPPED, "new": model}, jobs)
    steps.told("development check")
    card.write_card(
        model,
        size=name,
        minutes=steps.minutes,
        parameters=kept.trained.network.parameters,
        words=len(written) - 2,
        data=kept.data,
        checks=checks,
        figures=f"{tables['new']}\n\nThe model in models/vosk on the same sound:\n\n{tables['shipped']}",
    )
    print(f"--- {name} build: {steps.minutes:.1f} min; {model} with MODEL_CARD.md")


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("size", choices=sorted(BUILDS))
    p.add_argument("--speech", type=Path, required=True, help="folder of recordings with a manifest.tsv")
    p.add_argument("--to", type=Path, required=True, help="folder for all that the build makes")
    p.add_argument("--start", type=Path, help="am/final.mdl of the model to go on from")
    p.add_argument("--more", type=Path, nargs="*", default=[], help="further folders that sound/synth.py wrote")
    p.add_argument("--until", choices=("material", "end"), default="end")
    a = p.parse_args()
    try:
        run(a.size, a.speech.resolve(), a.to.resolve(), start=a.start, more=a.more, until=a.until)
    except (ManifestError, check.ModelFault, NotOurs) as problem:
        sys.exit(str(problem))


if __name__ == "__main__":
    main()
