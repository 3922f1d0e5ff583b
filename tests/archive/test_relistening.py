"""Many sessions heard again on a real Dask cluster of several workers: once, resumed, retried; real listeners, too."""

from __future__ import annotations

import json

import pytest

pytest.importorskip("distributed", reason="Dask is not installed: pip install 'bolting-assistant[archive]'")

from distributed import LocalCluster

from assistant.archive import relistening
from assistant.archive.relistening import jobs, relisten
from assistant.archive.store import Archive
from assistant.cli import archive as command
from assistant.cli.main import parser
from assistant.errors import BadSettings, RecordNotWritable
from tests.archive import heard_again
from tests.archive.simulated import session
from tests.report.sessions_made import SessionMaker

pytestmark = pytest.mark.allow_hosts(["127.0.0.1"])


@pytest.fixture(scope="module")
def cluster():
    """Three workers of this machine, reached by the scheduler's address alone."""
    with LocalCluster(
        n_workers=3, threads_per_worker=1, host="127.0.0.1", dashboard_address="127.0.0.1:0", silence_logs=50
    ) as made:
        yield made.scheduler_address


@pytest.fixture
def store(tmp_path, monkeypatch):
    """Twelve sessions in an archive, heard in chunks of two; each path is a folder where the workers count."""
    monkeypatch.setattr(relistening, "MOST_SESSIONS", 2)
    made = Archive(tmp_path / "a")
    sessions = [session(number) for number in range(12)]
    (tmp_path / "count").mkdir()
    for each in sessions:
        each.rows["sessions"][0]["path"] = str(tmp_path / "count")
        each.rows["sessions"][0]["sound_seconds"] = 1.0
    made.add(sessions)
    return made


def counted(tmp_path):
    return [path.read_text() for path in sorted((tmp_path / "count").iterdir()) if path.name != "died"]


def kept(store):
    with store.connection() as found:
        return found.execute("SELECT count(*), count(DISTINCT session) FROM relistened", []).fetchall()[0]


def test_each_session_is_heard_once_and_never_again_by_the_same_models(store, cluster, tmp_path):
    done = relisten(store, heard_again.hear, "m", workers=1, scheduler=cluster)
    assert (done.sessions, done.utterances, done.sound_s, done.failed) == (12, 12, 12.0, ())
    assert relisten(store, heard_again.hear, "m", workers=1, scheduler=cluster).sessions == 0
    assert counted(tmp_path) == ["x"] * 12 and kept(store) == (12, 12)
    assert relisten(store, heard_again.hear, "n", workers=1, scheduler=cluster).sessions == 12


def test_a_worker_killed_in_the_middle_loses_nothing_and_counts_nothing_twice(store, cluster, tmp_path):
    done = relisten(store, heard_again.die_once, "m", workers=1, scheduler=cluster)
    assert (done.sessions, done.failed) == (12, ()) and kept(store) == (12, 12)
    assert (tmp_path / "count" / "died").exists()


def test_a_run_that_was_stopped_goes_on_where_it_was(store, cluster, tmp_path, monkeypatch):
    real, number = store.add_relistened, []

    def full(rows):
        number.append(len(rows))
        if len(number) == 3:
            raise RecordNotWritable("No space left", remedy="")
        return real(rows)

    monkeypatch.setattr(store, "add_relistened", full)
    with pytest.raises(RecordNotWritable):
        relisten(store, heard_again.hear, "m", workers=1, scheduler=cluster)
    monkeypatch.undo()
    assert kept(store) == (4, 4) and len(jobs(store, "m")) == 8
    assert relisten(store, heard_again.hear, "m", workers=1, scheduler=cluster).sessions == 8
    assert kept(store) == (12, 12)


def test_what_cannot_be_heard_is_named_and_the_rest_is_kept(store, cluster):
    done = relisten(store, heard_again.refuse, "m", workers=1, scheduler=cluster)
    assert done.sessions == 6 and len(done.failed) == 6 and kept(store) == (6, 6)
    raised = relisten(store, heard_again.refuse, "raises", workers=1, scheduler=cluster)
    assert raised.sessions == 0 and {why for _, why in raised.failed} == {"out of order"}


def test_a_scheduler_that_is_not_there_is_said(store, monkeypatch):
    with pytest.raises(BadSettings, match="cannot be reached"):
        relisten(store, heard_again.hear, "m", workers=1, scheduler="nonsense://x")


def call(capsys, *arguments):
    args = parser("archive").parse_args(["archive", *map(str, arguments)])
    return command.run(args), *capsys.readouterr()


def test_the_real_listeners_hear_the_sound_of_a_session_again_on_the_cluster(capsys, cluster, own_home, tmp_path):
    sessions = tmp_path / "sessions"
    maker = SessionMaker(sessions)
    maker.phrase()
    maker.phrase()
    maker.store.close()
    call(capsys, "add", maker.folder, "--archive", tmp_path / "a")
    status, out, _ = call(capsys, "relisten", "--archive", tmp_path / "a", "--scheduler", cluster, "--json")
    document = json.loads(out)
    assert status in (0, 1) and document["sessions"] == 1 and document["utterances"] == 2 and not document["failed"]
    assert document["sound_s"] > 0.5 and document["spent_s"] > 0
    assert call(capsys, "ask", "relisten", "--archive", tmp_path / "a")[1].count("2 utterances were heard again") == 1
    again = json.loads(call(capsys, "relisten", "--archive", tmp_path / "a", "--scheduler", cluster, "--json")[1])
    assert again["sessions"] == 0
