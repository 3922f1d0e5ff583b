"""The table of sessions: what comes first, how time is told, copies and vanished ones, and a cache that cannot lie."""

from __future__ import annotations

import json
import shutil
from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.replay.overview import (
    Due,
    Row,
    counted,
    due_words,
    moved,
    overview,
    row_from_json,
    span_words,
    standing,
    unreadable,
)
from assistant.replay.overview_cache import FILES, RowCache, keys_of, look
from assistant.report.overview_text import overview_html, overview_text

NOW = datetime(2026, 12, 1, 6, 0, tzinfo=timezone.utc)


def at(hours: float) -> str:
    return (NOW + timedelta(hours=hours)).isoformat(timespec="seconds")


def row(name: str, verdict: str = "complete", **more) -> Row:
    return Row(folder=f"/s/{name}", first=more.pop("first", name), joint=name, verdict=verdict, words=verdict, **more)


def test_overdue_comes_first_then_due_then_to_come_then_to_decide_then_the_rest():
    rows = [
        row("rest"),
        row("decide", "to-decide", decisions=("bolt 2 kept",)),
        row("later", "open", due=(Due(what="after settling time", from_utc=at(3)),)),
        row("sooner", "open", due=(Due(what="after settling time", from_utc=at(1)),)),
        row("now", "open", due=(Due(what="bolt 5"),)),
        row("overdue", "open", due=(Due(what="cold re-check", from_utc=at(-50), until_utc=at(-2)),)),
        row("long overdue", "complete", due=(Due(what="hot re-check", from_utc=at(-90), until_utc=at(-40)),)),
        row("played", "rehearsal", how="rehearsal"),
    ]
    found = overview(rows, now=NOW, names={})
    assert [each.joint for each in found.work] == [
        "long overdue",
        "overdue",
        "now",
        "sooner",
        "later",
        "decide",
        "rest",
    ]
    assert [each.joint for each in found.played] == ["played"]
    assert counted(found) == "7 sessions: 4 open, 1 to-decide, 2 complete; 1 rehearsal"


@pytest.mark.parametrize(
    ("due", "words"),
    [
        (Due(what="x", from_utc=at(-50), until_utc=at(-2)), "x, overdue by 2 h"),
        (Due(what="x", from_utc=at(-1), until_utc=at(72)), "x, now; 3 days left"),
        (Due(what="x", from_utc=at(1.5)), "x, in 1 h 30 min"),
        (Due(what="x", from_utc=at(-5)), "x, now (since 5 h)"),
        (Due(what="x"), "x, now"),
    ],
)
def test_time_is_told_as_people_tell_it(due, words):
    assert due_words(due, NOW) == words


@given(st.floats(-200, 200), st.floats(0, 100))
def test_an_item_is_to_come_then_due_then_overdue_and_never_goes_back(start, length):
    due = Due(what="x", from_utc=at(start), until_utc=at(start + length))
    kinds = [standing(due, NOW + timedelta(hours=hour))[0] for hour in range(-400, 400, 7)]
    assert kinds == sorted(kinds, key=[2, 1, 0].index) and {kinds[0], kinds[-1]} == {2, 0}


@given(st.floats(0, 10**7))
def test_a_span_never_reads_longer_than_it_is_by_more_than_its_last_figure(seconds):
    number, unit = span_words(seconds).split(" ")[:2]
    scale = {"min": 60, "h": 3600, "days": 86400}[unit]
    assert abs(int(number) * scale - seconds) <= scale


def test_a_copy_is_counted_once_and_the_register_says_which_is_the_original():
    rows = [row("a-copy", first="f1"), row("b-original", first="f1"), row("c", first="f2")]
    found = overview(rows, now=NOW, names={"f1": "b-original"})
    assert sorted(each.joint for each in found.work) == ["b-original", "c"]
    ((original, copies),) = found.copies
    assert original.joint == "b-original" and [each.joint for each in copies] == ["a-copy"]


def test_folders_of_which_nothing_can_be_read_are_no_copies_of_each_other():
    found = overview([unreadable("/s/1", "why"), unreadable("/s/2", "why")], now=NOW, names={})
    assert len(found.work) == 2 and found.copies == ()


def test_the_text_names_everything_that_a_lead_must_know():
    rows = [
        row("Pump 2", "untrusted", tag="NS-1", trouble=("a key that nobody knows",)),
        row("other", "open", due=(Due(what="bolt 5"),), signer="this machine"),
        row("copy", first="other"),
    ]
    text = overview_text(overview(rows, now=NOW, names={"other": "other"}, vanished=["20260101-gone"]), now=NOW)
    for said in ("Pump 2 [NS-1]", "untrusted", "nobody", "a key that nobody knows", "bolt 5, now", "this machine"):
        assert said in text
    assert "copies of other, counted once: copy" in text and "vanished: 20260101-gone" in text


def test_hostile_names_are_only_text_on_page_and_terminal():
    bad = "<img src=x onerror=alert(1)>\x1b[31m\u202e"
    found = overview([row(bad, place=bad, decisions=(bad,), due=(Due(what=bad),))], now=NOW, names={}, vanished=[bad])
    page, text = overview_html(found, now=NOW, title=bad), overview_text(found, now=NOW)
    assert "<img" not in page and "\x1b" not in page + text and "\u202e" not in page + text


def test_a_row_survives_its_way_through_the_cache():
    kept = row("a", "open", due=(Due(what="x", from_utc=at(1)),), decisions=("one", "two"), trouble=("t",))
    assert row_from_json(json.loads(json.dumps(kept.as_json()))) == kept
    assert moved(kept, "/t/a").folder == "/t/a"
    with pytest.raises(ValueError, match="fields"):
        row_from_json(kept.as_json() | {"more": 1})


@pytest.fixture
def session(tmp_path, done_session):
    folder = tmp_path / "sessions" / done_session.name
    shutil.copytree(done_session, folder)
    return folder


@pytest.mark.parametrize("name", FILES)
def test_one_changed_byte_of_any_file_makes_the_row_anew(session, name):
    before = look(session)
    path = session / name
    path.write_bytes((path.read_bytes() if path.exists() else b"") + b"x")
    after = look(session)
    assert before.own != after.own and before.folder == after.folder


def test_a_file_that_went_makes_the_row_anew_and_so_does_a_recording(session):
    before = look(session)
    shutil.rmtree(session / "audio")
    assert look(session).own != before.own
    before = look(session)
    (session / "seal.json").unlink()
    assert look(session).own != before.own


def test_the_key_changes_with_trust_register_name_and_the_sessions_beside(session):
    one = look(session)
    keys = [
        keys_of([one], basis="a", registered={})[session],
        keys_of([one], basis="b", registered={})[session],
        keys_of([one], basis="a", registered={one.first: "line"})[session],
    ]
    beside = session.with_name(session.name + "--2")
    shutil.copytree(session, beside)
    keys.append(keys_of([look(session), look(beside)], basis="a", registered={})[session])
    other = session.with_name("20270101T000000Z-another-joint")
    shutil.copytree(session, other)
    keys.append(keys_of([look(other)], basis="a", registered={})[other])
    assert len(set(keys)) == len(keys)


def test_the_cache_gives_back_what_it_was_given_and_forgets_what_no_longer_holds(tmp_path):
    file = tmp_path / "deep" / "rows.sqlite"
    with RowCache(file) as cache:
        cache.keep(tmp_path, {"k1": row("a"), "k2": row("b")}, current=["k1", "k2"])
    with RowCache(file) as cache:
        assert cache.rows(["k1", "k2", "k3"]) == {"k1": row("a"), "k2": row("b")}
        cache.keep(tmp_path, {"k3": row("c")}, current=["k1", "k3"])
        assert set(cache.rows(["k1", "k2", "k3"])) == {"k1", "k3"}


@pytest.mark.parametrize("damage", [b"", b"no database at all" * 100])
def test_a_damaged_cache_costs_time_only(tmp_path, damage):
    file = tmp_path / "rows.sqlite"
    file.write_bytes(damage)
    with RowCache(file) as cache:
        cache.keep(tmp_path, {"k": row("a")})
        assert cache.rows(["k"]) == {"k": row("a")}


def test_a_cache_that_cannot_be_written_is_gone_on_without(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with RowCache(tmp_path / "file" / "rows.sqlite") as cache:
        cache.keep(tmp_path, {"k": row("a")})
        assert cache.rows(["k"]) == {}
