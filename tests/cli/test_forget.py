"""`assistant forget`, in-process: the voices go, the record stays whole, and what happened is signed."""

import json
import shutil

import pytest

from assistant.cli.main import main
from assistant.cli.session_sources import record_of
from assistant.config.paths import key_folder
from assistant.journal.keyring import read_basis
from assistant.journal.verify import verify
from assistant.replay.rebuild import rebuild_state

pytestmark = pytest.mark.usefixtures("own_home")
BY = ("--by", "the lead")


@pytest.fixture
def folder(done_session, tmp_path):
    shutil.copytree(done_session, tmp_path / "sessions" / done_session.name)
    return tmp_path / "sessions" / done_session.name


def forget(capsys, *arguments):
    status = main(["forget", *map(str, arguments)])
    return status, *capsys.readouterr()


def sounds(folder):
    return sorted(path.name for path in (folder / "audio").iterdir())


def report(folder):
    return verify(folder, rebuild=rebuild_state, basis=read_basis(key_folder()))


def test_a_session_without_its_sound_is_as_good_as_before_and_says_so(capsys, folder):
    before = record_of(folder)
    count = len(sounds(folder))
    journal = (folder / "journal.jsonl").read_bytes()
    status, out, _ = forget(capsys, folder, *BY)
    assert status == 0 and f"{count} recordings would be erased" in out and len(sounds(folder)) == count > 50
    status, out, _ = forget(capsys, folder, *BY, "--reason", "house rule", "--yes", "--json")
    assert status == 0 and json.loads(out) == [{"session": str(folder), "recordings": count, "erased": True}]
    assert sounds(folder) == [] and (folder / "journal.jsonl").read_bytes() == journal
    found = report(folder)
    assert found.good and found.trust.trusted
    assert any("erased by the lead: house rule" in remark for remark in found.trust.remarks)
    after = record_of(folder)
    assert after.complete == before.complete and after.verdict == before.verdict and after.missing == ()
    assert [ruling.kind for ruling in after.review.rulings] == ["begun", "erased"]
    assert main(["verify", str(folder)]) == 0
    assert forget(capsys, folder, *BY, "--yes")[0] == 1


def test_a_recording_taken_away_by_hand_is_still_missed(capsys, folder):
    victim = next((folder / "audio").iterdir())
    victim.unlink()
    assert forget(capsys, folder, *BY, "--yes")[0] == 0
    assert [f.code for f in report(folder).findings if f.severity != "note"] == ["audio-missing"]


def test_the_review_that_tells_of_it_cannot_be_taken_away(capsys, folder):
    forget(capsys, folder, *BY, "--yes")
    for name in ("review.jsonl", "review-seal.json"):
        (folder / name).unlink()
    codes = {f.code for f in report(folder).findings if f.severity != "note"}
    assert codes == {"audio-missing", "register-review-missing"}


def test_only_what_is_older_than_so_many_days_goes(capsys, folder):
    place = folder.parent
    assert forget(capsys, "--older-than", 100_000, "--in", place, *BY, "--yes")[0] == 1 and sounds(folder)
    assert forget(capsys, "--older-than", 0, "--in", place, *BY, "--yes")[0] == 0 and not sounds(folder)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (BY, "no session is named"),
        (("--older-than", "3"), "nobody is named"),
        (("--older-than", "-3", *BY), "--older-than is -3"),
        (("nowhere", *BY), "nowhere"),
        (("nowhere", "--by", "a\x1b[2J"), "nobody is named"),
    ],
)
def test_what_is_wrong_is_said(capsys, arguments, told):
    status, _, err = forget(capsys, *arguments)
    assert status == 2 and told in err and "\x1b" not in err
