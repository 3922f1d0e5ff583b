"""A witness on a second machine finds what the recording account could forge with its own key."""

from __future__ import annotations

import json
import shutil

import pytest

from assistant.cli.main import main
from assistant.journal.keyring import read_basis, trust_key
from assistant.journal.seal import installation_key, public_key_of
from assistant.journal.verify import verify
from assistant.journal.witness import FOLDER_NAME
from tests.journal.test_trust import begun, closed, rewrite, sealed_with


@pytest.fixture
def place(tmp_path, monkeypatch):
    """Two machines: that of the gallery records, the lead's is the witness. `at` is where the next command runs."""
    gallery, lead = tmp_path / "gallery", tmp_path / "lead"
    installation_key(lead)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "none"))
    monkeypatch.setenv("ASSISTANT_KEYS", str(gallery))

    def at(keys):
        monkeypatch.setenv("ASSISTANT_KEYS", str(keys))

    return tmp_path, gallery, lead, at


def codes(folder, keys):
    return {f.code: f.severity for f in verify(folder, rebuild=list, basis=read_basis(keys)).findings}


def witnessed(place):
    """A session of the gallery that the lead's machine has seen while it lay open, and trusts."""
    tmp_path, gallery, lead, at = place
    folder = begun(tmp_path, gallery)
    trust_key(lead, public_key_of(installation_key(gallery)), name="gallery tablet", by="the lead")
    trust_key(gallery, public_key_of(installation_key(lead)), name="the lead's laptop", by="the technician")
    slip = tmp_path / "stick" / "pump.slip"
    slip.parent.mkdir()
    assert main(["witness", "slip", str(folder), "--file", str(slip)]) == 0
    assert b"310" not in slip.read_bytes()
    at(lead)
    assert main(["witness", "sign", str(slip)]) == 0
    at(gallery)
    return folder, slip.with_name(slip.name + ".witness.json")


def test_a_session_that_went_on_as_it_was_seen_is_good_and_says_who_saw_it(place, capsys):
    folder, statement = witnessed(place)
    _, gallery, lead, _ = place
    closed(folder, gallery)
    found = verify(folder, rebuild=list, basis=read_basis(lead))
    assert found.good
    assert codes(folder, lead)["witnessed"] == "note" and "witnessed" not in codes(folder, gallery)
    assert main(["witness", "add", str(statement)]) == 0
    capsys.readouterr()
    assert main(["witness", "show", "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)
    assert told["session"] == folder.name and told["witness"] == "the lead's laptop"
    assert codes(folder, gallery)["witnessed"] == "note"


def forged_with_the_real_key(place, folder):
    """What the account that records can do: a whole session anew, with register and checkpoints that fit it."""
    _, gallery, _, _ = place
    shutil.rmtree(folder)
    (gallery / "register.jsonl").unlink()
    again = begun(place[0], gallery, readings=11)
    assert again == folder
    return closed(again, gallery)


def test_a_session_made_anew_with_the_real_key_is_found_where_the_witness_looks_and_nowhere_else(place):
    folder, statement = witnessed(place)
    _, gallery, lead, _ = place
    forged_with_the_real_key(place, folder)
    assert verify(folder, rebuild=list, basis=read_basis(gallery)).trust.trusted  # told in .docs/threats.md
    assert codes(folder, lead)["witness-contradicted"] == "error"
    assert not verify(folder, rebuild=list, basis=read_basis(lead)).trust.trusted
    assert main(["witness", "add", str(statement)]) == 0
    assert codes(folder, gallery)["witness-contradicted"] == "error"
    assert main(["verify", str(folder)]) == 1


def test_nor_does_changing_a_line_or_cutting_some_off_help(place):
    folder, _ = witnessed(place)
    _, gallery, lead, _ = place
    raw = (folder / "journal.jsonl").read_bytes()
    sealed_with(folder, installation_key(gallery), rewrite(folder, lambda body: body, keep=20))
    assert codes(folder, lead)["witness-contradicted"] == "error"
    (folder / "journal.jsonl").write_bytes(raw)

    def later(body):
        return body | ({"sample": body["sample"] + 1} if body["seq"] > 4 else {})

    sealed_with(folder, installation_key(gallery), rewrite(folder, later))
    assert codes(folder, lead)["witness-contradicted"] == "error"


def test_another_session_is_not_concerned_but_another_one_in_that_folder_is(place):
    folder, _ = witnessed(place)
    other = folder.with_name(folder.name.replace("T1015", "T1016"))
    shutil.copytree(folder, other)
    rewrite(other, lambda body: body | {"sample": body["sample"] + 1})
    assert not {"witnessed", "witness-contradicted"} & codes(other, place[2]).keys()
    shutil.rmtree(folder)
    other.rename(folder)
    assert codes(folder, place[2])["witness-contradicted"] == "error"


@pytest.mark.parametrize("change", [b"[" * 900, b"{}\n", b"\xff\xfe", b""])
def test_what_is_no_statement_is_refused_in_a_sentence(place, capsys, change):
    _, statement = witnessed(place)
    statement.write_bytes(change)
    assert main(["witness", "add", str(statement)]) == 2 and main(["witness", "sign", str(statement)]) == 2
    assert "is not of a witness" in capsys.readouterr().err


def test_each_changed_byte_of_a_statement_is_found_and_a_stranger_is_no_witness(place, capsys):
    folder, statement = witnessed(place)
    raw = statement.read_bytes()
    for at in range(0, len(raw) - 1, 9):
        statement.write_bytes(raw[:at] + bytes([raw[at] ^ 1]) + raw[at + 1 :])
        assert main(["witness", "add", str(statement)]) == 2
    statement.write_bytes(raw)
    tmp_path, gallery, _, at = place
    at(tmp_path / "stranger")
    slip = statement.with_name("pump.slip")
    assert main(["witness", "sign", str(slip)]) == 0
    at(gallery)
    capsys.readouterr()
    assert main(["witness", "add", str(statement)]) == 2
    assert "not trusted here" in capsys.readouterr().err
    assert codes(folder, gallery).get("witnessed") is None
    kept = next((place[2] / FOLDER_NAME).iterdir())
    kept.write_bytes(raw[:-40])
    at(place[2])
    assert main(["verify", str(folder)]) == 2


def test_the_recording_machine_is_no_witness_of_itself(place):
    tmp_path, gallery, _, _ = place
    folder = begun(tmp_path, gallery)
    slip = tmp_path / "own.slip"
    assert main(["witness", "slip", str(folder), "--file", str(slip)]) == 0
    assert main(["witness", "sign", str(slip)]) == 0
    assert "witnessed" not in codes(folder, gallery)
    assert main(["witness", "slip", str(tmp_path / "nothing")]) == 2
