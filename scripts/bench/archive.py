"""The archive at size: a simulated year taken in, every ready question timed, planted drift looked for.

Joints, wrenches and drift are invented. By default rows are made without session folders, so that verification is not
in these times; with --year the session folders of `scripts/bench/site_year` go through `assistant archive add` itself.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

from assistant.archive.answer_pages import answer_html, answer_svg
from assistant.archive.questions import QUESTIONS, Answer
from assistant.archive.statistics import BASE
from assistant.archive.store import Archive
from assistant.archive.tables import Gathered

START = datetime(2026, 1, 1)
SITES, BATCH, DAYS = 12, 2000, 365
KINDS = ("gasketed flange", "machine base", "split clamp coupling", "girth flange", "plain pattern")
SPREAD_PERCENT, DRIFT_PERCENT = 1.2, 0.04  # of a reading; a drifting wrench gains so much in each session
BEGINS = 0.5  # of a drifting wrench's sessions are clean


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
                | {"snr_db": draw.uniform(0, 25), "seconds": 1.2, "kind": "value"}
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
        "models": ("0123456789", "abcdef0123")[at % 2],
        "microphone": ("", "headset 2")[at % 2],
        "last": name,
    }
    rechecked = at % 10 == 0
    if rechecked:
        readings += [
            {"session": name, "at_utc": str(moment), "group_name": "bolts", "bolt": bolt, "pass_number": 4, "round": 1}
            | {"phase": "re-check", "pass_kind": "circular", "status": "done", "how": "movement reported"}
            | {"movement": "moved" if draw.random() < (0.25 if bolt == 3 else 0.02) else "held", "wrench": serial}
            for bolt in range(1, 9)
        ]
    happenings = [
        {"session": name, "at_utc": str(opened), "kind": what, "group_name": "bolts", "bolt": 1 + at % 8}
        for what, each in (("skipped", 20), ("kept outside window", 50), ("corrected", 15))
        if at % each == 0
    ]
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
        "happenings": happenings,
        "people": [{"session": name, "name": f"Person {at % 40}", "role": "technician"}],
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
        course=frozenset({name}),
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sessions", type=int, default=10_000, metavar="N", help="how many (default: 10000)")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--year", type=Path, metavar="FOLDER", help="what scripts/bench/site_year made")
    parser.add_argument(
        "--keep", type=Path, metavar="FOLDER", help="keep the archive there; one that is there is asked"
    )
    parser.add_argument("--pages", type=Path, metavar="FOLDER", help="write each question's page there")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = args.keep or Path(name) / "a"
        if args.year is not None:
            truth = json.loads((args.year / "truth.json").read_text("utf-8"))
            number, drifting = take_in_folders(args.year, folder), set(truth["drifting"])
        else:
            number = args.sessions
            wrenches = max(10, args.sessions // 500)
            which = set(random.Random(args.seed).sample(range(wrenches), max(1, wrenches // 10)))
            drifting = {f"NS-TW-{wrench:04}" for wrench in which}
            if not folder.is_dir():
                take_in_rows(
                    sessions(number, wrenches=wrenches, drifting=which, seed=args.seed), number, Archive(folder)
                )
        archive = Archive(folder)
        files = list(folder.rglob("*.parquet"))
        size = sum(path.stat().st_size for path in files)
        print(f"{size / number:.0f} bytes a session in {len(files)} files")
        now = datetime(2026, 12, 31, tzinfo=timezone.utc)
        for question, ask in QUESTIONS.items():
            times = []
            for _ in range(3):
                began = time.perf_counter()
                with archive.connection() as found:
                    answer = ask(found, now)
                times.append(time.perf_counter() - began)
            print(f"ask {question:12} {min(times):6.2f} s (of three: {max(times):.2f}), {len(answer.rows)} rows")
            if question == "drift":
                _judge(answer, drifting)
            command = [sys.executable, "-m", "assistant", "archive", "ask", question, "--archive", str(folder)]
            began = time.perf_counter()
            subprocess.run(command, capture_output=True, check=True)
            print(f"  the whole command: {time.perf_counter() - began:.2f} s")
            if args.pages is not None:
                args.pages.mkdir(parents=True, exist_ok=True)
                (args.pages / f"{question}.html").write_text(answer_html(answer), encoding="utf-8")
                (args.pages / f"{question}.svg").write_text(answer_svg(answer), encoding="utf-8")
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"peak memory {memory:.0f} MB")
    return 0


def take_in_rows(made: Iterator[Gathered], number: int, archive: Archive) -> None:
    began, waiting = time.perf_counter(), []
    for each in made:
        waiting.append(each)
        if len(waiting) == BATCH:
            archive.add(waiting)
            waiting = []
    archive.add(waiting)
    took = time.perf_counter() - began
    print(f"{number} sessions as rows: {took:.0f} s, {number / took:.0f} a second")


def take_in_folders(year: Path, archive: Path) -> int:
    """Add the year twice by the command itself, on all cores of this machine; how many sessions it has."""
    environment = os.environ | {"ASSISTANT_KEYS": str(year / "keys")}
    arguments = ["archive", "add", str(year / "sessions"), "--archive", str(archive)]
    for words in ("verified and taken in", "once more"):
        began, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(
            [sys.executable, "-m", "assistant", *arguments, "--json"],
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        took, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
        counts = json.loads(done.stdout)
        number = counts["new"] + counts["renewed"] + counts["known"] + len(counts["set_aside"])
        spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        told = {what: count if isinstance(count, int) else len(count) for what, count in counts.items()}
        print(
            f"{number} session folders {words}: {took:.0f} s by the clock, {number / took:.0f} a second, "
            f"{1000 * spent / number:.0f} ms of processor each, at most {after.ru_maxrss / 1024:.0f} MB a process; "
            f"{told}"
        )
    return number


def _judge(answer: Answer, drifting: set[str]) -> None:
    """What was planted against what is told."""
    stands = {row[0]: str(row[5]) for row in answer.rows}
    now = {wrench for wrench, words in stands.items() if words.startswith("OUT")}
    delays, alarms, judged = [], 0, 0
    for wrench, control in answer.charts.items():
        out = [at for at in control.chart.out if at >= BASE]
        begins = BEGINS * len(control.values)
        if wrench in drifting:
            late = [at - begins for at in out if at >= begins]
            delays += [min(late)] if late else []
        else:
            alarms += len(out)
            judged += max(0, len(control.values) - BASE)
    median = sorted(delays)[len(delays) // 2] if delays else float("nan")
    clean = len(answer.charts) - len(drifting)
    print(
        f"  drift planted in {len(drifting)} wrenches: {len(now & drifting)} stand out now; {len(delays)} were found, "
        f"a median of {median:.0f} sessions after its beginning"
    )
    print(
        f"  clean wrenches: {alarms} of {judged} points out of limits ({100 * alarms / max(1, judged):.2f} %), "
        f"{len(now - drifting)} of {clean} stand out now"
    )


if __name__ == "__main__":
    raise SystemExit(main())
