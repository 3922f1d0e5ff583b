"""How many tries a measured figure takes: `scripts/bench/measured` says temperatures in several voices, in a fan at
10 dB, to the real listeners and the real dialogue, as a technician would.

A try is one time that the figure is said; 'yes' and 'no' to a read-back are none. Each figure is read back, so what is
kept although it was not said counts by itself. The endpointer has no part in it: utterances are cut as they were made.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.calibration_file import read_calibration
from assistant.devices.constrained_listener import ConstrainedListener
from assistant.devices.espeak_voices import speak
from assistant.devices.noise import make_noise, mix
from assistant.devices.vosk_listener import VoskListener
from assistant.events import Measurement, MeasurementKept, Question, WorkLaidOut, stage_of
from assistant.ports import Recogniser
from assistant.procedure.decide import begin, decide
from assistant.procedure.effects import expecting
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.session.hearing import Hearing
from assistant.session.uttered import Kept, uttered
from assistant.speech.numbers import forms
from assistant.speech.quality import measure
from assistant.speech.utterance import Utterance
from assistant.speech.vocabulary import grammar_for
from assistant.speech.voting import combine
from assistant.speech.wording import ONES
from scripts.bench.hearing import ROOT
from scripts.bench.judging import wilson

VOICES = (
    "gmw/en-us-nyc+m4 gmw/en-us gmw/en gmw/en+f3 gmw/en-029 gmw/en-gb-x-rp+f5 gmw/en-gb-scotland+f1 gmw/en-us+m3"
).split()
"""The rehearsal's own first; New York's and the Caribbean taught the ears nothing."""
FIGURES = (4, 13, 18, 23, 32, 41, 55, 69, 76, 87)
LIMITS = (-5, 90)
TRIES = 8
CLOSE = Question(name="close", phase="close", ask="Anything left?", phrase="close the joint", hold=True)


@dataclass(frozen=True)
class Measuring:
    """One figure said until it was kept: in how many tries (`TRIES` + 1 for not at all), and whether it was right."""

    voice: str
    figure: int
    tries: int
    right: bool
    said: tuple[str, ...]


def main(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(
        prog="measured", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    p.add_argument("--voices", nargs="*", default=VOICES, help="eSpeak NG voices")
    p.add_argument("--snr", type=float, default=10.0, help="dB")
    p.add_argument("--seeds", type=int, default=1, help="noises for each figure")
    p.add_argument("--models", type=Path, default=ROOT / "models")
    p.add_argument("--json", type=Path, help="file for all figures")
    a = p.parse_args(arguments)
    calibration = read_calibration(a.models / "calibration.json")
    listeners: list[Recogniser] = [
        ConstrainedListener(a.models / "ear" / "encoder.onnx"),
        VoskListener(a.models / "vosk"),
    ]
    hearing = Hearing(listeners, lambda readings, x: combine(readings, calibration, quality=measure(x)))
    found = []
    print(f"temperatures in a fan at {a.snr:g} dB; tries until one was kept")
    for voice in a.voices:
        own = [measuring(hearing, voice, f, snr_db=a.snr, seed=s) for f in FIGURES for s in range(1, a.seeds + 1)]
        found += own
        late = ", ".join(f"{m.figure}: {m.tries} ({' / '.join(m.said)})" for m in own if m.tries > 2)
        print(f"  {voice:24} {_told(own)}  {late}", flush=True)
    print(f"  {'all':24} {_told(found)}")
    hearing.close()
    if a.json:
        a.json.write_text(json.dumps([vars(m) for m in found], indent=1) + "\n", encoding="utf-8")


def _told(own: Sequence[Measuring]) -> str:
    first, second = (sum(m.tries <= most for m in own) for most in (1, 2))
    wrong = sum(m.tries <= TRIES and not m.right for m in own)
    low, high = wilson(second, len(own))
    share = f"{100 * second / len(own):.0f} % [{100 * low:.0f}-{100 * high:.0f}]"
    return f"n {len(own):3}  first {first:3}  within two {second:3} = {share}  wrong {wrong}"


def measuring(hearing: Hearing, voice: str, figure: int, *, snr_db: float, seed: int) -> Measuring:
    """Say one temperature until it is kept."""
    due = Measurement(
        name="temperature",
        phase="re-check",
        ask="Temperature at the flange?",
        quantity="temperature",
        unit="degC",
        low=Decimal(LIMITS[0]),
        high=Decimal(LIMITS[1]),
    )
    laid_out = WorkLaidOut(joint="Measured", stages=(stage_of(due), stage_of(CLOSE)))
    state = fold(State(), (laid_out,))
    state = fold(state, begin(laid_out, state))
    tries, told, turn, kept = 0, [], 0, None
    while kept is None and tries < TRIES and turn < 4 * TRIES:
        turn += 1
        text, is_try = _words(state, figure)
        tries += is_try
        sound, first, past = speak(text, voice, 160)
        samples = mix(sound, make_noise("fan", len(sound), 100 * seed + turn), snr_db)
        heard = hearing.listen(samples, grammar_for(expecting(state))).heard
        told.append(f"{text} > {heard.ranked[0].text if heard.ranked else '-'}")
        event = uttered(
            _whole(samples, first, past),
            heard,
            Kept(name=f"{turn:04d}"),
            base=0,
            state=state.dialogue,
            while_speaking=False,
        )
        events = decide(state, event)
        state = fold(state, (event, *events))
        kept = next((e for e in events if isinstance(e, MeasurementKept)), None)
    right = kept is not None and kept.value == figure and kept.unit == "degC"
    return Measuring(voice, figure, TRIES + 1 if kept is None else tries, right, tuple(told))


def _whole(samples: npt.NDArray[np.int16], first: int, past: int) -> Utterance:
    sound = measure(samples)
    return Utterance(
        samples=samples,
        at_sample=0,
        speech_start=first,
        speech_end=past,
        snr_db=sound.snr_db,
        level_dbfs=sound.level_dbfs,
        clipped=sound.clipped,
        cut=False,
        continued=False,
        holed=False,
        from_gate=False,
    )


def _words(state: State, figure: int) -> tuple[str, bool]:
    """What a person says now, and whether the figure is in it."""
    pending = state.pending
    if state.dialogue == "asking" and pending is not None and state.half is None:
        right = pending.heard.value == figure and pending.heard.unit in (None, "degC")
        return ("yes" if right else "no"), False
    if state.dialogue == "figures":
        return " ".join(ONES[int(c)] for c in str(figure)), True
    return f"{forms(Decimal(figure))[0]} degrees", True


if __name__ == "__main__":
    main()
