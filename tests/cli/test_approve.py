"""What may be guided is approved: `review --approve` signs file and plan; `guide` says and records what it found."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.cli.session_sources import record_of
from assistant.config.paths import key_folder
from assistant.journal.approval import approval_file, plan_sha256
from assistant.journal.reading import read_session
from assistant.report.record_text import record_text
from tests.journal.test_trust import SECRET

DEMO = Path(__file__).resolve().parents[2] / "demo_joints" / "north-sluice-dn150-flange.toml"
LEAD = "Kim Lead"


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))


@pytest.fixture
def joint(tmp_path):
    copy = tmp_path / "joint.toml"
    copy.write_bytes(DEMO.read_bytes())
    return copy


@pytest.fixture
def secret(tmp_path):
    file = tmp_path / "secret"
    file.write_text(SECRET + "\n")
    return ("--passphrase-file", str(file))


def approved(capsys, joint, secret, *more, key=True):
    if key:
        assert main(["key", "new", "--name", LEAD, *secret]) == 0
    status = main(["review", "--approve", str(joint), "--by", LEAD, *secret, *more])
    return status, *capsys.readouterr()


def guided(tmp_path, joint, monkeypatch, capsys, name):
    """(first words, what the record says of the approval) of a session that was begun."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("status\n"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / name), "--date", "2026-11-25"]
    assert main(["guide", str(joint), *options]) == 1
    capsys.readouterr()
    (folder,) = (tmp_path / name).iterdir()
    spoken = [e.event.text for e in read_session(folder).entries if e.event.kind == "prompt-spoken"]
    return spoken[0], record_of(folder)


def test_an_approved_file_is_guided_as_approved_and_a_changed_one_is_not(tmp_path, joint, secret, monkeypatch, capsys):
    said, record = guided(tmp_path, joint, monkeypatch, capsys, "before")
    assert said == "This joint file is not approved." and record.session.approval == "NOT approved"
    status, out, _ = approved(capsys, joint, secret)
    assert status == 0 and f"approved by {LEAD}" in out
    said, record = guided(tmp_path, joint, monkeypatch, capsys, "approved")
    assert said == f"Approved by {LEAD}." and f"approved by {LEAD} on 20" in record.session.approval
    assert "instruction revision" in record.session.approval and "Approval" in record_text(record)
    joint.write_text(joint.read_text("utf-8") + "\n# a remark\n", "utf-8")
    said, record = guided(tmp_path, joint, monkeypatch, capsys, "changed")
    assert said == f"Not approved: the joint file has changed since {LEAD} approved it."
    assert record.session.approval.startswith(f"NOT approved: changed since {LEAD}")
    assert approved(capsys, joint, secret, "--json", key=False)[0] == 0  # approved anew as it is now
    assert guided(tmp_path, joint, monkeypatch, capsys, "again")[0] == f"Approved by {LEAD}."


def test_an_approval_by_nobody_known_or_in_another_name_is_none(tmp_path, joint, secret, monkeypatch, capsys):
    approved(capsys, joint, secret)
    file = approval_file(joint)
    content = json.loads(file.read_text())
    changed = content | {"by": "Somebody Else"}
    file.write_text(json.dumps(changed, sort_keys=True, separators=(",", ":")) + "\n")
    assert "signed by nobody known here" in guided(tmp_path, joint, monkeypatch, capsys, "name")[0]
    file.write_text(json.dumps(content, sort_keys=True, separators=(",", ":")) + "\n")
    main(["key", "revoke", LEAD, "--by", "the owner", "--reason", "left"])
    capsys.readouterr()
    assert "signed by nobody known here" in guided(tmp_path, joint, monkeypatch, capsys, "revoked")[0]
    file.write_text("{}")
    assert "signed by nobody known here" in guided(tmp_path, joint, monkeypatch, capsys, "broken")[0]


def test_a_plan_that_is_computed_otherwise_is_not_what_was_approved():
    plan = {"day": "2026-12-01", "remarks": [1], "groups": [{"target": 170}], "stops": []}
    assert plan_sha256(plan) == plan_sha256(plan | {"day": "2026-12-02", "remarks": []})
    assert plan_sha256(plan) != plan_sha256(plan | {"groups": [{"target": 171}]})


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--approve", "nowhere.toml", "--by", LEAD), "nowhere.toml"),
        (("--approve", str(DEMO)), "nobody is named"),
        (("--approve", str(DEMO), "--by", LEAD), "there is no key of"),
        ((), "no session is named"),
    ],
)
def test_what_is_wrong_is_said(capsys, arguments, told):
    assert main(["review", *arguments]) == 2
    assert told in capsys.readouterr().err and not approval_file(DEMO).exists() and not key_folder().exists()
