"""Hearing everything again at size: sessions with made-up sound through `archive relisten` and the real listeners.

The sound has the rhythm of speech and no words, so it costs what speech costs and is understood as nothing: this
measures time alone. A process loads its listeners once; that is told apart.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from distributed import LocalCluster

from assistant.archive import relistening
from assistant.archive.relistening import Heard, relisten
from assistant.archive.store import Archive
from assistant.cli.archive import Terms, taken
from assistant.cli.hear_worker import hear, models_in_use
from assistant.journal.clock import utc_now
from assistant.journal.keyring import NOTHING_KNOWN
from assistant.replay.overview_cache import look
from tests.report.sessions_made import FLANGE, SessionMaker


def sessions(folder: Path, number: int, utterances: int) -> list[Path]:
    """Unfinished sessions of a joint each, with so many recordings."""
    made = []
    for at in range(number):
        joint = folder.parent / f"joint-{at}.toml"
        text = FLANGE.read_text("utf-8").replace("Pump 2 discharge flange", f"Pump {at} discharge flange")
        joint.write_text(text, "utf-8")
        maker = SessionMaker(folder, joint)
        maker.skew = timedelta(minutes=at)
        maker.answer(until=lambda _state, maker=maker: sum(1 for _ in maker.folder.glob("audio/*.flac")) >= utterances)
        maker.store.close()
        made.append(maker.folder)
    return made


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sessions", type=int, default=8, metavar="N")
    parser.add_argument("--utterances", type=int, default=25, metavar="N", help="of each session")
    parser.add_argument(
        "--chunk", type=float, default=relistening.CHUNK_S, metavar="S", help="seconds of sound of a part"
    )
    args = parser.parse_args()
    relistening.CHUNK_S = args.chunk
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        terms = Terms(basis=NOTHING_KNOWN, now=utc_now())
        rows = [taken(look(each), "c", terms) for each in sessions(place / "s", args.sessions, args.utterances)]
        gathered = [each for each in rows if each is not None and not isinstance(each, str)]
        assert len(gathered) == args.sessions, rows
        for workers in (1, 2):
            archive = Archive(place / f"a{workers}")
            archive.add(gathered)
            _told(f"{workers} of this machine", archive, workers=workers)
        with LocalCluster(
            n_workers=4, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0", silence_logs=50
        ) as cluster:
            archive = Archive(place / "a4")
            archive.add(gathered)
            _told("cluster of 4 workers by address", archive, workers=1, scheduler=cluster.scheduler_address)
    return 0


def _told(name: str, archive: Archive, *, workers: int, scheduler: str | None = None) -> Heard:
    first: list[float] = []
    began = time.monotonic()

    def told(at: int, _of: int) -> None:
        if at == 1:
            first.append(time.monotonic() - began)

    done = relisten(archive, hear, models_in_use(), workers=workers, scheduler=scheduler, told=told)
    took = time.monotonic() - began
    assert not done.failed, done.failed
    print(
        f"{name}: {done.utterances} utterances, {done.sound_s:.0f} s of sound in {took:.0f} s by the clock (first part "
        f"after {first[0]:.0f} s, listeners loaded in it); {done.spent_s / done.sound_s * 60:.1f} minutes of processor "
        "an hour of sound",
        flush=True,
    )
    return done


if __name__ == "__main__":
    raise SystemExit(main())
