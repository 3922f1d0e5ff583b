"""The archive at size: rows of a simulated year taken in, every ready question timed, planted drift looked for.

Joints, wrenches and drift are invented; no session folder and no sound is made, so verification is not in these times.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import resource
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

from assistant.archive.questions import QUESTIONS
from assistant.archive.statistics import BASE
from assistant.archive.store import Archive
from assistant.archive.tables import Gathered

START = datetime(2026, 1, 1)
SITES, BATCH, DAYS = 12, 2000, 365
KINDS = ("gasketed flange", "machine base", "split clamp coupling", "girth flange", "plain pattern")
SPREAD_PERCENT, DRIFT_PERCENT = 1.2, 0.04  # of a reading; a drifting wrench gains so much in each session
BEGINS = 0.4  # of a drifting wrench's sessions are clean


def sessions(number: int, *, wrenches: int, drifting: set[int], seed: int) -> Iterator[Gathered]:
    """Sessions in order of time."""
    draw = random.Random(seed)
    used = [0] * wrenches
    most = number / wrenches
    for at in range(number):
        opened = START + timedelta(days=DAYS * at / number)
        wrench = draw.randrange(wrenches)
        used[wrench] += 1
        gained = max(0.0, used[wrench] - BEGINS * most) * DRIFT_PERCENT if wrench in drifting else 0.0
        yield _session(at, opened, wrench, gained, draw)


def _session(at: int, opened: datetime, wrench: int, gained: float, draw: random.Random) -> Gathered:
    name = hashlib.sha256(f"{at}".encode()).hexdigest()
    kind, site = KINDS[at % len(KINDS)], f"Site {at % SITES}"
    serial, moment = f"NS-TW-{wrench:04}", opened
    readings, utterances = [], []
    for number in range(1, 4):
        setting = 100.0 * number
        for bolt in range(1, 9):
            moment += timedelta(seconds=draw.uniform(12, 40))
            value = setting * (1 + (gained + draw.gauss(0, SPREAD_PERCENT)) / 100)
            readings.append(
                {"session": name, "at_utc": str(moment), "group_name": "bolts", "bolt": bolt, "pass_number": number}
                | {"round": 1, "phase": "tighten", "pass_kind": "pattern", "status": "done", "how": "reading spoken"}
                | {"setting_nm": setting, "value_nm": round(value, 1), "movement": "", "asked": 0, "attempts": 1}
                | {"probability": 0.99, "wrench": serial, "seconds": 25.0}
            )
            utterances.append(
                {"session": name, "at_utc": str(moment), "utterance": f"{len(utterances):04}", "state": "tightening"}
                | {"decision": "accept" if draw.random() < 0.9 else "ask", "probability": 0.99, "agreed": True}
                | {"snr_db": draw.uniform(0, 25), "seconds": 1.2}
            )
    session = {
        "session": name,
        "content": name,
        "lines": 300,
        "path": f"/sessions/{at}",
        "joint": f"Joint {at % 5000}",
        "tag": f"NS-{at % 5000}",
        "place": f"{site}, bay {at % 50}",
        "kind": kind,
        "verdict": "to-decide" if at % 25 == 0 else "complete",
        "words": "",
        "how": "",
        "opened": str(opened),
        "closed": str(moment),
        "signer": "this machine",
        "product": "assistant",
        "listeners": "constrained, vosk",
        "bolts": 8,
        "sound_seconds": 60.0,
    }
    due = (
        [{"session": name, "what": "cold re-check", "from_utc": str(opened + timedelta(days=1))}]
        if at % 40 == 0
        else []
    )
    decision = [{"session": name, "kind": "kept", "text": "bolt 2 was kept", "bolt": 2}] if at % 25 == 0 else []
    tools = [
        {"session": name, "kind": "dial wrench", "name": serial, "serial": serial, "calibration_due": "2026-12-20"}
    ]
    rows = {"sessions": [session], "readings": readings, "utterances": utterances, "due": due} | {
        "decisions": decision,
        "tools": tools,
        "happenings": [],
    }
    return Gathered(
        session=name,
        content=name,
        lines=300,
        site=site,
        month=f"{opened:%Y-%m}",
        how="",
        rows=rows,
        sound={},
        path=str(session["path"]),
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, default=10_000, metavar="N", help="how many (default: 10000)")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    args = parser.parse_args()
    wrenches = max(10, args.sessions // 500)
    drifting = set(random.Random(args.seed).sample(range(wrenches), max(1, wrenches // 10)))
    with tempfile.TemporaryDirectory() as name:
        archive = Archive(Path(name) / "a")
        began, waiting = time.perf_counter(), []
        for each in sessions(args.sessions, wrenches=wrenches, drifting=drifting, seed=args.seed):
            waiting.append(each)
            if len(waiting) == BATCH:
                archive.add(waiting)
                waiting = []
        archive.add(waiting)
        took = time.perf_counter() - began
        files = list(archive.folder.rglob("*.parquet"))
        size = sum(path.stat().st_size for path in files)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        rate = args.sessions / took
        print(f"{args.sessions} sessions, {24 * args.sessions} readings: {took:.0f} s, {rate:.0f} a second")
        print(f"{size / args.sessions:.0f} bytes a session in {len(files)} files; peak memory {memory:.0f} MB")
        now = datetime(2026, 12, 31, tzinfo=timezone.utc)
        for question, ask in QUESTIONS.items():
            began = time.perf_counter()
            with archive.connection() as found:
                answer = ask(found, now)
            print(f"ask {question:12} {time.perf_counter() - began:6.2f} s, {len(answer.rows)} rows")
            if question == "drift":
                _judge(answer, drifting, args.sessions / wrenches)
    return 0


def _judge(answer, drifting: set[int], each: float) -> None:  # type: ignore[no-untyped-def]
    accused = {int(row[0].rpartition("-")[2]) for row in answer.rows if str(row[5]).startswith("OUT")}
    delays, alarms, judged = [], 0, 0
    for serial, (_, values, made) in answer.charts.items():
        wrench, out = int(serial.rpartition("-")[2]), [at for at in made.out if at >= BASE]
        if wrench in drifting:
            late = [at - BEGINS * each for at in out if at >= BEGINS * each]
            delays += [min(late)] if late else []
        else:
            alarms += len(out)
            judged += max(0, len(values) - BASE)
    print(
        f"  drift planted in {len(drifting)}: found in {len(accused & drifting)}, after a median of "
        f"{sorted(delays)[len(delays) // 2] if delays else float('nan'):.0f} of their {each:.0f} sessions"
    )
    print(
        f"  clean wrenches: {alarms} of {judged} points out of limits ({100 * alarms / max(1, judged):.2f} %), "
        f"{len(accused - drifting)} of {len(answer.charts) - len(drifting)} wrenches with any"
    )


if __name__ == "__main__":
    raise SystemExit(main())
