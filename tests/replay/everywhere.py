"""Every surface that says something about a joint, asked for the same things, so that tests can compare them."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator

from assistant.replay.comparison import compare
from assistant.replay.facts import Facts
from assistant.replay.record_fields import JointRecord
from assistant.replay.story import tell
from assistant.replay.verdict import COLOURS, HEADINGS, verdict
from assistant.report.page_sound import Sounds
from assistant.report.record_csv import record_csv
from assistant.report.record_tables import headline
from assistant.report.record_text import record_text
from assistant.report.replay_page import replay_page
from assistant.report.session_text import standing

GOOD = ("complete", "accepted")


def agreed_verdict(record: JointRecord, facts: Facts, *, page: bool = True) -> str:
    """The one token that all surfaces give; AssertionError where one gives another."""
    judged = verdict(record)
    token, heading = judged.token, judged.heading
    assert record.verdict == token and record.verdict_words.startswith(f"{heading}: ")
    assert record.complete == (token in GOOD) == (COLOURS[token] == "green")
    assert judged.good == (token in GOOD or (token == "rehearsal" and record.whole))
    assert heading == HEADINGS[token] or token == "rehearsal"
    assert json.loads(record.model_dump_json())["verdict"] == token
    assert headline(record)[0] == heading.upper() and record_text(record).splitlines()[1] == heading.upper()
    assert {row["Verdict"] for row in rows_of(record)} <= {token}
    assert heading in standing(record)[0]
    verdicts = [line for line in compare(record, record).facts if line.name == "Verdict"]
    assert [line.first for line in verdicts] == [record.verdict_words]
    if page:
        text = replay_page(tell(record, facts), Sounds())
        assert re.findall(r'data-verdict="([^"]*)"', text) == [token]
        assert re.findall(r'class="verdict (\w+)"', text) == [COLOURS[token]]
        assert ("To be decided" in text) == bool(record.decisions and token != "accepted")
    return token


def rows_of(record: JointRecord) -> list[dict[str, str]]:
    """The rows of the table for a spreadsheet."""
    return list(csv.DictReader(io.StringIO(record_csv(record))))


def lines_named(part: object) -> Iterator[tuple[str, int]]:
    """Every line of the journal that a record names, with the part that names it."""
    fields = getattr(type(part), "model_fields", None)
    if fields is None:
        if isinstance(part, tuple):
            for each in part:
                yield from lines_named(each)
        return
    for name in fields:
        value = getattr(part, name)
        if (name == "line" or name.endswith("_line")) and isinstance(value, int):
            yield type(part).__name__, value
        else:
            yield from lines_named(value)
