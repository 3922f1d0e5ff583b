"""`assistant verify`, in-process: what it prints and with what it exits."""

import json
from pathlib import Path

import pytest

from assistant.cli.main import parser
from assistant.cli.verify import run
from assistant.errors import BadSettings
from assistant.journal.keyring import NOTHING_KNOWN
from tests.journal.short_record import basis_beside, sealed_session, unsealed_session
from tests.replay.telling import trusting


def verify(capsys, *arguments, **more):
    args = parser("verify").parse_args(["verify", *map(str, arguments)])
    keys = [basis_beside(folder) for folder in arguments if isinstance(folder, Path)]
    more = {"basis": next((each for each in keys if each.keys), NOTHING_KNOWN)} | more
    assert args.run is run
    status = run(args, **more)
    return status, *capsys.readouterr()


@pytest.fixture
def sealed(tmp_path):
    return sealed_session(tmp_path / "sessions", tmp_path / "keys")


def test_a_good_session_exits_0_and_says_so(capsys, done_session):
    status, out, err = verify(capsys, done_session, basis=trusting(done_session))
    assert (status, err) == (0, "")
    assert out.splitlines()[0] == str(done_session)
    assert out.splitlines()[-2].startswith("  good: ") and out.splitlines()[-2].endswith(" recordings, sealed")
    assert out.splitlines()[-1].startswith("  Complete: ")


def test_a_session_as_recorded_whose_joint_is_not_finished_exits_1(capsys, repairs_session):
    status, out, err = verify(capsys, repairs_session)
    assert (status, err) == (1, "")
    assert out.splitlines()[-2].startswith("  good: ") and out.splitlines()[-1].startswith("  Not finished: next is ")
    status, out, _ = verify(capsys, repairs_session, "--json")
    (document,) = json.loads(out)
    assert status == 1 and document["good"] and document["verdict"] == "open"


def test_a_changed_session_exits_1_and_says_where_and_what_it_looks_like(capsys, sealed):
    raw = (sealed / "journal.jsonl").read_bytes()
    (sealed / "journal.jsonl").write_bytes(raw.replace(b'"312.5"},"bolt"', b'"318.5"},"bolt"'))
    status, out, err = verify(capsys, sealed)
    assert (status, err) == (1, "")
    assert "error   journal.jsonl line 5: The line contradicts itself" in out and "[damage]" in out
    assert out.splitlines()[-1].startswith("  Cannot be trusted: ")
    assert out.splitlines()[-2] == "  CANNOT BE TRUSTED: 6 lines, 2 recordings, sealed; signs of damage"


def test_what_is_no_session_exits_2_and_the_others_are_still_looked_at(capsys, sealed, tmp_path):
    status, out, err = verify(capsys, tmp_path / "nothing", sealed)
    assert status == 2
    assert "nothing is not a folder" in err and "name a session folder" in err
    assert "good: 6 lines" in out


def test_json_is_one_document_and_nothing_else(capsys, sealed, tmp_path):
    unsealed = unsealed_session(tmp_path / "more")
    (unsealed / "notes.txt").write_text("x")
    status, out, _ = verify(capsys, sealed, unsealed, tmp_path / "nothing", "--json")
    assert status == 2
    first, second, third = json.loads(out)
    assert first["session"] == str(sealed) and first["good"] and first["status"] == "sealed"
    assert not second["good"] and [f["code"] for f in second["findings"] if f["severity"] != "note"] == ["file-unknown"]
    assert third["error"]["code"] == "bad-session" and third["error"]["remedy"] and third["good"] is False


def test_the_rebuild_given_is_used(capsys, done_session):
    assert verify(capsys, done_session, rebuild=len, basis=trusting(done_session))[0] == 0
    status, out, _ = verify(capsys, done_session, rebuild=lambda events: events[10**6])
    assert status == 1 and "cannot be rebuilt" in out


def test_hostile_names_cannot_play_with_the_terminal(capsys, sealed):
    (sealed / "\x1b[2J\u202egood").write_text("x")
    status, out, _ = verify(capsys, sealed)
    assert status == 1 and "\x1b" not in out and "\u202e" not in out and "\\u001b[2J" in out


def test_help_has_an_example_and_the_exit_codes(capsys):
    with pytest.raises(SystemExit) as stopped:
        parser("verify").parse_args(["verify", "--help"])
    out = capsys.readouterr().out
    assert stopped.value.code == 0
    assert "examples:" in out and "assistant verify sessions/" in out and "2 not a session" in out


def test_no_session_named_is_bad_input(capsys):
    with pytest.raises(BadSettings, match="no session is named"):
        verify(capsys)
