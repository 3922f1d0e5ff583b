"""`assistant guide` in wall-clock time through PortAudio, ALSA and a sound server; a technician answers aloud.

    scripts/bench/live --snr 20 10 5 [--minutes 4] [--joint FILE] [--people SPEECH_FOLDER] [--headset] [--echo 10]
        [--stop-every 3] [--json FILE]

The technician is the rehearsal's; it sees the journal and hears the loudspeaker, answers 0.2 to 1.5 s after a prompt,
and says it again after 5 s of silence. Everything is measured from one recording of both streams. Reply: last sound of
the clean utterance, found in the microphone's stream, to the first sound of the loudspeaker. Prompts: what sounded
against what was rendered. First answers: those that follow a prompt, not their repetitions.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from pathlib import Path
from queue import SimpleQueue
from typing import IO, Any

import numpy as np
import numpy.typing as npt
import soxr

from assistant.cli import house
from assistant.config.settings import Settings
from assistant.devices.espeak_voices import speak, speech_edges
from assistant.devices.noise import make_noise
from assistant.devices.prompt_cache import PromptCache
from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer
from assistant.devices.wav_file import write_wav
from assistant.events import Event, Measured, Pass, PromptSpoken, UtteranceHeard
from assistant.journal.encoding import EVENT_FORMAT
from assistant.ports import Block, Spoken
from assistant.procedure.evolve import fold
from assistant.procedure.state import State
from assistant.rehearsal.technician import Technician
from assistant.speech.wording import ONES
from scripts.bench.corpus import load
from scripts.bench.sound_room import BLOCK, NEEDED, RATE_HZ, Room, missing, open_room, samples

ROOT = Path(__file__).resolve().parents[2]
SOUNDS = 30  # int16 amplitude from which the loudspeaker sounds: prompts are rendered, silence is zeros
RECORDED = frozenset(
    "reading-accepted reading-kept bolt-snugged question-answered question-refused bolt-held bolt-moved name-kept"
    " measurement-kept clicked-at-setting resumed stopped paused session-closed".split()
)
ASKED = frozenset(
    "reading-doubted confirmation-doubted choice-offered reading-outside reading-impossible command-doubted"
    " figures-asked name-asked name-read-back".split()
)
Floats = npt.NDArray[np.float64]


class Figures:
    """Readings in the voices of people: recordings of single figures, one person for a reading, a short pause between.

    Args:
        folder: recordings as `digits/PERSON/FIGURE_*.flac`; people and takes are drawn by the seed.
    """

    def __init__(self, folder: Path, seed: int) -> None:
        self._people = sorted(each for each in (folder / "digits").iterdir() if each.is_dir())
        self._chance = np.random.default_rng(seed)

    def said(self, text: str) -> npt.NDArray[np.int16] | None:
        """The figures in a row, int16 at 16 kHz; None where there are other words."""
        words = text.split()
        if not words or any(word not in ONES[:10] for word in words):
            return None
        person = self._people[int(self._chance.integers(len(self._people)))]
        pieces: list[npt.NDArray[np.int16]] = []
        for word in words:
            takes = sorted(person.glob(f"{ONES.index(word)}_*.flac"))
            sound = np.rint(load(takes[int(self._chance.integers(len(takes)))]) * 32767).astype(np.int16)
            first, past = speech_edges(sound, below_db=35.0)
            pieces += [sound[first:past], np.zeros(round(self._chance.uniform(0.05, 0.2) * 16_000), np.int16)]
        return np.concatenate(pieces[:-1])


class Worker(Technician):
    """The rehearsal's technician in a real room: renders beside, and never talks over a prompt unless told to."""

    def __init__(
        self,
        *,
        voice: str,
        snr_db: float,
        noise: str,
        seed: int,
        reaction_s: tuple[float, float],
        people: Path | None = None,
    ) -> None:
        bed = make_noise(noise, 60 * 16_000, seed) if noise != "none" else None
        self._figures = Figures(people, seed) if people else None

        def said(text: str) -> tuple[npt.NDArray[np.int16], int, int]:
            spoken = self._figures.said(text) if self._figures else None
            return (spoken, 0, len(spoken)) if spoken is not None else speak(text, voice, 150)

        super().__init__(voice=said, noise=bed, snr_db=snr_db, slips=(), seed=seed)
        self._reaction_s = reaction_s
        self._rendering: tuple[str, Measured | None, Future[Any]] | None = None
        self._renders = ThreadPoolExecutor(max_workers=1)
        self.clean: list[Floats] = []

    def _say(self, reading: Measured, state: State, item: Pass) -> str:
        """People of the folder said single figures: so the reading is said by its figures."""
        if self._figures is None:
            return super()._say(reading, state, item)
        return " ".join("point" if c == "." else ONES[int(c)] for c in f"{reading.value.normalize():f}")

    def hears(self, spoken: Spoken) -> None:
        del spoken
        self._due = self._now + round(self._chance.uniform(*self._reaction_s) * 16_000)

    def wait(self, seconds: float) -> None:
        """Somebody else speaks, or it is too early: at least so long from now."""
        self._due = max(self._due, self._now + round(seconds * 16_000))

    def read(self) -> Block | None:
        if self._rendering is not None and self._rendering[2].done():
            (text, reading, done), self._rendering = self._rendering, None
            sound, first, past = done.result()
            self._place(self._scaled(sound[first:past]), text, reading)
        self.heard.clear()  # the room is recorded; nobody needs this
        return super().read()

    @property
    def silent(self) -> bool:
        """Nothing of its own sounds."""
        return not self._sound

    def say(self, text: str) -> None:
        """Say something of one's own."""
        self._speak(text, None)

    def _speak(self, text: str, reading: Measured | None) -> None:
        self._rendering = (text, reading, self._renders.submit(self._voice, text))
        self._due = self._now + 60 * 16_000

    def _place(self, sound: Floats, text: str, reading: Measured | None) -> None:
        super()._place(sound, text, reading)
        self.clean.append(sound)


@dataclass
class Turn:
    """One utterance of the technician and what became of it; seconds on the recording's clock. `parts_ms` of the reply:
    until the end that the endpointer found, from there until it is on record, from there until the reply sounds.
    """

    text: str
    start_s: float
    end_s: float
    first: bool  # follows a prompt; else a repetition
    reading: str = ""
    under_prompt: bool = False
    reply_ms: float | None = None
    parts_ms: tuple[float, float, float] | None = None
    became: str = "unheard"
    wrong: bool = False
    heard: str = ""


@dataclass
class Run:
    """A session as recorded from outside."""

    room: npt.NDArray[np.int16]  # shape (n, 2): microphone, loudspeaker; 48 kHz
    events: list[Event]
    said: list[tuple[float, bool, bool, str, str]]  # about when, first, under a prompt, text, reading
    clean: list[Floats]
    started: float
    recorded: list[int]  # sample at which each event was recorded
    prompts: Callable[[str], npt.NDArray[np.int16]]  # text -> its sound at 48 kHz
    memory_mb: list[float] = field(default_factory=list)
    exit_code: int | None = None
    errors: str = ""


def hold(room: Room, args: argparse.Namespace, snr_db: float, *, log: Path) -> Run:
    """Run one session and record it."""
    room.settings(*(["headset = true"] if args.headset else []), *args.setting)
    worker = Worker(
        voice=args.voice,
        snr_db=snr_db,
        noise=args.noise,
        seed=args.seed,
        reaction_s=tuple(args.reaction),
        people=args.people,
    )
    journal = Journal(room.folder / "sessions")
    worker.watch(lambda: journal.state)
    command = [sys.executable, "-m", "assistant", "guide", str(args.joint), "--date", "2026-11-25", "--new"]
    run = Run(np.zeros((0, 2), np.int16), [], [], worker.clean, 0.0, [], _rendered(room))
    pieces: list[npt.NDArray[np.int16]] = []
    with room.streams() as (ear, mouth), log.open("wb") as told:
        run.started = time.time()
        coming: SimpleQueue[npt.NDArray[np.int16]] = SimpleQueue()
        threading.Thread(target=_listen, args=(ear, coming), daemon=True).start()
        process = subprocess.Popen(
            command, env=room.env, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=told, stderr=subprocess.STDOUT,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )  # fmt: skip
        prompts = 0
        quiet_blocks, loud_blocks = 99, 0
        spoke = answers = 0
        worker.wait(3600)
        answered = True
        before = 0  # answers to the sound test, which is not on record
        try:
            while process.poll() is None and time.time() - run.started < 60 * args.minutes:
                heard = coming.get()
                pieces.append(heard)
                block = worker.read()
                if not (
                    coming.qsize() > 3 and worker.silent
                ):  # this loop was late: what is put in now comes late for good
                    mouth.write(block.samples.tobytes() if block is not None else bytes(1024))
                    mouth.flush()
                sounds = bool(np.abs(heard[:, 1].astype(np.int32)).max(initial=0) > SOUNDS)
                quiet_blocks, loud_blocks = (0, loud_blocks + 1) if sounds else (quiet_blocks + 1, loud_blocks)
                if quiet_blocks > 25:
                    loud_blocks = 0
                under = sounds and loud_blocks == 31 and args.stop_every and (prompts + 1) % args.stop_every == 0
                if under:
                    worker.say("stop")
                elif quiet_blocks < 7:
                    worker.wait(0.3)
                if not journal.events and quiet_blocks == 25 and prompts == 0 and worker.silent and len(pieces) > 50:
                    worker.say("one two")
                if len(worker.said) > spoke and not journal.events:
                    before = spoke = len(worker.said)
                elif len(worker.said) > spoke:
                    mine = worker.said[-1]
                    first, answered = not answered, True
                    run.said.append((len(pieces) * BLOCK / RATE_HZ, first, mine.text == "stop", mine.text,
                                     str(mine.reading.value) if mine.reading else ""))  # fmt: skip
                    spoke = len(worker.said)
                    answers += first
                for event in journal.look() if len(pieces) % 2 == 0 else ():
                    if isinstance(event, PromptSpoken):
                        prompts += 1
                        answered = False
                        worker.hears(Spoken(0, 0))
                if len(pieces) % 150 == 0:
                    run.memory_mb.append(_memory_mb(process.pid))
                if journal.state.closed or (args.answers and answers >= args.answers and quiet_blocks > 60):
                    break
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGINT)
            try:
                run.exit_code = process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
    run.room, run.clean = np.concatenate(pieces), worker.clean[before:]
    journal.look()
    run.events, run.recorded = journal.events, journal.recorded
    run.errors = log.read_text("utf-8", "replace")
    return run


def _listen(ear: IO[bytes], coming: SimpleQueue[npt.NDArray[np.int16]]) -> None:
    """Empty the recorder's pipe at once: what it cannot hand over is lost, and the recording's clock with it."""
    while len(raw := ear.read(BLOCK * 4)) == BLOCK * 4:
        coming.put(samples(raw, 2).copy())


class Journal:
    """The newest session's journal, read on as it grows: no more than a moment at a time, for sound does not wait."""

    def __init__(self, sessions: Path) -> None:
        self._sessions, self._known = sessions, set(sessions.glob("*"))
        self.events: list[Event] = []
        self.recorded: list[int] = []
        self.state = State()
        self._read = 0

    def look(self) -> list[Event]:
        """Events that are new."""
        new: list[Event] = []
        for path in set(self._sessions.glob("*/journal.jsonl")):
            if path.parent in self._known or path.stat().st_size == self._read:
                continue
            with path.open("rb") as journal:
                journal.seek(self._read)
                raw = journal.read()
            whole = raw[: raw.rfind(b"\n") + 1]
            self._read += len(whole)
            for line in whole.splitlines():
                record = json.loads(line)
                self.recorded.append(int(record["sample"]))
                new.append(EVENT_FORMAT.decode(record["kind"], record["version"], record["payload"], where="journal"))
        self.events += new
        self.state = fold(self.state, new)
        return new


def _rendered(room: Room) -> Callable[[str], npt.NDArray[np.int16]]:
    voice = Pyttsx3Renderer(house.voice_settings(Settings()))
    cache = PromptCache(voice, room.folder / "home/.cache/bolting-assistant/prompts")

    def sound(text: str) -> npt.NDArray[np.int16]:
        rendered, rate = cache.sound(text)
        return np.rint(soxr.resample(rendered.astype(np.float64), rate, RATE_HZ)).astype(np.int16)

    return sound


def _memory_mb(pid: int) -> float:
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    except OSError:
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


# ------------------------------------------------------------------------------------------------ what it came to
def turns(run: Run) -> list[Turn]:
    """Each utterance placed in the recording, with its reply and what the journal made of it."""
    air, speaker = run.room[:, 0].astype(np.float64), run.room[:, 1]
    loud = np.flatnonzero(np.abs(speaker.astype(np.int32)) > SOUNDS)
    onsets = loud[np.r_[True, np.diff(loud) > 0.3 * RATE_HZ]] if len(loud) else loud
    found: list[Turn] = []
    nexts = [about for about, *_ in run.said[1:]] + [len(air) / RATE_HZ]
    for (about, first, under, text, reading), next_s, clean in zip(run.said, nexts, run.clean, strict=False):
        at = place(air, soxr.resample(clean, 16_000, RATE_HZ), round(about * RATE_HZ), round(next_s * RATE_HZ))
        end = at + len(clean) * 3
        found.append(Turn(text, at / RATE_HZ, end / RATE_HZ, first, reading, under))
    while found and found[-1].end_s > len(air) / RATE_HZ - 3.0:
        found.pop()  # the run ended before an answer could come
    offset_s = _offset_s(run, found)
    for index, turn in enumerate(found):
        until = found[index + 1].start_s if index + 1 < len(found) else 1e9
        later = onsets[onsets > turn.end_s * RATE_HZ]
        if len(later) and later[0] / RATE_HZ < min(until, turn.end_s + 4.5):
            turn.reply_ms = 1000 * (later[0] / RATE_HZ - turn.end_s)
            turn.parts_ms = _parts(run, turn, offset_s)
        _became(turn, _between(run.events, turn, until, offset_s))
    return found


def _parts(run: Run, turn: Turn, offset_s: float) -> tuple[float, float, float] | None:
    """See `Turn`."""
    assert turn.reply_ms is not None
    for event, at in zip(run.events, run.recorded, strict=True):
        if isinstance(event, UtteranceHeard):
            end_s, recorded_s = event.end_sample / 16_000 + offset_s, at / 16_000 + offset_s
            if event.start_sample / 16_000 + offset_s < turn.end_s < recorded_s:
                found, taken = 1000 * (end_s - turn.end_s), 1000 * (recorded_s - end_s)
                return found, taken, turn.reply_ms - found - taken
    return None


def place(air: Floats, clean: Floats, about: int, before: int) -> int:
    """First sample of `clean` in the microphone's stream near `about`, sooner than `before`, where the next was said.

    One voice says a word in the same samples each time: the next 'yes' fits as well as this one.
    """
    low = max(0, about - RATE_HZ // 4)
    part = air[low : max(low, min(about + 3 * RATE_HZ, before)) + len(clean)]
    return low + _lag(part, clean)


PLACED = 12  # prompts tell where the session's clock lies; so many do
COARSE = 6  # every sixth sample is enough to find a prompt


def _offset_s(run: Run, found: Sequence[Turn]) -> float:
    """Second of the recording at which the session's clock began: from where prompts lie on both, and then, more
    closely, from where utterances do. Utterances alone cannot tell: a few of them fit by chance.
    """
    near = _offset_by_prompts_s(run)
    heard = [event for event in run.events if isinstance(event, UtteranceHeard)]
    apart = [t.start_s - h.start_sample / 16_000 for t in found for h in heard]
    close = [each for each in apart if near is None or abs(each - near) < 0.3]
    if not close:
        return near or 0.0
    counts = Counter(round(each, 1) for each in close)
    best = counts.most_common(1)[0][0]
    return float(np.median([each for each in close if abs(each - best) < 0.2]))


def _offset_by_prompts_s(run: Run) -> float | None:
    """None where no prompt sounded whole."""
    speaker = run.room[::COARSE, 1].astype(np.float64)
    spoken = [e for e in run.events if isinstance(e, PromptSpoken)]
    often = Counter(e.text for e in spoken)
    whole = [e for e in spoken if e.whole and not e.cut_short and e.times == often[e.text] == 1]
    apart = list[float]()
    for event in whole[:: max(1, len(whole) // PLACED)][:PLACED]:
        meant = run.prompts(event.text)[::COARSE].astype(np.float64)
        if len(meant) < len(speaker):
            apart.append(_lag(speaker, meant) * COARSE / RATE_HZ - event.start_sample / 16_000)
    return float(np.median(apart)) if apart else None


def _between(events: Sequence[Event], turn: Turn, until_s: float, offset_s: float) -> list[Event]:
    """Events that the utterance led to: those after what was heard while it sounded, up to the next that was heard."""
    mine: list[Event] = []
    taking = False
    for event in events:
        if isinstance(event, UtteranceHeard):
            start, end = event.start_sample / 16_000 + offset_s, event.end_sample / 16_000 + offset_s
            taking = start < turn.end_s and end > turn.start_s and start < until_s
        if taking:
            mine.append(event)
    return mine


def _became(turn: Turn, events: Sequence[Event]) -> None:
    kinds = {event.kind for event in events}
    heard = [event for event in events if isinstance(event, UtteranceHeard)]
    turn.heard = "; ".join(f"{h.decision} {dict(h.listeners)}" for h in heard)
    if kinds & RECORDED:
        turn.became = "taken"
    elif kinds & ASKED:
        turn.became = "asked"
    elif heard:
        turn.became = "not understood"
    for event in events:
        achieved = getattr(event, "achieved", None)
        if turn.reading and isinstance(achieved, Measured) and not getattr(event, "confirmed_by", ""):
            turn.wrong |= abs(float(achieved.value) - float(turn.reading)) > 1e-6


CHUNK = RATE_HZ // 5
IN_STEP = RATE_HZ * 6 // 100  # a chunk that sounds later or sooner than this against the others is not in its place


def prompts(run: Run, found: Sequence[Turn]) -> tuple[int, list[str], list[float]]:
    """How many prompts were spoken; those said once of which less than 90 % sounded in its place: what was left out and
    what came late because of a hole, is missing alike; and by how much later than recorded the others sounded, ms.
    """
    offset = _offset_s(run, found)
    speaker = run.room[:, 1].astype(np.float64)
    cut, late_ms, count = list[str](), list[float](), 0
    for event in run.events:
        if not isinstance(event, PromptSpoken) or event.cut_short:
            continue
        first = round((event.start_sample / 16_000 + offset) * RATE_HZ)
        meant = run.prompts(event.text).astype(np.float64)
        if first < 0 or first + len(meant) > len(speaker):
            continue
        count += 1
        before = min(first, RATE_HZ // 2)
        heard = speaker[first - before : first + len(meant) + RATE_HZ]
        share = sounded(heard, meant)
        if share >= 0.9:
            late_ms.append(1000 * (_lag(heard, meant) - before) / RATE_HZ)
        elif event.times == 1:
            cut.append(f"{event.text[:40]!r}: {share:.0%} sounded, whole {event.whole}")
    return count, cut, late_ms


def sounded(heard: Floats, meant: Floats) -> float:
    """The share of a prompt's loud fifths of a second that are in what was heard, each where it belongs."""
    at = _lag(heard, meant)
    loud = [n for n in range(0, len(meant) - CHUNK, CHUNK) if np.abs(meant[n : n + CHUNK]).max() > 10 * SOUNDS]
    good = 0
    for n in loud:
        piece = meant[n : n + CHUNK]
        low = max(0, at + n - IN_STEP)
        there = heard[low : at + n + CHUNK + IN_STEP]
        if len(there) < CHUNK:
            continue
        lag = _lag(there, piece)
        good += max(_likeness(there[lag : lag + CHUNK], piece), _likeness(heard[at + n : at + n + CHUNK], piece)) > 0.7
    return good / max(1, len(loud))


def _likeness(heard: Floats, meant: Floats) -> float:
    meant = meant[: len(heard)]
    return float(heard @ meant / (np.linalg.norm(heard) * np.linalg.norm(meant) + 1e-9))


def _lag(heard: Floats, sought: Floats) -> int:
    """Where `sought` lies in what was heard."""
    size = 1 << (len(heard) + len(sought)).bit_length()
    product = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(sought, size)), size)
    return int(np.argmax(product[: max(1, len(heard) - len(sought) + 1)]))


def figures(run: Run, found: Sequence[Turn]) -> dict[str, Any]:
    """The table's figures of one run."""
    firsts = [t for t in found if t.first and not t.under_prompt]
    replies = [t.reply_ms for t in found if t.reply_ms is not None and not t.under_prompt]
    parts = [t.parts_ms for t in found if t.parts_ms is not None and not t.under_prompt]
    said, cut, late_ms = prompts(run, found)
    stops = [t for t in found if t.under_prompt]
    events = run.events
    return {
        "seconds": round(len(run.room) / RATE_HZ),
        "answers": len(found),
        "first_answers": len(firsts),
        "first_taken": sum(t.became == "taken" for t in firsts),
        "first_asked": sum(t.became == "asked" for t in firsts),
        "first_not_understood": sum(t.became == "not understood" for t in firsts),
        "first_unheard": sum(t.became == "unheard" for t in firsts),
        "readings": sum(bool(t.reading) for t in found),
        "wrong": sum(t.wrong for t in found),
        "reply_ms": {f"p{q}": round(float(np.percentile(replies, q))) for q in (5, 50, 95)} if replies else None,
        "reply_parts_ms": [round(float(np.median(each))) for each in zip(*parts, strict=True)] if parts else None,
        "prompts": said,
        "prompts_cut": cut,
        "prompts_later_than_recorded_ms": [round(float(np.percentile(late_ms, q))) for q in (5, 50, 95)]
        if late_ms
        else None,
        "prompts_said_again": sum(isinstance(e, PromptSpoken) and e.times > 1 for e in events),
        "stops_under_prompt": [len(stops), sum(t.became == "taken" for t in stops)],
        "sound_lost": sum(e.kind == "sound-lost" for e in events),
        "memory_mb": [round(run.memory_mb[n]) for n in np.linspace(0, len(run.memory_mb) - 1, 5).astype(int)]
        if run.memory_mb
        else None,
        "library_lines": sum("ALSA lib" in line or "pa_linux_alsa" in line for line in run.errors.splitlines()),
        "exit_code": run.exit_code,
        "load": round(os.getloadavg()[0], 1),
        "missed": [f"{t.text} -> {t.became}: {t.heard}" for t in found if t.became not in ("taken", "asked")],
    }


def arguments(given: Sequence[str] | None = None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--snr", type=float, nargs="+", default=[20.0, 10.0, 5.0], metavar="DB")
    parser.add_argument("--noise", default="fan")
    parser.add_argument("--minutes", type=float, default=4.0, help="of each run, at most")
    parser.add_argument("--answers", type=int, default=0, help="end a run after so many first answers")
    parser.add_argument("--joint", type=Path, default=ROOT / "demo_joints/north-sluice-gearbox-base.toml")
    parser.add_argument("--voice", default="gmw/en-us")
    parser.add_argument("--people", type=Path, metavar="FOLDER", help="readings by figures that people recorded")
    parser.add_argument("--reaction", type=float, nargs=2, default=(0.2, 1.5), metavar="S")
    parser.add_argument("--server", choices=tuple(NEEDED), default="pulseaudio")
    parser.add_argument("--headset", action="store_true", help="settings say that the microphone hears no loudspeaker")
    parser.add_argument("--echo", type=float, metavar="DB", help="the microphone hears the loudspeaker so much quieter")
    parser.add_argument("--stop-every", type=int, default=0, help="say 'stop' under every nth prompt")
    parser.add_argument(
        "--setting", action="append", default=[], metavar="LINE", help="a line more of the settings file"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="leave recordings, journals and logs here")
    parser.add_argument("--json", type=Path, metavar="FILE")
    return parser.parse_args(given)


def main() -> int:
    args = arguments()
    if missing(args.server):
        print(missing(args.server), file=sys.stderr)
        return 3
    results = []
    for snr_db in args.snr:
        with tempfile.TemporaryDirectory(prefix="assistant-live-") as made:
            folder = args.keep / f"{snr_db:g}dB" if args.keep else Path(made)
            folder.mkdir(parents=True, exist_ok=True)
            room = open_room(folder, args.server)
            try:
                if args.echo is not None:
                    room.echo(args.echo)
                run = hold(room, args, snr_db, log=folder / "guide.txt")
            finally:
                room.close()
            found = turns(run)
            told = {"snr_db": snr_db, **figures(run, found)}
            results.append(told)
            print(json.dumps(told, indent=1), flush=True)
            if args.keep:
                write_wav(folder / "air.wav", run.room[::3, 0])
                write_wav(folder / "speaker.wav", run.room[::3, 1])
                (folder / "turns.json").write_text(json.dumps([asdict(t) for t in found], indent=1), "utf-8")
    if args.json:
        args.json.write_text(json.dumps(results, indent=1), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
