"""A session as rows of the archive's tables, made from its joint record and its facts. Pure.

Torques are kept in newton metres and as they were said. Times are UTC. A person's name is taken in
only where that person agreed and was named to `gathered`.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from assistant.bolting.units import TORQUE_UNITS, magnitude, torque
from assistant.events import Measured, UtteranceHeard
from assistant.journal.sessions import MICROPHONE
from assistant.replay.facts import Facts
from assistant.replay.overview import Row
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_work import Torque

SCHEMA = 2
"""Of the tables. A new column or table raises it and adds a step to `ADDED`."""
ADDED: dict[int, dict[str, dict[str, str]]] = {
    1: {
        "sessions": {"models": "''", "microphone": "''", "last": "''"},
        "utterances": {"kind": "''"},
        "people": {},
        "relistened": {},
    }
}
"""Schema version -> what its successor added: by table, new columns with the SQL value that older rows get."""
TABLES: dict[str, dict[str, str]] = {
    "sessions": {
        "session": "VARCHAR",
        "content": "VARCHAR",
        "lines": "INTEGER",
        "path": "VARCHAR",
        "joint": "VARCHAR",
        "tag": "VARCHAR",
        "place": "VARCHAR",
        "kind": "VARCHAR",
        "verdict": "VARCHAR",
        "words": "VARCHAR",
        "how": "VARCHAR",
        "opened": "TIMESTAMP",
        "closed": "TIMESTAMP",
        "signer": "VARCHAR",
        "product": "VARCHAR",
        "listeners": "VARCHAR",
        "bolts": "INTEGER",
        "sound_seconds": "DOUBLE",
        "models": "VARCHAR",
        "microphone": "VARCHAR",
        "last": "VARCHAR",
    },
    "due": {"session": "VARCHAR", "what": "VARCHAR", "from_utc": "TIMESTAMP", "until_utc": "TIMESTAMP"},
    "decisions": {"session": "VARCHAR", "kind": "VARCHAR", "text": "VARCHAR", "bolt": "INTEGER"},
    "readings": {
        "session": "VARCHAR",
        "at_utc": "TIMESTAMP",
        "group_name": "VARCHAR",
        "bolt": "INTEGER",
        "pass_number": "INTEGER",
        "round": "INTEGER",
        "phase": "VARCHAR",
        "pass_kind": "VARCHAR",
        "status": "VARCHAR",
        "how": "VARCHAR",
        "setting_nm": "DOUBLE",
        "value_nm": "DOUBLE",
        "said": "VARCHAR",
        "movement": "VARCHAR",
        "asked": "INTEGER",
        "attempts": "INTEGER",
        "probability": "DOUBLE",
        "wrench": "VARCHAR",
        "seconds": "DOUBLE",
    },
    "happenings": {
        "session": "VARCHAR",
        "at_utc": "TIMESTAMP",
        "kind": "VARCHAR",
        "group_name": "VARCHAR",
        "bolt": "INTEGER",
        "text": "VARCHAR",
        "reason": "VARCHAR",
    },
    "tools": {
        "session": "VARCHAR",
        "kind": "VARCHAR",
        "name": "VARCHAR",
        "serial": "VARCHAR",
        "calibration_due": "DATE",
    },
    "utterances": {
        "session": "VARCHAR",
        "at_utc": "TIMESTAMP",
        "utterance": "VARCHAR",
        "state": "VARCHAR",
        "decision": "VARCHAR",
        "probability": "DOUBLE",
        "snr_db": "DOUBLE",
        "agreed": "BOOLEAN",
        "seconds": "DOUBLE",
        "sound": "VARCHAR",
        "kind": "VARCHAR",
    },
    "people": {"session": "VARCHAR", "name": "VARCHAR", "role": "VARCHAR"},
    "relistened": {
        "session": "VARCHAR",
        "last": "VARCHAR",
        "models": "VARCHAR",
        "line": "INTEGER",
        "utterance": "VARCHAR",
        "verdict": "VARCHAR",
        "grave": "BOOLEAN",
        "recorded": "VARCHAR",
        "decision": "VARCHAR",
        "probability": "DOUBLE",
        "now": "VARCHAR",
        "decision_now": "VARCHAR",
        "probability_now": "DOUBLE",
        "sound_seconds": "DOUBLE",
        "spent_seconds": "DOUBLE",
    },
}
"""Columns of each table with their types; `batch`, `site` and `month` are added to each by the store."""
OF_SESSION = tuple(name for name in TABLES if name != "relistened")
"""Tables whose rows come with a session and are replaced with it; the rest is added later."""
_MODELS = re.compile("models ([0-9a-f]+)")
LONGEST_STEP_S = 1800.0
"""Between two entries; longer ones are breaks, not work at a bolt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """One session, ready for the store.

    Args:
        session: SHA-256 of its journal's first line: which session it is.
        content: hash over all that decides its rows: its files, the other sessions on its joint beside it, the trusted
            keys, the program.
        lines: of its journal and its review, one for the seal, and one for each other session on its joint beside it:
            of two copies, the longer one counts.
        site: part of the place before the first comma.
        month: "2026-11", of its opening.
        how: "rehearsal", "practice" or "".
        rows: by table.
        sound: recordings by SHA-256, as names of files below `audio/`.
        path: of the folder it was read from.
        course: SHA-256 of each line of its journal.
    """

    session: str
    content: str
    lines: int
    site: str
    month: str
    how: str
    rows: Mapping[str, list[dict[str, Any]]]
    sound: Mapping[str, str]
    path: str
    course: frozenset[str]


def gathered(
    record: JointRecord, facts: Facts, row: Row, *, content: str, agreed: frozenset[str] = frozenset()
) -> Gathered:
    """The rows of one session.

    Args:
        record: its joint record.
        facts: its reading.
        row: its row of the overview.
        content: as `Gathered` has it.
        agreed: names of people who agreed to figures about themselves; no other name is taken in.
    """
    heard = [(step.utc, step.event) for step in facts.steps if isinstance(step.event, UtteranceHeard)]
    opened = record.session.opened_utc
    rulings = len(record.review.rulings) if record.review is not None else 0
    lines = record.session.lines + rulings + (record.seal is not None) + len(record.related)
    products = "; ".join(record.session.products)
    settings = facts.opened.settings if facts.opened is not None else {}
    wrench_of = {
        name: tool.serial or tool.name for tool in record.tools for name in tool.groups if "wrench" in tool.kind
    }
    session = {
        "session": row.first,
        "content": content,
        "lines": lines,
        "path": row.folder,
        "joint": row.joint,
        "tag": row.tag,
        "place": row.place,
        "kind": row.kind,
        "verdict": row.verdict,
        "words": row.words,
        "how": row.how,
        "opened": _time(opened),
        "closed": _time(record.session.closed_utc),
        "signer": row.signer,
        "product": products,
        "listeners": ", ".join(record.session.listeners),
        "bolts": sum(group.bolts for group in record.groups),
        "sound_seconds": sum((event.end_sample - event.start_sample) / 16000 for _, event in heard),
        "models": ", ".join(dict.fromkeys(_MODELS.findall(products))),
        "microphone": str(settings.get(MICROPHONE, "")),
        "last": row.last,
    }
    rows: dict[str, list[dict[str, Any]]] = {
        "sessions": [session],
        "due": [
            {"what": due.what, "from_utc": _iso(due.from_utc), "until_utc": _iso(due.until_utc)} for due in row.due
        ],
        "decisions": [
            {"kind": each.kind, "text": each.text, "bolt": each.bolt}
            for each in record.decisions
            if row.verdict in ("to-decide", "open")
        ],
        "readings": list(_readings(record, wrench_of)),
        "happenings": [
            {
                "at_utc": _time(each.utc),
                "kind": each.kind,
                "group_name": each.group,
                "bolt": each.bolt,
                "text": each.text,
                "reason": each.reason,
            }
            for each in record.deviations
        ]
        + [
            {
                "at_utc": _time(e.utc),
                "kind": e.kind,
                "group_name": e.group,
                "bolt": e.bolt,
                "text": e.since,
                "reason": "",
            }
            for e in record.done_over
        ],
        "tools": [
            {
                "kind": tool.kind,
                "name": tool.name,
                "serial": tool.serial,
                "calibration_due": tool.calibration_due.isoformat() if tool.calibration_due else None,
            }
            for tool in record.tools
        ],
        "utterances": [
            {
                "at_utc": _time(utc),
                "utterance": event.utterance,
                "state": event.state,
                "decision": event.decision,
                "probability": event.alternatives[0].probability if event.alternatives else None,
                "snr_db": event.snr_db,
                "agreed": event.agreed,
                "seconds": (event.end_sample - event.start_sample) / 16000,
                "sound": event.audio_sha256,
                "kind": event.alternatives[0].kind if event.alternatives else "",
            }
            for utc, event in heard
        ],
        "people": [
            {"name": name, "role": role}
            for name, role in dict.fromkeys(
                [(person.name, person.role) for person in record.people]
                + [(named.text, named.role or named.purpose) for named in record.names if named.counts]
            )
            if name in agreed
        ],
    }
    for table in rows.values():
        for each in table:
            each["session"] = row.first
    return Gathered(
        session=row.first,
        content=content,
        lines=lines,
        site=row.place.split(",")[0].strip() or "unknown",
        month=f"{opened:%Y-%m}" if opened else "unknown",
        how=row.how,
        rows=rows,
        sound={event.audio_sha256: f"{event.utterance}.flac" for _, event in heard if event.audio_sha256},
        path=row.folder,
        course=frozenset(step.entry.sha256 for step in facts.steps),
    )


def _readings(record: JointRecord, wrench_of: Mapping[str, str]) -> Iterator[dict[str, Any]]:
    before: datetime | None = None
    for done in record.passes:
        for bolt in sorted(done.bolts, key=lambda each: (each.turn is None, each.turn or 0)):
            last = bolt.entries[-1] if bolt.entries else None
            at = last.utc if last is not None else None
            gap = (at - before).total_seconds() if at is not None and before is not None else None
            if at is not None:
                before = at
            said = bolt.achieved
            yield {
                "at_utc": _time(at),
                "group_name": done.group,
                "bolt": bolt.bolt,
                "pass_number": done.number,
                "round": done.round,
                "phase": done.phase,
                "pass_kind": done.kind,
                "status": bolt.status,
                "how": bolt.how,
                "setting_nm": _newton_metres(done.setting),
                "value_nm": _newton_metres(said),
                "said": f"{said.value} {said.unit}" if said is not None else None,
                "movement": bolt.movement,
                "asked": bolt.asked,
                "attempts": bolt.attempts,
                "probability": last.probability if last is not None else None,
                "wrench": wrench_of.get(done.group, ""),
                "seconds": gap if gap is not None and 0 <= gap <= LONGEST_STEP_S else None,
            }


@functools.cache
def _factor(unit: str) -> float:
    return float(magnitude(torque(Measured(value=Decimal(1), unit=unit)), "N*m", name="one"))


def _newton_metres(said: Torque | None) -> float | None:
    """The figure in newton metres; None where its unit is not a torque unit (foreign records)."""
    return float(said.value) * _factor(said.unit) if said is not None and said.unit in TORQUE_UNITS else None


def _time(when: datetime | None) -> str | None:
    return None if when is None else (when - (when.utcoffset() or timedelta(0))).strftime("%Y-%m-%d %H:%M:%S.%f")


def _iso(text: str) -> str | None:
    return _time(datetime.fromisoformat(text)) if text else None
