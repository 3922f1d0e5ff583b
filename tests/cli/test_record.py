"""`record`, `compare` and `relisten`, in-process: what they print and write, exit codes, bad input of every kind."""

from __future__ import annotations

import csv
import json
import shutil

import pytest

from assistant.cli.main import main
from assistant.replay.record_fields import JointRecord, record_schema

pytestmark = pytest.mark.usefixtures("own_home")


def run(capsys, *arguments) -> tuple[int, str, str]:
    status = main([str(each) for each in arguments])
    out, err = capsys.readouterr()
    return status, out, err


def test_record_prints_the_answer_first_and_exits_by_it(capsys, done_session, repairs_session):
    status, out, err = run(capsys, "record", done_session)
    assert status == 0 and err == "" and out.splitlines()[1] == "COMPLETE"
    status, out, _ = run(capsys, "record", repairs_session)
    assert status == 1 and out.splitlines()[1] == "NOT FINISHED" and "nut face is damaged" in out


def test_record_writes_pdf_and_table_and_says_so(capsys, done_session, tmp_path):
    pdf, table = tmp_path / "r.pdf", tmp_path / "r.csv"
    status, out, _ = run(capsys, "record", done_session, "--pdf", pdf, "--csv", table)
    assert status == 0 and out.splitlines()[:2] == [f"written: {pdf}", f"written: {table}"]
    assert out.splitlines()[2].startswith("Complete: every bolt is recorded")
    assert pdf.read_bytes().startswith(b"%PDF-1.7") and table.read_bytes().startswith(b"\xef\xbb\xbfJoint,")
    with table.open(encoding="utf-8-sig", newline="") as file:
        assert len(list(csv.DictReader(file))) > 48


def test_record_json_is_one_document_of_the_published_schema(capsys, done_session, tmp_path):
    status, out, _ = run(capsys, "record", done_session, "--json", "--pdf", tmp_path / "r.pdf")
    record = JointRecord.model_validate_json(out)
    assert status == 0 and record.complete and (tmp_path / "r.pdf").exists()
    status, out, _ = run(capsys, "record", "--schema")
    assert status == 0 and json.loads(out) == json.loads(json.dumps(record_schema()))


def test_record_writes_nothing_into_a_session_and_nothing_where_it_may_not(capsys, done_session, tmp_path):
    before = sorted(done_session.rglob("*"))
    for target in (done_session / "joint.toml", done_session / "audio" / "x.pdf"):
        status, _, err = run(capsys, "record", done_session, "--pdf", target)
        assert status == 2 and "inside the session folder" in err
    status, _, err = run(capsys, "record", done_session, "--csv", tmp_path / "no" / "r.csv")
    assert status == 2 and "--csv" in err and "cannot be written" in err
    assert sorted(done_session.rglob("*")) == before
    assert main(["verify", str(done_session)]) == 0


def test_no_session_named_or_none_there(capsys, tmp_path):
    assert run(capsys, "record")[0] == 2
    for command in (["record"], ["review"], ["relisten"], ["compare", tmp_path]):
        status, out, err = run(capsys, *command, tmp_path / "nothing")
        assert status == 2 and out == "" and "Traceback" not in err and err.strip()
    status, out, _ = run(capsys, "record", tmp_path, "--json")
    assert status == 2 and json.loads(out)["error"]["code"] == "bad-session"


def broken(folder, how):
    journal = folder / "journal.jsonl"
    raw = journal.read_bytes()
    lines = raw.splitlines(keepends=True)
    if how == "truncated":
        journal.write_bytes(raw[: len(raw) // 2])
    elif how == "reordered":
        lines[20], lines[40] = lines[40], lines[20]
        journal.write_bytes(b"".join(lines))
    elif how == "edited":
        journal.write_bytes(raw.replace(b'"value":"102"', b'"value":"103"', 1))
    elif how == "line removed":
        journal.write_bytes(b"".join(lines[:30] + lines[31:]))
    elif how == "no audio":
        shutil.rmtree(folder / "audio")
    elif how == "no joint file, no plan":
        (folder / "joint.toml").unlink()
        (folder / "plan.json").unlink()
    elif how == "seal garbled":
        (folder / "seal.json").write_bytes(b"{}")
    elif how == "links for files":
        shutil.copytree(folder / "audio", folder.with_name("elsewhere"))
        shutil.rmtree(folder / "audio")
        (folder / "audio").symlink_to(folder.with_name("elsewhere"))


@pytest.mark.parametrize(
    "how",
    [
        "truncated", "reordered", "edited", "line removed", "no audio", "no joint file, no plan", "seal garbled",
        "links for files",
    ],
)  # fmt: skip
def test_every_command_answers_on_a_damaged_session_and_says_what_is_missing(capsys, done_session, tmp_path, how):
    folder = tmp_path / done_session.name
    shutil.copytree(done_session, folder)
    broken(folder, how)
    status, out, err = run(capsys, "record", folder, "--pdf", tmp_path / "r.pdf", "--csv", tmp_path / "r.csv", "--json")
    record = json.loads(out)
    assert status == 1 and not record["complete"] and not record["verification"]["good"] and err == ""
    assert (tmp_path / "r.pdf").stat().st_size > 20_000 and (tmp_path / "r.csv").stat().st_size > 1000
    if how not in ("links for files", "edited", "truncated"):
        assert record["missing"] or how == "seal garbled"
    assert record["verdict"] == "untrusted" and record["open_points"][0] == record["distrust"][0]
    page = tmp_path / "page.html"
    assert run(capsys, "replay", folder, "--html", page, "--silent-prompts")[0] == 1
    assert 'data-verdict="untrusted"' in page.read_text("utf-8")
    assert run(capsys, "compare", folder, done_session)[0] == 0
    assert run(capsys, "compare", done_session, folder, "--json")[0] == 0
    assert run(capsys, "review", folder, "--by", "lead", "--accept")[0] == 1
    assert run(capsys, "verify", folder)[0] == 1
    assert run(capsys, "review", folder, "--by", "lead", "--comment", "sent back to the people on site")[0] == 0


def test_compare_prints_text_json_and_page(capsys, done_session, repairs_session, tmp_path):
    status, out, _ = run(capsys, "compare", done_session, repairs_session)
    assert status == 0 and "One joint file." in out and "* Deviations" in out
    page = tmp_path / "c.html"
    status, out, _ = run(capsys, "compare", done_session, repairs_session, "--html", page, "--json")
    assert (
        status == 0 and json.loads(out)["format"] == "comparison 1" and page.read_text("utf-8").startswith("<!doctype")
    )
    status, _, err = run(capsys, "compare", done_session, repairs_session, "--html", repairs_session / "c.html")
    assert status == 2 and "inside the session folder" in err


def test_relisten_on_typed_sessions_needs_no_listener(capsys, tmp_path):
    from tests.replay.worked import Worked, golden

    folder = Worked(tmp_path / "s").say(*golden("repairs")).close()
    status, out, _ = run(capsys, "relisten", folder)
    assert status == 0 and out == "90 typed; 0 recorded entries surely heard as something else\n"
    assert run(capsys, "replay", folder, "--relisten")[:2] == (status, out)
    status, out, _ = run(capsys, "relisten", folder, "--json")
    document = json.loads(out)
    assert status == 0 and len(document["utterances"]) == 90 and document["listeners"] == [] and document["grave"] == []


def test_relisten_without_models_says_which_are_missing(capsys, done_session, tmp_path, monkeypatch):
    monkeypatch.setenv("ASSISTANT_MODELS", str(tmp_path / "no-models"))
    status, _, err = run(capsys, "relisten", done_session)
    assert status == 3 and "Traceback" not in err and err.strip()


def test_help_has_an_example_and_exit_codes(capsys):
    for command in ("record", "review", "compare", "relisten"):
        with pytest.raises(SystemExit) as stopped:
            main([command, "--help"])
        out = capsys.readouterr().out
        assert stopped.value.code == 0 and f"assistant {command}" in out and "exit codes:" in out


def test_verify_knows_this_installations_own_key(capsys, tmp_path):
    from assistant.config.paths import key_folder
    from tests.replay.worked import Worked

    folder = Worked(tmp_path / "s").finish().seal(key_folder())
    status, out, _ = run(capsys, "verify", folder)
    assert status == 1 and "  good: " in out and "this machine's own key" in out
    (key_folder() / "seal-key.pem").chmod(0o644)  # a key that others may read is not believed, and verify still answers
    status, out, _ = run(capsys, "verify", folder)
    assert status == 1 and "a key that this machine does not know" in out
