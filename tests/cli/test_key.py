"""`assistant key`, in-process: a key counts here once somebody gave it a name, and no more once it was revoked."""

import json

import pytest

from assistant.cli.main import main
from assistant.config.paths import key_folder
from assistant.journal.keyring import TRUSTED_NAME, read_trusted
from assistant.journal.seal import installation_key, public_key_of
from tests.journal.short_record import sealed_session

BY = ("--by", "the lead")


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))


def key(capsys, *arguments):
    status = main(["key", *map(str, arguments)])
    return status, *capsys.readouterr()


def verified(capsys, folder):
    status = main(["verify", str(folder)])
    return status, capsys.readouterr().out


def test_a_session_of_another_machine_is_trusted_from_when_its_key_has_a_name_until_it_is_revoked(capsys, tmp_path):
    folder = sealed_session(tmp_path / "sessions", tmp_path / "keys")
    status, out = verified(capsys, folder)
    assert status == 1 and "a key that this machine does not know" in out and "CANNOT BE TRUSTED" in out
    file = tmp_path / "tablet.key"
    file.write_text("# the gallery tablet\n" + public_key_of(installation_key(tmp_path / "keys")) + "\n")
    status, out, _ = key(capsys, "add", file, "--name", "gallery tablet", *BY)
    assert status == 0 and "gallery tablet" in out and "added" in out
    status, out = verified(capsys, folder)
    assert "  good: " in out and "gallery tablet, trusted here" in out
    assert key(capsys, "revoke", "gallery tablet", *BY, "--reason", "tablet was stolen")[0] == 0
    status, out = verified(capsys, folder)
    assert status == 1 and "revoked" in out and "tablet was stolen" in out and "CANNOT BE TRUSTED" in out
    status, _, err = main(["key", "add", str(file), "--name", "gallery tablet", *BY]), *capsys.readouterr()
    assert status == 2 and "was revoked" in err


def test_what_is_exported_on_one_machine_is_added_on_the_other(capsys, tmp_path, monkeypatch):
    status, out, err = key(capsys, "export")
    assert status == 0 and "fingerprint: " in err
    file = tmp_path / "machine.key"
    file.write_text(out)
    own = public_key_of(installation_key(key_folder()))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "another"))
    assert key(capsys, "show")[0] == 1
    assert key(capsys, "add", file, "--name", "pump bay tablet", *BY)[0] == 0
    (found,) = read_trusted(key_folder())
    assert (found.public_key, found.name, found.added_by) == (own, "pump bay tablet", "the lead")
    document = json.loads(key(capsys, "show", "--json")[1])
    assert [each["trusted"] for each in document] == [True] and not document[0]["own"]


def test_this_machines_own_key_can_be_revoked_too(capsys, tmp_path):
    folder = sealed_session(tmp_path / "sessions", key_folder())
    assert "  good: " in verified(capsys, folder)[1]
    assert key(capsys, "revoke", "this machine", *BY, "--reason", "others had its password")[0] == 0
    status, out = verified(capsys, folder)
    assert status == 1 and "others had its password" in out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("add",), "which key"),
        (("add", "12ab", "--name", "x", *BY), "not a public key"),
        (("add", "nowhere.key", "--name", "x", *BY), "nowhere.key"),
        (("add", "ab" * 32, *BY), "--name"),
        (("add", "ab" * 32, "--name", "x\x1b[2J", *BY), "--name"),
        (("add", "ab" * 32, "--name", "x"), "--by"),
        (("revoke", "nobody", *BY, "--reason", "x"), "no key"),
        (("revoke", "nobody", *BY), "--reason"),
    ],
)
def test_what_is_wrong_is_said(capsys, arguments, told):
    status, _, err = key(capsys, *arguments)
    assert status == 2 and told in err and "\x1b" not in err


def test_one_name_is_one_key(capsys):
    assert key(capsys, "add", "ab" * 32, "--name", "x", *BY)[0] == 0
    assert key(capsys, "add", "cd" * 32, "--name", "x", *BY)[0] == 2
    assert key(capsys, "add", "ab" * 32, "--name", "y", *BY)[0] == 2


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("keys = 3", "list"),
        ("[[keys]]\nname = 'x'", "public_key"),
        (f"[[keys]]\npublic_key = '{'ab' * 32}'", "name"),
        (f"[[keys]]\npublic_key = '{'ab' * 32}'\nname = 'x'\nrank = 'y'", "rank"),
        (f"[[keys]]\npublic_key = '{'ab' * 32}'\nname = 'x'\n" * 2, "twice"),
        ("a = [" * 5000, "TOML"),
        ("\udcff", "TOML"),
    ],
)
def test_a_list_written_by_hand_is_checked(capsys, text, told):
    key_folder().mkdir(parents=True)
    (key_folder() / TRUSTED_NAME).write_text(text, errors="surrogateescape")
    status, _, err = key(capsys, "show")
    assert status == 2 and told in err and TRUSTED_NAME in err
