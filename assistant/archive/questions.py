"""The ready questions: what a lead asks of many sessions, as tables with what they can and cannot show."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from assistant.archive.statistics import BASE, FEWEST, Chart, chart, wilson

if TYPE_CHECKING:
    import duckdb

SOON_DAYS = 30
"""Calibrations that end within so many days are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to a ready question.

    Args:
        title: in a few words.
        heads: of the columns.
        rows: most urgent first.
        notes: what the figures rest on and what they cannot show.
        charts: by name, (times, values, chart), for a picture.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    notes: tuple[str, ...] = ()
    charts: dict[str, tuple[tuple[str, ...], tuple[float, ...], Chart]] = field(default_factory=dict)


def _asked(found: duckdb.DuckDBPyConnection, query: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
    return found.execute(query, list(values)).fetchall()


def due(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """What is due: overdue first, then due, then to come."""
    rows = _asked(
        found,
        """
        SELECT CASE WHEN until_utc < $1 THEN 'overdue' WHEN coalesce(from_utc, $1) <= $1 THEN 'due' ELSE 'to come' END
                   AS stands,
               s.site, s.joint, s.tag, d.what, d.from_utc, d.until_utc, s.verdict
        FROM due d JOIN sessions s USING (session)
        ORDER BY CASE stands WHEN 'overdue' THEN 0 WHEN 'due' THEN 1 ELSE 2 END,
                 coalesce(until_utc, from_utc, opened), joint
        """,
        [_plain(now)],
    )
    heads = ("stands", "site", "joint", "tag", "what", "from", "until", "verdict")
    return Answer(title="Due", heads=heads, rows=tuple(rows))


def decisions(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """Joints that wait for a lead's ruling, the longest waiting first."""
    rows = _asked(
        found,
        """
        SELECT s.site, s.joint, s.tag, s.verdict, count(*), min(s.opened), string_agg(d.text, ' | ')
        FROM decisions d JOIN sessions s USING (session) GROUP BY s.session, s.site, s.joint, s.tag, s.verdict
        ORDER BY min(s.opened)
        """,
    )
    del now
    heads = ("site", "joint", "tag", "verdict", "things", "opened", "what")
    return Answer(title="To be decided", heads=heads, rows=tuple(rows))


def repeats(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """Bolts that were skipped, kept outside their window, or done again, by joint kind."""
    rows = _asked(
        found,
        """
        WITH bolts AS (SELECT s.kind, count(*) AS n FROM readings r JOIN sessions s USING (session)
                       WHERE r.status <> 'open' GROUP BY s.kind),
             hits AS (SELECT s.kind, h.kind AS what, count(*) AS n FROM happenings h JOIN sessions s USING (session)
                      WHERE h.kind IN ('skipped', 'kept outside window', 'outside window', 'corrected', 'bolt replaced',
                                       'pass done over', 'gasket disturbed') GROUP BY s.kind, h.kind)
        SELECT hits.kind, what, hits.n, bolts.n FROM hits JOIN bolts ON bolts.kind = hits.kind
        ORDER BY hits.n / bolts.n DESC
        """,
    )
    del now
    return Answer(
        title="Skipped, kept and done again",
        heads=("joint kind", "what", "times", "bolt visits", "a hundred visits", "95 % from", "to"),
        rows=tuple((*row, *_share(row[2], row[3])) for row in rows),
        notes=("A visit is one bolt in one pass or round. Intervals are Wilson's.",),
    )


def rounds(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """How many circular rounds it takes until no nut moves, by joint kind."""
    rows = _asked(
        found,
        """
        WITH last AS (SELECT session, group_name, max(round) AS n FROM readings
                      WHERE pass_kind IN ('circular', 'seat') AND phase <> 're-check' AND movement <> ''
                      GROUP BY session, group_name)
        SELECT s.kind, count(*), min(n), median(n), quantile_cont(n, 0.9), max(n)
        FROM last JOIN sessions s USING (session) GROUP BY s.kind ORDER BY s.kind
        """,
    )
    del now
    heads = ("joint kind", "bolt groups", "fewest", "median", "90 %", "most")
    return Answer(title="Rounds until nothing moves", heads=heads, rows=tuple(rows))


def drift(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """Reading minus setting by wrench over time, with its control chart."""
    points = _asked(
        found,
        """
        SELECT r.wrench, max(r.at_utc), 100 * avg((r.value_nm - r.setting_nm) / r.setting_nm), count(*)
        FROM readings r WHERE r.value_nm IS NOT NULL AND r.setting_nm > 0 AND r.wrench <> ''
          AND r.how IN ('reading spoken', 'reading typed') GROUP BY r.wrench, r.session ORDER BY r.wrench, max(r.at_utc)
        """,
    )
    until = dict(_asked(found, "SELECT coalesce(nullif(serial, ''), name), max(calibration_due) FROM tools GROUP BY 1"))
    rows, charts = [], {}
    for wrench in dict.fromkeys(each[0] for each in points):
        mine = [each for each in points if each[0] == wrench]
        values = tuple(float(each[2]) for each in mine)
        made = chart(values)
        stands = f"fewer than {FEWEST} sessions" if made is None else "in control"
        since = None
        if made is not None:
            charts[wrench] = (tuple(str(each[1]) for each in mine), values, made)
            later = [at for at in made.out if at >= BASE]
            if later:
                since, stands = mine[later[0]][1], f"OUT at {len(later)} of {max(0, len(values) - BASE)} points"
        centre = None if made is None else round(made.centre, 2)
        last = None if made is None else round(made.smooth[-1], 2)
        rows.append(
            (wrench, len(values), sum(each[3] for each in mine), centre, last, stands, since, until.get(wrench))
        )
    rows.sort(key=lambda row: (not str(row[5]).startswith("OUT"), row[0]))
    del now
    return Answer(
        title="Reading minus setting, by wrench",
        heads=("wrench", "sessions", "readings", "centre %", "now %", "stands", "first out", "calibrated until"),
        rows=tuple(rows),
        notes=(
            f"A point is one session's mean of (reading - setting) / setting. Centre and spread come from the first "
            f"{BASE}; "
            "those after are judged: single values at 3 sigma and an EWMA (weight 0.2, 2.962 sigma), both widened by "
            "what is not known of centre and spread. One point in 200 of a clean wrench lies outside; a shift by one "
            "standard deviation is found after 18 sessions, by two after 5 (medians, simulated with normal values).",
            "It shows what was read against what was set. A wrench whose scale is wrong by as much as its clicks or "
            "its dial stays in control here: only calibration finds that.",
        ),
        charts=charts,
    )


def relaxation(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """Nuts that moved at a re-check, by joint kind and by joint."""
    rows = _asked(
        found,
        """
        SELECT s.kind, s.joint, s.tag, count(*) FILTER (WHERE r.movement = 'moved'), count(*),
               string_agg(DISTINCT CASE WHEN r.movement = 'moved' THEN r.group_name || ' ' || r.bolt END, ', ')
        FROM readings r JOIN sessions s USING (session)
        WHERE r.phase = 're-check' AND r.round = 1 AND r.movement <> ''
        GROUP BY GROUPING SETS ((s.kind), (s.kind, s.joint, s.tag)) ORDER BY s.kind, s.joint NULLS FIRST
        """,
    )
    del now
    return Answer(
        title="Nuts that moved at the re-check",
        heads=("joint kind", "joint", "tag", "moved", "bolts", "a hundred", "95 % from", "to", "which"),
        rows=tuple((*row[:5], *_share(row[3], row[4]), row[5] if row[1] is not None else "all joints") for row in rows),
        notes=("Only the first round of each re-check counts. Intervals are Wilson's and take bolts as independent.",),
    )


def pace(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """Seconds from one recorded bolt to the next, by joint kind and pass."""
    rows = _asked(
        found,
        """
        SELECT s.kind, r.pass_kind, count(*), quantile_cont(r.seconds, 0.1), median(r.seconds),
               quantile_cont(r.seconds, 0.9)
        FROM readings r JOIN sessions s USING (session) WHERE r.seconds IS NOT NULL GROUP BY 1, 2 ORDER BY 1, 2
        """,
    )
    del now
    shown = tuple((*row[:3], *(round(float(value), 1) for value in row[3:])) for row in rows)
    heads = ("joint kind", "pass", "bolts", "10 % s", "median s", "90 % s")
    return Answer(
        title="Time from bolt to bolt", heads=heads, rows=shown, notes=("Breaks over 30 minutes are left out.",)
    )


def questions(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """How often the assistant had to ask or refuse, by site, noise and program."""
    rows = _asked(
        found,
        """
        SELECT s.site, CASE WHEN u.snr_db IS NULL THEN 'not known' WHEN u.snr_db < 5 THEN 'under 5 dB'
                            WHEN u.snr_db < 15 THEN '5 to 15 dB' ELSE 'over 15 dB' END AS noise,
               s.listeners, count(*) FILTER (WHERE u.decision = 'ask'),
               count(*) FILTER (WHERE u.decision = 'reject'), count(*)
        FROM utterances u JOIN sessions s USING (session) GROUP BY 1, 2, 3 ORDER BY 1, 2, 3
        """,
    )
    del now
    return Answer(
        title="Asked and refused, a hundred utterances",
        heads=("site", "noise", "listeners", "asked", "refused", "utterances", "asked a hundred", "95 % from", "to"),
        rows=tuple((*row, *_share(row[3], row[5])) for row in rows),
        notes=("Refused speech may not have been meant for the assistant. Intervals are Wilson's.",),
    )


def calibration(found: duckdb.DuckDBPyConnection, now: datetime) -> Answer:
    """Tools whose calibration has ended or ends soon, with the work done after the end."""
    rows = _asked(
        found,
        """
        WITH tool AS (SELECT coalesce(nullif(t.serial, ''), t.name) AS serial, any_value(t.kind) AS kind,
                             max(t.calibration_due) AS until, max(s.opened) AS used,
                             count(DISTINCT s.session) AS sessions,
                             count(DISTINCT s.session)
                               FILTER (WHERE s.opened > t.calibration_due + INTERVAL 1 DAY) AS late
                      FROM tools t JOIN sessions s USING (session) WHERE t.calibration_due IS NOT NULL GROUP BY 1)
        SELECT CASE WHEN until < $1 THEN 'ended' ELSE 'ends soon' END, serial, kind, until, sessions, late, used
        FROM tool WHERE until < $2 OR late > 0 ORDER BY until
        """,
        [now.date(), now.date() + timedelta(days=SOON_DAYS)],
    )
    heads = ("stands", "tool", "kind", "calibrated until", "sessions", "after its end", "last used")
    return Answer(title="Calibrations", heads=heads, rows=tuple(rows), notes=(f"Soon is within {SOON_DAYS} days.",))


QUESTIONS: dict[str, Callable[[duckdb.DuckDBPyConnection, datetime], Answer]] = {
    "due": due,
    "decisions": decisions,
    "repeats": repeats,
    "rounds": rounds,
    "drift": drift,
    "relaxation": relaxation,
    "pace": pace,
    "questions": questions,
    "calibration": calibration,
}
"""By the word that they are asked with."""


def _share(hits: int, of: int) -> tuple[float, float, float]:
    low, high = wilson(hits, of)
    return round(100 * hits / of, 1), round(100 * low, 1), round(100 * high, 1)


def _plain(when: datetime) -> datetime:
    return when.replace(tzinfo=None) - (when.utcoffset() or timedelta(0))
