"""How often a session says something though nobody spoke to it: noise and unrelated talk for a long time.

    scripts/bench/reactions SPEECH TALK [--minutes 30] [--at pass question] [--near 0.3] [--json FILE]

SPEECH holds recorded noises, TALK read sentences that belong to no session; both with manifest.tsv. The session is
brought to a bolt that is due, or stands at a question, and then hears noise of changing kinds, 10 dB below a speaker at
the microphone, and talk over a third of the time: so many of it as loud as a speaker at the microphone, the rest 15 dB
fainter, as from across the room. Every prompt from then on is a reaction (a reminder too); a value that is recorded, or
a step that is passed, would be a wrong one.
"""

from __future__ import annotations

import argparse
import json
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.bolting.planning.plan import plan
from assistant.cli import house
from assistant.cli.edges import Edges
from assistant.cli.joint_work import work_at
from assistant.config.joint_file import parse_joint
from assistant.config.settings import Settings
from assistant.devices.noise import active_rms, make_noise
from assistant.events import Event, PromptSpoken, SessionOpened, UtteranceHeard, WorkLaidOut
from assistant.journal.encoding import EVENT_FORMAT
from assistant.journal.recording import MemoryStore
from assistant.ports import Block, Typed
from assistant.rehearsal.technician import Technician
from scripts.bench.corpus import RATE_HZ, Clip, load, read_corpus
from scripts.bench.endpoint_streams import noise_beds

ROOT = Path(__file__).resolve().parents[2]
LEVEL = 0.05  # root mean square of a speaker at the microphone, of full scale
NOISE_DB, FAR_DB = -10.0, -15.0
TALKED_SHARE = 1 / 3
PIECE_S = 30  # of one kind of noise
RECORDS = frozenset(
    "reading-accepted reading-kept bolt-snugged question-answered question-refused bolt-held bolt-moved name-kept"
    " measurement-kept clicked-at-setting session-closed bolt-skipped".split()
)


class Alone:
    """A microphone that answers as the simulated technician, typed, until a bolt or a question is due; then the room.

    Args:
        at: "pass" or "question".
        room: int16, 16 kHz, what is heard then.
    """

    name = "room"

    def __init__(self, at: str, room: npt.NDArray[np.int16]) -> None:
        self._technician = Technician(voice=_nobody, noise=None, snr_db=20, slips=(), seed=1)
        self.at, self._room, self.begun, self._now = at, room, 0, 0
        self.started = 0  # sample at which the room begins
        self.session: Any = None

    def read(self) -> Block | Typed | None:
        state = self.session.state
        here = state.question is not None if self.at == "question" else _due(state)
        if not self.begun and not (here and state.dialogue == "guiding"):
            self._now += RATE_HZ
            self._technician.watch(lambda: state)
            return Typed(self._technician._words(state)[0], self._now)
        if not self.begun:
            self.begun = len(self.session.recording.entries)
            self.started = self._now = max(self._now, state.prompt_end)  # typed answers do not wait for prompts
        passed = self._now - self.started
        if passed >= len(self._room):
            return None
        block = Block(self._room[passed : passed + 512], self._now)
        self._now += len(block.samples)
        return block

    def now_sample(self) -> int:
        return self._now

    def close(self) -> None:
        pass


def _due(state: Any) -> bool:
    return state.current_pass is not None and state.current_pass.kind == "pattern" and state.bolt is not None


def _nobody(_text: str) -> Any:
    raise AssertionError("the technician of this bench types")


def room(speech: Path, talk: Path, minutes: float, near: float, seed: int) -> npt.NDArray[np.int16]:
    """Noise of changing kinds with talk in it."""
    chance = np.random.default_rng(seed)
    beds = [name for names in noise_beds(read_corpus(speech), "dev").values() for name in names[:2] if name != "babble"]
    piece = PIECE_S * RATE_HZ
    sound = np.concatenate(
        [make_noise(str(chance.choice(beds)), piece, seed + n) for n in range(round(minutes * 60 / PIECE_S))]
    )
    sound *= LEVEL * 10 ** (NOISE_DB / 20)
    clips: list[Clip] = [clip for clip in read_corpus(talk).clips if clip.path.is_file()]
    at = 5 * RATE_HZ
    while True:
        said = load(clips[int(chance.integers(len(clips)))].path)
        if at + len(said) > len(sound):
            return np.rint(np.clip(sound, -0.999, 0.999) * 32767).astype(np.int16)
        level = LEVEL if chance.random() < near else LEVEL * 10 ** (FAR_DB / 20)
        sound[at : at + len(said)] += said * level / active_rms(np.rint(said * 32767).astype(np.int16))
        at += len(said) + round(len(said) * (1 / TALKED_SHARE - 1) * chance.uniform(0.3, 1.7))


def run(at: str, sound: npt.NDArray[np.int16], joint: Path, folder: Path) -> dict[str, Any]:
    """One session in that room."""
    laid_out = plan(parse_joint(joint.read_bytes(), source=str(joint)), today=house.today())
    opened = SessionOpened(
        joint=laid_out.joint.name, joint_sha256="0" * 64, plan_sha256="0" * 64, product="bench", listeners=(),
        speaker="wav", settings={},
    )  # fmt: skip
    work: WorkLaidOut = work_at(laid_out, near=joint.parent)
    parts, microphone, store = house.Parts(Settings()), Alone(at, sound), MemoryStore()
    try:
        speaker = parts.speaker("wav", folder, microphone)  # type: ignore[arg-type]
        edges = Edges(
            microphone=microphone, speaker=speaker, hearing=parts.hearing(), typed=False, real_time=False  # type: ignore[arg-type]
        )  # fmt: skip
        session = parts.session(
            recording=store, microphone=edges.microphone, speaker=edges.speaker, hearing=edges.hearing,
            watch=lambda _entries: None, closing=lambda: None, real_time=False,
        )  # fmt: skip
        microphone.session = session
        began = time.process_time()
        session.run((opened, work))
    finally:
        parts.close()
    events = [entry.event for entry in store.entries[microphone.begun :]]
    samples = [entry.sample - microphone.started for entry in store.entries[microphone.begun :]]
    kinds = Counter(event.kind for event in events)
    told = reactions(events, samples)
    hours = len(sound) / RATE_HZ / 3600
    return {
        "at": at,
        "hours": round(hours, 2),
        "heard": kinds["utterance-heard"],
        "decided": Counter(e.decision for e in events if isinstance(e, UtteranceHeard)),
        "reactions": len(told),
        "reactions_an_hour": round(len(told) / hours, 1),
        "recorded": {kind: count for kind, count in kinds.items() if kind in RECORDS},
        "causes": told,
        "processor_s": round(time.process_time() - began),
        "heard_events": [EVENT_FORMAT.encode(event)[2] for event in events if isinstance(event, UtteranceHeard)],
    }


def reactions(events: Sequence[Event], samples: Sequence[int]) -> list[dict[str, Any]]:
    """Each prompt with what led to it: what was heard last, how loud and how long, and what was made of it.

    Args:
        samples: when each event was recorded, from the room's beginning.
    """
    told: list[dict[str, Any]] = []
    cause: dict[str, Any] = {}
    for event, at in zip(events, samples, strict=True):
        if isinstance(event, UtteranceHeard):
            best = event.alternatives[0] if event.alternatives else None
            cause = {
                "decision": event.decision,
                "best": None if best is None else f"{best.kind} {best.text!r} {best.probability:.2f}",
                "listeners": dict(event.listeners),
                "free_text": event.free_text,
                "snr_db": event.snr_db,
                "lasted_s": round((event.end_sample - event.start_sample) / RATE_HZ, 2),
                "led_to": [],
            }
        elif isinstance(event, PromptSpoken):
            told.append({"at_s": round(at / RATE_HZ), "said": event.text, **(cause or {"reminder": True})})
            cause = {}
        elif cause:
            cause["led_to"].append(event.kind)
    return told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("speech", type=Path)
    parser.add_argument("talk", type=Path)
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--at", nargs="+", choices=("pass", "question"), default=["pass", "question"])
    parser.add_argument("--near", type=float, default=0.3, help="share of the talk that is right at the microphone")
    parser.add_argument("--joint", type=Path, default=ROOT / "demo_joints/north-sluice-gearbox-base.toml")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    results = []
    for at in args.at:
        sound = room(args.speech, args.talk, args.minutes, args.near, args.seed)
        with tempfile.TemporaryDirectory() as folder:
            results.append(run(at, sound, args.joint, Path(folder)))
        print(
            json.dumps({key: told for key, told in results[-1].items() if key != "heard_events"}, indent=1), flush=True
        )
    if args.json:
        args.json.write_text(json.dumps(results, indent=1), "utf-8")


if __name__ == "__main__":
    main()
