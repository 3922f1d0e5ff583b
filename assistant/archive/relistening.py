"""Runs today's listeners over all stored sound, on Dask: processes of this machine, or a cluster by its address.

Sessions are handed out in chunks. The results of a chunk are stored when it is done, by session, last line and models.
So a stop costs at most the chunks in progress, and nothing is heard twice.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.archive.store import Store
from assistant.errors import BadSettings, ModelMissing

CHUNK_S = 120.0
"""Sound of a chunk: long against handing it out, short against what a stop may cost."""
MOST_SESSIONS = 200
"""Of a chunk, where there is little sound."""
RETRIES = 2
"""Of a chunk whose worker raised or went away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A session that is to be heard again.

    Args:
        session: as in the archive.
        last: hash of its last line when it was added.
        path: of its folder, as the workers reach it.
        models: those that shall hear it.
    """

    session: str
    last: str
    path: str
    models: str


@dataclass(frozen=True, slots=True)
class Again:
    """The result for one session.

    Args:
        session: as in the archive.
        rows: for the table `relistened`.
        trouble: why it could not be heard; "" where it was.
    """

    session: str
    rows: tuple[dict[str, Any], ...] = ()
    trouble: str = ""


Hear = Callable[[list[Job]], list[Again]]
"""Hears a chunk; runs in the workers, so it must be a function that they can import."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What one run did.

    Args:
        sessions, utterances: heard now.
        grave: utterances recorded as one thing and surely heard as another.
        sound_s, spent_s: seconds of sound, and of processor time on it.
        failed: (path, reason) of sessions that could not be heard.
    """

    sessions: int
    utterances: int
    grave: int
    sound_s: float
    spent_s: float
    failed: tuple[tuple[str, str], ...]


def jobs(store: Store, models: str) -> list[tuple[Job, float]]:
    """Sessions of real work that these models have not heard yet, with their seconds of sound, oldest first."""
    with store.connection() as found:
        rows = found.execute(
            """
            SELECT session, last, path, sound_seconds FROM sessions s
            WHERE NOT EXISTS (SELECT 1 FROM relistened r
                              WHERE r.session = s.session AND r.last = s.last AND r.models = $1)
            ORDER BY opened
            """,
            [models],
        ).fetchall()
    return [(Job(session=row[0], last=row[1], path=row[2], models=models), float(row[3] or 0)) for row in rows]


def chunks(wanted: Sequence[tuple[Job, float]]) -> Iterator[list[Job]]:
    """Sessions in chunks of about CHUNK_S of sound."""
    chunk: list[Job] = []
    seconds = 0.0
    for job, sound_s in wanted:
        chunk.append(job)
        seconds += sound_s
        if seconds >= CHUNK_S or len(chunk) == MOST_SESSIONS:
            yield chunk
            chunk, seconds = [], 0.0
    if chunk:
        yield chunk


def relisten(
    store: Store,
    hear: Hear,
    models: str,
    *,
    workers: int,
    scheduler: str | None = None,
    told: Callable[[int, int], None] = lambda _at, _of: None,
) -> Heard:
    """Hear all sessions that these models have not heard yet.

    Args:
        hear: hears a chunk; see `Hear`.
        workers: processes on this machine, where no scheduler is named.
        scheduler: address of a cluster's scheduler.
        told: called after each chunk with how many are done, of how many.

    Raises:
        BadSettings: the scheduler cannot be reached.
        ModelMissing: Dask is not installed.
        RecordNotWritable: the archive cannot be written; what was stored before stays.
    """
    wanted = list(chunks(jobs(store, models)))
    failed: list[tuple[str, str]] = []
    sessions = utterances = grave = 0
    sound_s = spent_s = 0.0
    if not wanted:
        return Heard(sessions=0, utterances=0, grave=0, sound_s=0, spent_s=0, failed=())
    distributed = _engine()
    with _client(distributed, workers, scheduler) as client:
        by_future = {
            client.submit(hear, chunk, retries=RETRIES, pure=False, key=f"relisten-{models}-{chunk[0].session}"): chunk
            for chunk in wanted
        }
        for at, future in enumerate(distributed.as_completed(by_future), start=1):
            chunk = by_future[future]
            if future.status != "finished":
                why = str(future.exception()).splitlines() or ["its worker went away"]
                failed += [(job.path, why[0][:200]) for job in chunk]
            else:
                found: list[Again] = future.result()
                path_of = {job.session: job.path for job in chunk}
                failed += [(path_of[each.session], each.trouble) for each in found if each.trouble]
                rows = [row for each in found for row in each.rows]
                store.add_relistened(rows)
                sessions += sum(not each.trouble for each in found)
                utterances += sum(bool(row["utterance"]) for row in rows)
                grave += sum(bool(row["grave"]) for row in rows)
                sound_s += sum(row["sound_seconds"] for row in rows)
                spent_s += sum(row["spent_seconds"] for row in rows)
            future.release()
            told(at, len(wanted))
    return Heard(
        sessions=sessions,
        utterances=utterances,
        grave=grave,
        sound_s=sound_s,
        spent_s=spent_s,
        failed=tuple(failed),
    )


@contextlib.contextmanager
def _client(distributed: Any, workers: int, scheduler: str | None) -> Iterator[Any]:
    with contextlib.ExitStack() as undo:
        if scheduler is None:
            cluster = distributed.LocalCluster(
                n_workers=workers,
                threads_per_worker=1,
                host="127.0.0.1",
                dashboard_address="127.0.0.1:0",
                silence_logs=50,
            )
            undo.enter_context(cluster)
            target: Any = cluster
        else:
            target = scheduler
        try:
            yield undo.enter_context(distributed.Client(target, timeout=20))
        except (OSError, ValueError) as error:
            raise BadSettings(
                f"the scheduler {scheduler} cannot be reached: {error}",
                remedy="write tcp://HOST:PORT or tls://HOST:PORT",
            ) from None


def _engine() -> Any:
    try:
        import distributed
    except ImportError:
        raise ModelMissing(
            "hearing many sessions again needs Dask, which is not installed",
            remedy="install the extra: .venv/bin/python -m pip install 'bolting-assistant[archive]'",
        ) from None
    return distributed
