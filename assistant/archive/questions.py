"""The ready questions that a lead asks about many sessions, answered as tables with what they can and cannot show.

Each is one or two queries that DuckDB and PostgreSQL understand alike; the rest is statistics.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from itertools import groupby
from typing import Any

from assistant.archive.statistics import BASE, FEWEST, Chart, chart, wilson
from assistant.archive.store import Connection

SOON_DAYS = 30
"""Calibrations that end within so many days are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A control chart and its data, for a picture.

    Args:
        times: of the points, UTC.
        values: of the points, in percent.
        chart: centre, limits and what lies outside.
        marks: (place, words): what happened to the wrench before the point at that place.
    """

    times: tuple[datetime, ...]
    values: tuple[float, ...]
    chart: Chart
    marks: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A share with its 95 % interval, or a time with its middle four fifths: a line of a picture.

    Args:
        name: what it is of.
        low, middle, high: in `Answer.unit`.
    """

    name: str
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to a ready question.

    Args:
        title: in a few words.
        heads: of the columns.
        rows: most urgent first.
        notes: what the figures are based on, and what they cannot show.
        charts: by name, for a picture.
        bars: for a picture; in the order of the rows.
        unit: of the bars, and what their ends mean.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    notes: tuple[str, ...] = ()
    charts: dict[str, Control] = field(default_factory=dict)
    bars: tuple[Bar, ...] = ()
    unit: str = ""


def _asked(found: Connection, query: str, *values: Any) -> list[tuple[Any, ...]]:
    return found.execute(query, values).fetchall()


def due(found: Connection, now: datetime) -> Answer:
    """What is due: overdue first, then due, then upcoming."""
    rows = _asked(
        found,
        """
        SELECT CASE rank WHEN 0 THEN 'overdue' WHEN 1 THEN 'due' ELSE 'to come' END,
               site, joint, tag, place, what, from_utc, until_utc, verdict
        FROM (SELECT CASE WHEN d.until_utc < $1 THEN 0 WHEN coalesce(d.from_utc, $1) <= $1 THEN 1 ELSE 2 END AS rank,
                     coalesce(d.until_utc, d.from_utc, s.opened) AS moment,
                     s.site, s.joint, s.tag, s.place, d.what, d.from_utc, d.until_utc, s.verdict
              FROM due d JOIN sessions s ON s.session = d.session) AS each_due
        ORDER BY rank, moment, joint
        """,
        _plain(now),
    )
    heads = ("stands", "site", "joint", "tag", "place", "what", "from", "until", "verdict")
    return Answer(title="Due", heads=heads, rows=tuple(rows))


def decisions(found: Connection, now: datetime) -> Answer:
    """Joints that wait for a lead's ruling, the longest waiting first."""
    rows = _asked(
        found,
        """
        SELECT s.site, s.joint, s.tag, s.verdict, count(*), min(s.opened), string_agg(d.text, ' | ' ORDER BY d.text)
        FROM decisions d JOIN sessions s ON s.session = d.session
        GROUP BY s.session, s.site, s.joint, s.tag, s.verdict ORDER BY min(s.opened)
        """,
    )
    del now
    heads = ("site", "joint", "tag", "verdict", "things", "opened", "what")
    return Answer(title="To be decided", heads=heads, rows=tuple(rows))


def repeats(found: Connection, now: datetime) -> Answer:
    """Bolts that were skipped, kept outside their window, or done again, by joint kind."""
    rows = _asked(
        found,
        """
        WITH bolts AS (SELECT s.kind, count(*) AS n FROM readings r JOIN sessions s ON s.session = r.session
                       WHERE r.status <> 'open' GROUP BY s.kind),
             hits AS (SELECT s.kind, h.kind AS what, count(*) AS n, count(DISTINCT s.session) AS sessions
                      FROM happenings h JOIN sessions s ON s.session = h.session
                      WHERE h.kind IN ('skipped', 'kept outside window', 'outside window', 'corrected', 'bolt replaced',
                                       'pass done over', 'gasket disturbed') GROUP BY s.kind, h.kind)
        SELECT hits.kind, what, sessions, hits.n, bolts.n FROM hits JOIN bolts ON bolts.kind = hits.kind
        ORDER BY 1.0 * hits.n / bolts.n DESC, hits.kind, what
        """,
    )
    del now
    shown = tuple((*row, *_share(row[3], row[4])) for row in rows)
    return Answer(
        title="Skipped, kept and done again",
        heads=("joint kind", "what", "sessions", "times", "bolt visits", "a hundred visits", "95 % from", "to"),
        rows=shown,
        notes=("A visit is one bolt in one pass or round. Intervals are Wilson's and take visits as independent.",),
        bars=tuple(Bar(name=f"{row[0]}: {row[1]}", low=row[6], middle=row[5], high=row[7]) for row in shown),
        unit="times in a hundred visits, with 95 % intervals",
    )


def rounds(found: Connection, now: datetime) -> Answer:
    """How many circular rounds it takes until no nut moves, by joint kind."""
    rows = _asked(
        found,
        """
        WITH last AS (SELECT session, group_name, max(round) AS n FROM readings
                      WHERE pass_kind IN ('circular', 'seat') AND phase <> 're-check' AND movement <> ''
                      GROUP BY session, group_name)
        SELECT s.kind, count(*), min(n), percentile_cont(0.5) WITHIN GROUP (ORDER BY n),
               percentile_cont(0.9) WITHIN GROUP (ORDER BY n), max(n)
        FROM last JOIN sessions s ON s.session = last.session GROUP BY s.kind ORDER BY s.kind
        """,
    )
    del now
    heads = ("joint kind", "bolt groups", "fewest", "median", "90 %", "most")
    return Answer(
        title="Rounds until nothing moves",
        heads=heads,
        rows=tuple(rows),
        bars=tuple(Bar(name=row[0], low=row[2], middle=row[3], high=row[4]) for row in rows),
        unit="rounds: fewest, median, 90 %",
    )


def drift(found: Connection, now: datetime) -> Answer:
    """Reading minus setting by wrench over time, with its control chart."""
    points = _asked(
        found,
        """
        SELECT wrench, max(at_utc) AS moment, 100 * avg((value_nm - setting_nm) / setting_nm), count(*)
        FROM readings WHERE value_nm IS NOT NULL AND setting_nm > 0 AND wrench <> ''
          AND how IN ('reading spoken', 'reading typed') GROUP BY wrench, session ORDER BY wrench, moment
        """,
    )
    dues = _asked(
        found,
        """
        SELECT coalesce(nullif(t.serial, ''), t.name) AS serial, t.calibration_due, min(s.opened) AS used
        FROM tools t JOIN sessions s ON s.session = t.session WHERE t.calibration_due IS NOT NULL
        GROUP BY 1, 2 ORDER BY 1, 3
        """,
    )
    dues_of = {serial: [each[1:] for each in group] for serial, group in groupby(dues, key=lambda due: due[0])}
    rows: list[tuple[Any, ...]] = []
    charts: dict[str, Control] = {}
    for wrench, group in groupby(points, key=lambda point: point[0]):
        mine = list(group)
        values = tuple(float(each[2]) for each in mine)
        made = chart(values)
        periods = dues_of.get(wrench, [])
        stands, since = f"fewer than {FEWEST} sessions" if made is None else "in control", None
        if made is not None:
            charts[wrench] = Control(
                times=tuple(each[1] for each in mine), values=values, chart=made, marks=_marks(mine, periods)
            )
            earlier = [at for at in made.out if at >= BASE]
            if len(values) <= BASE:
                stands = f"fewer than {BASE} sessions to compare with"
            elif made.since is not None:
                stands, since = "OUT now", mine[made.since][1]
            elif earlier:
                stands, since = f"was out {len(earlier)} times, inside now", mine[earlier[-1]][1]
        centre = None if made is None else round(made.centre, 2)
        last = None if made is None else round(made.smooth[-1], 2)
        readings, until = sum(each[3] for each in mine), max((end for end, _ in periods), default=None)
        rows.append((wrench, len(values), readings, centre, last, stands, since, until))
    rows.sort(key=lambda row: (not row[5].startswith("OUT"), not row[5].startswith("was out"), row[0]))
    del now
    return Answer(
        title="Reading minus setting, by wrench",
        heads=("wrench", "sessions", "readings", "centre %", "now %", "stands", "since", "calibrated until"),
        rows=tuple(rows),
        notes=(
            "A point is one session's mean of (reading - setting) / setting. Centre and spread come from the first "
            f"{BASE}; those after are judged: single values at 3 sigma and an EWMA (weight 0.2, 2.962 sigma), both "
            "widened by what is not known of centre and spread. One point in 200 of a clean wrench lies outside, so at "
            "any one look about one clean wrench in 200 is OUT now, and over a year many were once. A shift by one "
            "standard deviation is found after 18 sessions, by two after 5 (medians, simulated with normal values).",
            "It shows what was read against what was set. A wrench whose scale is wrong by as much as its clicks or "
            "its dial stays in control here: only calibration finds that.",
        ),
        charts=charts,
    )


def _marks(points: Sequence[tuple[Any, ...]], periods: Sequence[tuple[Any, Any]]) -> tuple[tuple[int, str], ...]:
    """Where a wrench came back with another calibration date, and where it was used after its calibration ended.

    Args:
        points: of one wrench, by time; the moment comes second.
        periods: (calibrated until, first used with that date), by first use.
    """
    moments = [each[1] for each in points]
    places = [bisect_left(moments, used) for _, used in periods]
    marks: list[tuple[int, str]] = []
    for number, ((end, _), begins) in enumerate(zip(periods, places, strict=True)):
        if number:
            marks.append((begins, f"calibrated until {end}"))
        over = bisect_left(moments, datetime.combine(end + timedelta(days=1), time()), lo=begins)
        if over < (places[number + 1] if number + 1 < len(places) else len(moments)):
            marks.append((over, f"calibration ended {end}"))
    return tuple(marks)


def relaxation(found: Connection, now: datetime) -> Answer:
    """Nuts that moved at a re-check: by joint kind, by bolt of a kind, and by joint."""
    rows = _asked(
        found,
        """
        SELECT s.kind, r.group_name, r.bolt, s.joint, s.tag, count(*) FILTER (WHERE r.movement = 'moved'), count(*),
               count(DISTINCT s.session)
        FROM readings r JOIN sessions s ON s.session = r.session
        WHERE r.phase = 're-check' AND r.round = 1 AND r.movement <> ''
        GROUP BY GROUPING SETS ((s.kind), (s.kind, r.group_name, r.bolt), (s.kind, s.joint, s.tag))
        ORDER BY s.kind, r.bolt NULLS FIRST, s.joint NULLS FIRST
        """,
    )
    del now

    def of(row: tuple[Any, ...]) -> str:
        if row[2] is not None:
            return f"{row[1]} bolt {row[2]}, all joints"
        return "all" if row[3] is None else f"{row[3]} [{row[4]}]" if row[4] else str(row[3])

    shown = [(row[0], of(row), row[7], row[5], row[6], *_share(row[5], row[6])) for row in rows]
    order = {"all": 0}
    shown.sort(key=lambda row: (row[0], order.get(row[1], 1), -row[5], row[1]))
    return Answer(
        title="Nuts that moved at the re-check",
        heads=("joint kind", "of", "re-checks", "moved", "bolts", "a hundred", "95 % from", "to"),
        rows=tuple(shown),
        notes=(
            "Only the first round of each re-check counts. Intervals are Wilson's and take bolts as independent. A nut "
            "that held may have lost preload below the torque of the re-check; only a measured preload shows that.",
        ),
        bars=tuple(
            Bar(name=f"{row[0]}: {row[1]}", low=row[6], middle=row[5], high=row[7])
            for row in shown
            if row[1] == "all" or " bolt " in row[1]
        ),
        unit="moved in a hundred, with 95 % intervals",
    )


def pace(found: Connection, now: datetime) -> Answer:
    """Seconds from one recorded bolt to the next, by joint kind and pass."""
    rows = _asked(
        found,
        f"""
        SELECT s.kind, r.pass_kind, count(*), {_SPREAD}
        FROM readings r JOIN sessions s ON s.session = r.session WHERE r.seconds IS NOT NULL GROUP BY 1, 2 ORDER BY 1, 2
        """,
    )
    del now
    shown = tuple((*row[:3], *(round(float(value), 1) for value in row[3:])) for row in rows)
    return Answer(
        title="Time from bolt to bolt",
        heads=("joint kind", "pass", "bolts", "10 % s", "median s", "90 % s"),
        rows=shown,
        notes=("Breaks over 30 minutes are left out.",),
        bars=tuple(Bar(name=f"{row[0]}: {row[1]}", low=row[3], middle=row[4], high=row[5]) for row in shown),
        unit="seconds from bolt to bolt: 10 %, median, 90 %",
    )


_SPREAD = ", ".join(f"percentile_cont({share}) WITHIN GROUP (ORDER BY r.seconds)" for share in (0.1, 0.5, 0.9))
_NOISE = """CASE WHEN u.snr_db IS NULL THEN 'not known' WHEN u.snr_db < 5 THEN 'under 5 dB'
                 WHEN u.snr_db < 15 THEN '5 to 15 dB' ELSE 'over 15 dB' END"""


def questions(found: Connection, now: datetime) -> Answer:
    """How often the assistant had to ask about a value: by place, noise, listeners' models and microphone."""
    rows = _asked(
        found,
        f"""
        SELECT site, place, noise, models, microphone, grouping(site), grouping(place), grouping(noise),
               grouping(models), grouping(microphone), count(*) FILTER (WHERE decision = 'ask'), count(*)
        FROM (SELECT s.site, s.place, {_NOISE} AS noise, s.listeners || ' ' || s.models AS models, s.microphone,
                     u.decision
              FROM utterances u JOIN sessions s ON s.session = u.session WHERE u.kind = 'value') AS each_value
        GROUP BY GROUPING SETS ((), (site), (place), (noise), (models), (microphone))
        """,
    )
    del now
    kinds = ("site", "place", "noise", "listeners", "microphone")
    shown = []
    for row in rows:
        by = [(kind, row[at]) for at, kind in enumerate(kinds) if row[5 + at] == 0]
        kind, name = by[0] if by else ("all", "")
        if row[11]:
            shown.append((kind, name or "not recorded" * bool(by), row[10], row[11], *_share(row[10], row[11])))
    order = ("all", *kinds)
    shown.sort(key=lambda row: (order.index(row[0]), -row[4], row[1]))
    return Answer(
        title="Questions about values",
        heads=("by", "of", "asked", "values", "a hundred", "95 % from", "to"),
        rows=tuple(shown),
        notes=(
            "Utterances whose best meaning was a value. Intervals are Wilson's and take utterances as independent.",
        ),
        bars=tuple(
            Bar(name=f"{row[0]} {row[1]}", low=row[5], middle=row[4], high=row[6]) for row in shown if row[0] != "place"
        ),
        unit="asked in a hundred values, with 95 % intervals",
    )


def calibration(found: Connection, now: datetime) -> Answer:
    """Tools whose calibration has ended or ends soon, with the work done after the end."""
    rows = _asked(
        found,
        """
        SELECT CASE WHEN until < $1 THEN 'ended' WHEN until < $2 THEN 'ends soon' ELSE 'was used late' END AS stands,
               serial, kind, until, sessions, late, used
        FROM (SELECT coalesce(nullif(t.serial, ''), t.name) AS serial, min(t.kind) AS kind,
                     max(t.calibration_due) AS until, max(s.opened) AS used, count(DISTINCT s.session) AS sessions,
                     count(DISTINCT s.session) FILTER (WHERE s.opened > t.calibration_due + INTERVAL '1 day') AS late
              FROM tools t JOIN sessions s ON s.session = t.session WHERE t.calibration_due IS NOT NULL
              GROUP BY 1) AS tool
        WHERE until < $2 OR late > 0 ORDER BY until, serial
        """,
        now.date(),
        now.date() + timedelta(days=SOON_DAYS),
    )
    heads = ("stands", "tool", "kind", "calibrated until", "sessions", "after its end", "last used")
    return Answer(
        title="Calibrations",
        heads=heads,
        rows=tuple(rows),
        notes=(
            f"Soon is within {SOON_DAYS} days. The dates are those of the joint files that the tools were used with.",
        ),
    )


def people(found: Connection, now: datetime) -> Answer:
    """Pace and questions by person, for those who agreed to it."""
    rows = _asked(
        found,
        f"""
        WITH each_one AS (SELECT DISTINCT p.name, p.role, p.session FROM people p),
             paced AS (SELECT e.name, e.role, count(DISTINCT e.session) AS sessions, count(r.seconds) AS bolts,
                              {_SPREAD}
                       FROM each_one e JOIN readings r ON r.session = e.session GROUP BY e.name, e.role),
             asked AS (SELECT e.name, e.role, count(*) FILTER (WHERE u.decision = 'ask') AS asked, count(*) AS n
                       FROM each_one e JOIN utterances u ON u.session = e.session AND u.kind = 'value'
                       GROUP BY e.name, e.role)
        SELECT paced.*, coalesce(asked.asked, 0), coalesce(asked.n, 0)
        FROM paced LEFT JOIN asked ON asked.name = paced.name AND asked.role = paced.role ORDER BY 1, 2
        """,
    )
    del now
    shown = tuple(
        (*row[:4], *(None if v is None else round(float(v), 1) for v in row[4:7]), *row[7:], *_share(row[7], row[8]))
        for row in rows
    )
    return Answer(
        title="People who agreed",
        heads=(
            *("name", "role", "sessions", "bolts", "10 % s", "median s", "90 % s"),
            *("asked", "values", "a hundred", "95 % from", "to"),
        ),
        rows=shown,
        notes=(
            "Only names that were given with `add --person`, each of somebody who agreed. Joints, noise and tools "
            "differ: these figures compare no two people.",
        ),
    )


def relisten(found: Connection, now: datetime) -> Answer:
    """Entries that today's listeners doubt, by how they differ from what was recorded."""
    rows = _asked(
        found,
        """
        SELECT s.site, s.joint, s.tag, r.utterance, r.line, r.recorded, r.now, r.probability_now, r.models, s.path
        FROM relistened r JOIN sessions s ON s.session = r.session WHERE r.grave ORDER BY r.probability_now DESC, s.path
        """,
    )
    counts = _asked(
        found, "SELECT verdict, count(*) FROM relistened WHERE utterance <> '' GROUP BY 1 ORDER BY 2 DESC, 1"
    )
    heard = sum(count for _, count in counts)
    del now
    share, low, high = _share(len(rows), heard) if heard else (0.0, 0.0, 100.0)
    return Answer(
        title="Recorded as one thing, surely heard as another today",
        heads=(
            "site",
            "joint",
            "tag",
            "recording",
            "line",
            "recorded",
            "heard today",
            "probability",
            "models",
            "session",
        ),
        rows=tuple(rows),
        notes=(
            f"{heard} utterances were heard again: {', '.join(f'{n} {verdict}' for verdict, n in counts) or 'none'}. "
            f"Doubted {share:g} in a hundred (95 % from {low:g} to {high:g}). Listen to each yourself; "
            "`assistant archive relisten` hears what has come since.",
        ),
    )


QUESTIONS: dict[str, Callable[[Connection, datetime], Answer]] = {
    "due": due,
    "decisions": decisions,
    "repeats": repeats,
    "rounds": rounds,
    "drift": drift,
    "relaxation": relaxation,
    "pace": pace,
    "questions": questions,
    "calibration": calibration,
    "people": people,
    "relisten": relisten,
}
"""By the word that they are asked with."""


def _share(hits: int, of: int) -> tuple[float, float, float]:
    """A share in percent with its interval; (0, 0, 100) without any case."""
    low, high = wilson(hits, of)
    return round(100 * hits / of, 2) if of else 0.0, round(100 * low, 2), round(100 * high, 2)


def _plain(when: datetime) -> datetime:
    return when.replace(tzinfo=None) - (when.utcoffset() or timedelta(0))
