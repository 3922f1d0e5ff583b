"""Sessions of released programs, read by today's: `tests/releases/VERSION/SESSION`, none of them ever made anew."""

from __future__ import annotations

import shutil
from datetime import datetime, timezone
from pathlib import Path

import pytest

from assistant.cli.archive import Terms, taken
from assistant.cli.session_sources import record_of
from assistant.journal.disk import read_regular
from assistant.journal.keyring import basis_of
from assistant.journal.seal import read_seal
from assistant.journal.sessions import session_folders
from assistant.replay.overview_cache import look

RELEASES = Path(__file__).resolve().parents[1] / "releases"
KEPT = [session for release in sorted(RELEASES.iterdir()) for session in session_folders(release)]
LATER = datetime(2100, 1, 1, tzinfo=timezone.utc)


@pytest.fixture(params=KEPT, ids=lambda session: session.parent.name)
def session(request, tmp_path):
    """A copy with its folder of recordings, which is empty where all was typed; Git keeps no empty folder."""
    copy = Path(shutil.copytree(request.param, tmp_path / request.param.parent.name / request.param.name))
    (copy / "audio").mkdir(exist_ok=True)
    return copy


def basis(session: Path):
    return basis_of([read_seal(read_regular(session / "seal.json"), name="seal.json").public_key])


def test_there_is_a_session_of_each_release():
    assert {session.parent.name for session in KEPT} == {release.name for release in RELEASES.iterdir()} >= {"0.1.0"}


def test_it_is_trusted_whole_and_says_the_same_as_then(session):
    record = record_of(session, basis=basis(session))
    assert record.distrust == () and record.seal is not None and record.seal.fits and record.whole
    assert session.parent.name in record.session.products[0]
    readings = [bolt for done in record.passes if done.kind == "pattern" for bolt in done.bolts]
    assert {bolt.status for bolt in readings} == {"done"}
    assert {str(bolt.achieved.value) for bolt in readings if bolt.achieved} == {"52", "102", "170"}


def test_an_archive_takes_it_in(session):
    pytest.importorskip("duckdb", reason="DuckDB is not installed: pip install 'bolting-assistant[archive]'")
    found = taken(look(session), "content", Terms(basis=basis(session), now=LATER))
    assert found is not None and not isinstance(found, str), found
    values = {row["value_nm"] for row in found.rows["readings"] if row["value_nm"] is not None}
    assert values == {52.0, 102.0, 170.0} and found.rows["sessions"][0]["product"] == "assistant 0.1.0"
