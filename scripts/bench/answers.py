"""Short answers of people at checks and hold points: `scripts/bench/answers YES NO [--noise FOLDER] ...`.

Every recording of a folder is one spoken word. It is heard as the session would hear it at a check that a yes passes,
at a hold point, and where something was just read back as a question; what would be decided is counted. The gravest is
a 'no' that is taken as 'yes', or that passes anything.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.cli import house
from assistant.config.settings import Settings
from assistant.devices.audio_file import read_audio
from assistant.speech.vocabulary import Expecting, grammar_for

Sound = npt.NDArray[np.float64]
MARGIN = 8000  # samples of hush before and behind the word
STATES = {
    "check that a yes passes": Expecting(
        values=False, yes_no=False, bare=("yes", "no"), phrases=("locked out and tried", "close the joint")
    ),
    "hold point": Expecting(
        values=False,
        yes_no=False,
        bare=("yes", "no"),
        phrases=("locked out and tried", "not locked out and tried", "not locked out", "not tried", "close the joint"),
    ),
    "question read back": Expecting(values=True, yes_no=True),
    "in a pass": Expecting(values=True, yes_no=False, bare=("no",)),
}


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("folders", type=Path, nargs="+", help="folders of recordings; the folder's name is the word said")
    p.add_argument("--noise", type=Path, help="folder of noises; left out: as recorded")
    p.add_argument("--snr", type=float, default=10.0, help="dB of the word over the noise")
    p.add_argument("--people", type=int, default=300, help="recordings of each word, each of another person")
    p.add_argument("--skip", type=int, default=0, help="people to leave out, who were heard before")
    p.add_argument("--states", nargs="*", choices=list(STATES), default=list(STATES))
    p.add_argument("--seed", type=int, default=1)
    a = p.parse_args(arguments)
    chance = random.Random(a.seed)
    noises = sorted(a.noise.glob("*.*")) if a.noise else []
    with closing(house.Parts(Settings())) as parts:
        hearing = parts.hearing()
        for folder in a.folders:
            files = _of_different_people(sorted(folder.glob("*.*")), a.skip, a.people, chance)
            clips = [_mixed(path, chance.choice(noises) if noises else None, a.snr, chance) for path in files]
            for state in a.states:
                grammar = grammar_for(STATES[state])
                came: Counter[str] = Counter()
                for clip in clips:
                    heard = hearing.listen(clip, grammar).heard
                    best = heard.ranked[0] if heard.ranked else None
                    name = getattr(best.meaning, "name", type(best.meaning).__name__) if best is not None else "-"
                    came[f"{heard.decision} {name}"] += 1
                said = ", ".join(f"{what} {count}" for what, count in came.most_common(9))
                print(f"'{folder.name}' of {len(clips)} people, {state}: {said}", flush=True)


def _of_different_people(files: Sequence[Path], skip: int, most: int, chance: random.Random) -> list[Path]:
    """One recording a person; the name of a recording begins with the person's."""
    of: dict[str, Path] = {}
    for path in chance.sample(list(files), len(files)):
        of.setdefault(path.stem.split("_")[0], path)
    return list(of.values())[skip : skip + most]


def _mixed(path: Path, noise: Path | None, snr_db: float, chance: random.Random) -> npt.NDArray[np.int16]:
    word = np.pad(read_audio(path).samples / 32768.0, MARGIN)
    if noise is not None:
        around = read_audio(noise).samples / 32768.0
        start = chance.randrange(max(1, len(around)))
        around = np.resize(np.roll(around, -start), len(word))
        loud = np.sort(np.square(word))[-len(word) // 4 :].mean()
        word = word + around * np.sqrt(loud / max(np.square(around).mean(), 1e-9) * 10 ** (-snr_db / 10))
    peak = max(1.0, float(np.abs(word).max()) / 0.99)
    return np.rint(word / peak * 32767).astype(np.int16)


if __name__ == "__main__":
    main()
