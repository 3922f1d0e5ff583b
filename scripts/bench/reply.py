"""How fast the assistant answers, and where the time goes: `scripts/bench/reply JOINT`.

A rehearsal of the whole joint through the real loop, timed by the sample clock: the endpointer's wait is counted in
samples, so that it is the same on any machine; what is computed is counted in processor time of the thread that the
reply waits for, so that other work on the machine does not count; wall time as it was is printed beside it. `--before`
waits as it was done before the pauses of real people were measured.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import tempfile
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar

import numpy as np

from assistant.cli import house, main
from assistant.session import hearing
from assistant.session.loop import PER_MS, Session
from assistant.speech.endpoint_settings import EndpointSettings
from assistant.speech.utterance import Utterance

BEFORE_MS = {"closed": 320, "whole": 320, "open": 320, "hundreds": 896, "none": 320}


@dataclass(frozen=True)
class Answer:
    """One answered utterance, milliseconds.

    Args:
        endpoint: from the end of speech, as the endpointer found it, to its being told.
        listening: processor time of the slowest listener.
        late: by how much the verdict came after the end was told; 0 where it was read ahead in time.
        rest: processor time from there to the reply's first sound: audio and events on disk, prompt found.
        wall: the whole as it was, other work on the machine included.
        found_late: by how much the end that the endpointer found comes after the last sample of the technician's
            sound; its last syllable fades before.
    """

    endpoint: float
    listening: float
    late: float
    rest: float
    wall: float
    found_late: float

    @property
    def reply(self) -> float:
        """The whole without other work on the machine."""
        return self.endpoint + self.late + self.rest


class TimedSession(Session):
    """The session, with a clock on each of its parts."""

    answers: ClassVar[list[Answer]] = []
    settings: ClassVar[EndpointSettings | None] = None

    def __init__(self, **parts: Any) -> None:
        super().__init__(**parts, endpoint=self.settings)

    def _ended(self, utterance: Utterance) -> None:
        now, known = self._now, len(self.turns)
        spent = time.thread_time()
        super()._ended(utterance)
        spent = 1000 * (time.thread_time() - spent)
        if len(self.turns) == known:
            return
        assert self._reading.latest is not None
        verdict = self._reading.latest
        listening = verdict.listened.processor_ms
        late = max(0.0, (verdict.begun_at - now) / PER_MS + listening)
        wait = (now - utterance.speech_end) / PER_MS
        said = [one.end_sample for one in self._microphone.said if one.start_sample < utterance.speech_end]  # type: ignore[attr-defined]
        found = (utterance.speech_end - max(said, default=utterance.speech_end)) / PER_MS
        self.answers.append(Answer(wait, listening, late, spent, self.turns[-1].reply_ms, found))


def rehearse(joint: Path, *, snr: float, seed: int, sessions: Path) -> dict[str, Any]:
    """The figures of one rehearsal; its answers are added to `TimedSession.answers`."""
    out = io.StringIO()
    command = ["rehearse", str(joint), "--snr", str(snr), "--seed", str(seed), "--fast", "--json"]
    with contextlib.redirect_stdout(out):
        main.main([*command, "--sessions", str(sessions)])
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


def spread(values: Sequence[float]) -> str:
    """Median and 95 % of milliseconds."""
    p50, p95 = np.percentile(values, [50, 95])
    return f"p50 {p50:4.0f}  p95 {p95:4.0f}"


def run(arguments: Sequence[str] | None = None) -> None:
    """Command line."""
    p = argparse.ArgumentParser(prog="reply", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("joint", type=Path, nargs="+", help="joint files")
    p.add_argument("--snr", type=float, default=10.0)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--before", action="store_true")
    p.add_argument("--pause", type=int, help="ms of silence from which it is read ahead")
    p.add_argument("--json", type=Path)
    a = p.parse_args(arguments)
    if a.before:
        hearing.NUMBER_MS.update(BEFORE_MS)
    if a.pause:
        TimedSession.settings = EndpointSettings(pause_ms=a.pause)
    house.Session = TimedSession  # type: ignore[attr-defined]  # the one place that makes sessions
    with tempfile.TemporaryDirectory(prefix="reply-") as folder:
        figures = [rehearse(joint, snr=a.snr, seed=a.seed, sessions=Path(folder)) for joint in a.joint]
    answers = TimedSession.answers
    print(f"{len(answers)} answers, {a.snr:g} dB; load of the machine {os.getloadavg()[0]:.1f}")
    print(f"reply, without other work   {spread([x.reply for x in answers])}   (budget 300, 600)")
    print(f"reply, as it was            {spread([x.wall for x in answers])}")
    for name in ("endpoint", "listening", "late", "rest", "found_late"):
        print(f"  {name:10}                {spread([getattr(x, name) for x in answers])}")
    for key in ("complete", "spoken", "accepted", "accepted_at_once", "asked", "wrong_accepted", "turns"):
        print(f"  {key}: {[f.get(key) for f in figures]}")
    if a.json:
        document = {"figures": figures, "answers": [asdict(x) for x in answers]}
        a.json.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    run()
