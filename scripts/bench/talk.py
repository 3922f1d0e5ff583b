"""How long the assistant talks at a joint: `scripts/bench/talk`.

Every prompt of a joint from permit to close, rendered by our own voice and measured, where each answer is right at
once and no nut moves. Waits are over at once. Sound test, names and what a person says are not in it.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from assistant.bolting.planning.plan import plan
from assistant.cli.house import voice_settings
from assistant.config.joint_file import read_joint
from assistant.config.procedure_file import procedure_for
from assistant.config.settings import Settings
from assistant.events import PromptSpoken, SpeechAdjusted
from assistant.procedure.decide import begin
from assistant.procedure.effects import effects
from assistant.procedure.evolve import fold
from assistant.procedure.state import LEVELS, State
from assistant.procedure.work import lay_out
from scripts.bench.heard_back import RATE_HZ, Voice
from scripts.bench.hearing import ROOT
from tests.procedure.demo_walks import right, step

DEMOS = sorted((ROOT / "demo_joints").glob("*.toml"))


def main(arguments: Sequence[str] | None = None) -> int:
    """Command line."""
    p = argparse.ArgumentParser(prog="talk", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("joints", nargs="*", type=Path, default=DEMOS)
    p.add_argument("--apprentice", action="store_true")
    p.add_argument("--language", default="en")
    p.add_argument("--rate", type=int, default=Settings().rate_wpm, help="words per minute")
    p.add_argument("--talk", choices=LEVELS, default="normal", help="level of talk")
    p.add_argument("--show", action="store_true", help="each prompt with its seconds")
    a = p.parse_args(arguments)
    print(f"{'joint':44} turns prompts  total s  median    90 %  longest  s a bolt")
    with tempfile.TemporaryDirectory(prefix="talk-") as folder:
        voice = Voice(Path(folder), voice_settings(Settings(language=a.language, rate_wpm=a.rate)))
        for path in a.joints:
            said, turns, visits = prompts_of(path, apprentice=a.apprentice, language=a.language, talk=a.talk)
            seconds = [len(voice.sound(text)) / RATE_HZ for text in said]
            if a.show:
                for text, length in zip(said, seconds, strict=True):
                    print(f"  {length:5.1f}  {text}")
            tenth = statistics.quantiles(seconds, n=10)[-1]
            print(
                f"{path.stem:44} {turns:5} {len(said):7} {sum(seconds):8.0f} {statistics.median(seconds):7.1f} "
                f"{tenth:7.1f} {max(seconds):8.1f} {sum(seconds) / visits:9.1f}"
            )
        voice.close()
    return 0


def prompts_of(path: Path, *, apprentice: bool, language: str, talk: str) -> tuple[list[str], int, int]:
    """Everything that is said at a joint, how often a person has to answer, and how many visits to bolts there are."""
    joint = read_joint(path, today=date.today())
    made = plan(joint, today=date.today())
    procedure = procedure_for(joint, near=path.parent)
    work = lay_out(made, procedure, apprentice=apprentice, language=language)
    state, prompts, turns = fold(State(), (SpeechAdjusted(what=talk),)), list[str](), 0
    first = (work, *begin(work, fold(state, (work,))))
    while True:
        named = any(event.kind in ("name-asked", "name-read-back") for event in first)
        breaths = () if named else effects(state, first).breaths
        state = fold(state, first)
        for said in breaths:
            prompts.append(said)
            state = fold(state, (PromptSpoken(text=said, start_sample=0, end_sample=1),))
        if state.closed:
            break
        if state.left:
            raise ValueError(f"{path}: left open")
        first = step(state, right(state))[0]
        turns += 1
    return prompts, turns, sum(len(each.bolts) for each in work.passes)


if __name__ == "__main__":
    sys.exit(main())
