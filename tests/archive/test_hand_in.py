"""Hand-in: once, whole or not at all, to a folder and to the real service over HTTPS; nothing is deleted here."""

from __future__ import annotations

import contextlib
import datetime
import errno
import ipaddress
import json
import os
import shutil
import socket
import threading
import time
from hashlib import sha256

import pytest

pytest.importorskip("starlette", reason="Starlette is not installed: pip install 'bolting-assistant[archive]'")

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from assistant.archive import sending
from assistant.archive.inbox import INCOMING, Inbox, manifest_from, manifest_of
from assistant.archive.receiving import server
from assistant.archive.sending import Service, send
from assistant.cli import archive
from assistant.cli.main import parser
from assistant.errors import BadSession, BadSettings, NotSent, RecordNotWritable

pytestmark = pytest.mark.allow_hosts(["127.0.0.1"])
TOKEN = "a token that nobody guesses"


@pytest.fixture
def folder(tmp_path, own_home, done_session):
    place = tmp_path / "sessions"
    shutil.copytree(done_session, place / done_session.name)
    return place


@pytest.fixture
def session(folder):
    return next(folder.iterdir())


@pytest.fixture
def inbox(tmp_path):
    (tmp_path / "inbox").mkdir()
    return Inbox(tmp_path / "inbox")


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    """Of this machine, signed by itself."""
    folder, key = tmp_path_factory.mktemp("certificate"), ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "inbox")])
    now = datetime.datetime.fromtimestamp(time.time(), datetime.timezone.utc)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]), critical=False)
        .sign(key, hashes.SHA256())
    )
    (folder / "site.pem").write_bytes(made.public_bytes(serialization.Encoding.PEM))
    plain = serialization.NoEncryption()
    form = (serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)
    (folder / "site.key").write_bytes(key.private_bytes(*form))
    return folder


class Running:
    """The real service on a free port."""

    def __init__(self, inbox, certificate):
        self.server = server(
            inbox,
            token=TOKEN,
            host="127.0.0.1",
            port=0,
            certificate=certificate / "site.pem",
            key=certificate / "site.key",
        )
        self.thread = threading.Thread(target=self.server.run)
        self.thread.start()
        while not self.server.started:
            assert self.thread.is_alive()
            time.sleep(0.01)
        self.port = self.server.servers[0].sockets[0].getsockname()[1]
        self.address = f"https://127.0.0.1:{self.port}"

    def stop(self):
        self.server.should_exit = True
        self.thread.join()


@pytest.fixture
def service(inbox, certificate):
    running = Running(inbox, certificate)
    yield running
    running.stop()


def files(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def handed(session):
    """All that goes along: everything but the lock."""
    return {name: data for name, data in files(session).items() if name != "lock"}


def test_a_session_arrives_whole_once_and_stays_here(inbox, session):
    before = files(session)
    assert send(session, inbox) is True and send(session, inbox) is False
    assert files(inbox.folder / session.name) == handed(session)
    assert files(session) == before
    assert [path.name for path in (inbox.folder / INCOMING).iterdir()] == ["lock"]


def test_the_real_service_takes_it_over_https_with_its_token(service, inbox, session, certificate):
    signed = certificate / "site.pem"
    with contextlib.closing(Service(service.address, token=TOKEN, certificate=signed)) as target:
        for name in sorted(set(manifest_of(session).files.values()))[6:]:  # most of them came by a share before
            inbox.take(name, next(data for data in handed(session).values() if sha256(data).hexdigest() == name))
        assert send(session, target) is True and send(session, target) is False
        assert files(inbox.folder / session.name) == handed(session)
        (session / "seal.json").write_bytes(b"{}")
        with pytest.raises(BadSession, match="not sealed"):
            send(session, target)
    for token, trusted, said in (("another", signed, "token"), (TOKEN, None, "certificate")):
        stranger = Service(service.address, token=token, certificate=trusted)
        with contextlib.closing(stranger), pytest.raises(NotSent, match=said):
            send(session, stranger)


class Stopping:
    """A target that goes away after so many files, or before it is asked to put them together."""

    def __init__(self, inbox, files):
        self.inbox, self.files = inbox, files

    missing = property(lambda self: self.inbox.missing)

    def take(self, digest, data):
        if self.files == 0:
            raise NotSent("gone", remedy="")
        self.files -= 1
        self.inbox.take(digest, data)

    def commit(self, manifest):
        raise NotSent("gone", remedy="")


@pytest.mark.parametrize("after", [0, 1, 5, 10**6])
def test_what_was_broken_off_is_gone_on_with_and_nothing_half_stands_there(inbox, session, after):
    with pytest.raises(NotSent):
        send(session, Stopping(inbox, after))
    assert not (inbox.folder / session.name).exists()
    number = len(set(manifest_of(session).files.values()))
    assert len(inbox.missing(manifest_of(session))) == max(0, number - after)
    assert send(session, Inbox(inbox.folder)) is True
    assert files(inbox.folder / session.name) == handed(session)


def test_a_service_that_is_away_is_asked_again_and_then_said_so(inbox, session, certificate, monkeypatch):
    monkeypatch.setattr(sending, "TRIES", 2)
    monkeypatch.setattr(sending, "WAIT_S", 0.01)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        address = f"https://127.0.0.1:{taken.getsockname()[1]}"
    with pytest.raises(NotSent, match=r"does not answer|nobody answers"):
        send(session, Service(address, token=TOKEN, certificate=certificate / "site.pem"))


def test_a_review_that_came_later_goes_along_and_sound_that_is_gone_here_stays_there(inbox, session):
    send(session, inbox)
    sound = sorted((session / "audio").glob("*.flac"))[0]
    sound.unlink()
    (session / "checkpoints.jsonl").touch()
    with pytest.raises(BadSession, match="is not whole"):
        send(session, inbox)
    assert (inbox.folder / session.name / "audio" / sound.name).exists()


@pytest.mark.parametrize("name", ["journal.jsonl", "joint.toml", "audio"])
def test_a_changed_session_replaces_nothing(inbox, session, name):
    send(session, inbox)
    before = files(inbox.folder / session.name)
    path = sorted(session.glob("audio/*.flac"))[0] if name == "audio" else session / name
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(bytes(data))
    with pytest.raises(BadSession):
        send(session, inbox)
    assert files(inbox.folder / session.name) == before


@pytest.mark.parametrize(
    "document",
    [
        [],
        {"name": "../../etc", "files": {}},
        {"name": "20260101T000000Z-a", "files": {"../x": "0" * 64}},
        {"name": "20260101T000000Z-a", "files": {"audio/../../x": "0" * 64}},
        {"name": "20260101T000000Z-a", "files": {"/etc/passwd": "0" * 64}},
        {"name": "20260101T000000Z-a", "files": {"a": "0"}},
        {"name": "20260101T000000Z-a", "files": {str(n): "0" * 64 for n in range(20_001)}},
    ],
)
def test_a_list_of_files_that_is_none_is_refused(document):
    with pytest.raises(BadSession):
        manifest_from(document)


def test_other_bytes_than_announced_are_refused(inbox):
    with pytest.raises(BadSession, match="announced"):
        inbox.take("0" * 64, b"x")


def test_a_session_on_its_way_out_at_a_power_cut_is_put_back(inbox, session):
    send(session, inbox)
    standing = inbox.folder / session.name
    standing.rename(inbox.folder / INCOMING / f"old-{session.name}")
    (inbox.folder / INCOMING / "new-1" / session.name).mkdir(parents=True)
    Inbox(inbox.folder)
    assert files(standing) == handed(session)
    assert [path.name for path in (inbox.folder / INCOMING).iterdir()] == ["lock"]


def test_a_full_disk_changes_nothing_and_is_said(inbox, session, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(inbox, "_write", full)
    with pytest.raises(RecordNotWritable, match="No space left"):
        send(session, inbox)
    assert not (inbox.folder / session.name).exists()


def call(capsys, *arguments):
    args = parser("archive").parse_args(["archive", *map(str, arguments)])
    return archive.run(args), *capsys.readouterr()


def test_the_command_sends_what_is_sealed_and_names_the_rest(capsys, folder, session, tmp_path):
    unsealed = folder / session.name.replace("2026", "2027", 1)
    shutil.copytree(session, unsealed)
    (unsealed / "seal.json").unlink()
    (tmp_path / "usb").mkdir()
    status, out, _ = call(capsys, "send", folder, "--to", tmp_path / "usb", "--json")
    document = json.loads(out)
    assert status == 1 and document["sent"] == [session.name]
    assert [each["session"] for each in document["not_sent"]] == [unsealed.name]
    status, out, _ = call(capsys, "send", session, "--to", tmp_path / "usb")
    assert (status, out) == (0, "0 sent, 1 there already, 0 not sent\n")


def test_bad_input_is_named(capsys, session, tmp_path):
    (tmp_path / "token").write_text("short\n")
    for arguments, said in (
        (("send", session, "--to", tmp_path / "none"), "is not there"),
        (("send", session, "--to", "https://127.0.0.1"), "a service asks for a token"),
        (("send", session, "--to", "http://192.0.2.1", "--token-file", tmp_path / "token"), "in the clear"),
        (("send", session, "--to", "ftp://x", "--token-file", tmp_path / "token"), "is no address"),
        (("receive", tmp_path / "in", "--token-file", tmp_path / "none"), "cannot be read"),
        (("receive", tmp_path / "in", "--token-file", tmp_path / "token"), "has 5 letters"),
    ):
        with pytest.raises(BadSettings, match=said):
            call(capsys, *arguments)
    (tmp_path / "token").write_text(TOKEN)
    with pytest.raises(BadSettings, match="HTTPS only"):
        call(capsys, "receive", tmp_path / "in", "--token-file", tmp_path / "token", "--host", "0.0.0.0")
    with pytest.raises(BadSettings, match="No such file"):
        call(capsys, "receive", tmp_path / "in", "--token-file", tmp_path / "token", "--certificate", tmp_path / "none")
