"""What a worker of `assistant archive relisten` runs: today's listeners, loaded once, over the sound of sessions."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.archive.relistening import Again, Job
from assistant.cli import house
from assistant.config import paths
from assistant.config.program import digest_of
from assistant.config.settings import read_settings
from assistant.errors import AssistantError
from assistant.journal.beginning import honest_beginning
from assistant.replay.overview_cache import look
from assistant.replay.relisten import Listen, relisten


@dataclass
class Counting:
    """A listener that counts what it heard.

    Args:
        listen: hears one utterance.
    """

    listen: Listen
    sound_s: float = field(default=0.0, init=False)
    spent_s: float = field(default=0.0, init=False)

    def __call__(self, samples: Any, grammar: Any) -> Any:
        """As `Listen`."""
        began = time.process_time()  # of all threads: each listener has its own
        heard = self.listen(samples, grammar)
        self.sound_s, self.spent_s = len(samples) / 16_000, time.process_time() - began
        return heard


@dataclass
class _Worker:
    models: str
    listen: Counting


_worker: list[_Worker] = []
"""The listeners of a process: loaded with its first chunk, kept for the others."""


def models_in_use() -> str:
    """Digest of the models that this machine listens with."""
    folder = paths.models_folder(read_settings().models)
    return digest_of(folder, (path for path in folder.rglob("*") if path.is_file() and path.suffix != ".md"))


def hear(chunk: list[Job]) -> list[Again]:
    """Hear sessions again, in a worker; a session that cannot be heard keeps no other from it."""
    if not _worker:
        hearing = house.Parts(read_settings()).hearing()
        _worker.append(
            _Worker(models_in_use(), Counting(lambda samples, grammar: hearing.listen(samples, grammar).heard))
        )
    return [_heard(job, _worker[0]) for job in chunk]


def _heard(job: Job, worker: _Worker) -> Again:
    if worker.models != job.models:
        return Again(job.session, trouble=f"this worker has other models ({worker.models})")
    folder = Path(job.path)
    looked = look(folder)
    if not looked.first:
        return Again(job.session, trouble="its folder is not there")
    if (looked.first, looked.last) != (job.session, job.last):
        return Again(job.session, trouble="it went on since it was added; add it again")
    try:
        entries = honest_beginning(folder).entries
        rows: list[dict[str, Any]] = []
        for each in relisten(folder, entries, worker.listen):
            if each.verdict in ("typed", "not kept"):
                continue
            told = worker.listen if each.verdict != "no sound" else None
            rows.append(
                {
                    "line": each.line,
                    "utterance": each.utterance,
                    "verdict": each.verdict,
                    "grave": each.grave,
                    "recorded": each.recorded,
                    "decision": each.decision,
                    "probability": each.probability,
                    "now": each.now,
                    "decision_now": each.decision_now,
                    "probability_now": each.probability_now,
                    "sound_seconds": told.sound_s if told else 0.0,
                    "spent_seconds": told.spent_s if told else 0.0,
                }
            )
    except AssistantError as error:
        return Again(job.session, trouble=error.message)
    nothing: dict[str, Any] = {
        "line": None,
        "utterance": "",
        "verdict": "",
        "grave": False,
        "sound_seconds": 0.0,
        "spent_seconds": 0.0,
    }
    stamp = {"session": job.session, "last": job.last, "models": job.models}
    return Again(job.session, rows=tuple(stamp | row for row in rows or [nothing]))
