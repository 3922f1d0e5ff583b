"""The board's page on this machine: only here, only shown, and never left standing with an old picture."""

from __future__ import annotations

import http.client
import socket
from collections.abc import Iterator

import pytest

pytest.importorskip("bottle", reason="bottle is not installed: scripts/setup")

from assistant.devices.board_server import LOOPBACK, MOST_VIEWERS, BoardServer
from assistant.errors import BadSettings

pytestmark = pytest.mark.allow_hosts([LOOPBACK])
FILES = {"/": (b"<p>board</p>", "text/html; charset=utf-8")}


@pytest.fixture
def server(socket_enabled) -> Iterator[BoardServer]:
    made = BoardServer(FILES.get)
    yield made
    made.close()


def port_of(server: BoardServer) -> int:
    return int(server.url.rsplit(":", 1)[1].strip("/"))


def ask(server: BoardServer, path: str, *, method: str = "GET", host: str = "") -> http.client.HTTPResponse:
    line = http.client.HTTPConnection(LOOPBACK, port_of(server), timeout=20)
    line.request(method, path, headers={"Host": host} if host else {})
    return line.getresponse()


def message(stream: http.client.HTTPResponse) -> str:
    """The next picture of a stream; beats in between are passed over."""
    while True:
        line = stream.readline().decode().strip()
        if line.startswith("data:") and line != "data:":
            return line.removeprefix("data: ")


def test_the_page_is_served_with_a_strict_policy(server):
    got = ask(server, "/")
    assert (got.status, got.read()) == (200, b"<p>board</p>")
    assert "default-src 'none'" in str(got.getheader("Content-Security-Policy"))
    assert ask(server, "/journal.jsonl").status == 404


def test_what_is_shown_comes_at_once_and_a_late_page_gets_the_last_picture(server):
    server.show('{"heading": "PASS 1"}')
    first = ask(server, "/events")
    assert message(first) == '{"heading": "PASS 1"}'
    server.show('{"heading": "STOPPED"}')
    assert message(first) == '{"heading": "STOPPED"}'
    assert message(ask(server, "/events")) == '{"heading": "STOPPED"}'


def test_a_page_that_is_told_nothing_hears_a_beat(server):
    assert ask(server, "/events").readline().decode().strip() == "event: beat"


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE"])
def test_nothing_can_be_sent(server, method):
    assert ask(server, "/", method=method).status == 405
    assert ask(server, "/events", method=method).status == 405


def test_a_request_that_names_another_host_is_refused(server):
    assert ask(server, "/", host="board.example").status == 403
    assert ask(server, "/events", host=f"board.example:{port_of(server)}").status == 403


def test_it_listens_on_the_loopback_address_alone(server):
    assert server._server.socket.getsockname()[0] == "127.0.0.1"


def test_so_many_pages_and_no_more(server):
    open_streams = []
    for _ in range(MOST_VIEWERS):
        stream = ask(server, "/events")
        stream.readline()
        open_streams.append(stream)
    assert ask(server, "/events").status == 503


def test_a_port_that_cannot_be_had_is_refused_with_what_is_allowed(server):
    for port in (port_of(server), 70_000):
        with pytest.raises(BadSettings, match=str(port)) as caught:
            BoardServer(FILES.get, port)
        assert "or 0 for any" in caught.value.remedy


def test_closed_it_ends_every_stream_and_frees_the_port(socket_enabled):
    server = BoardServer(FILES.get)
    server.show("{}")
    stream = ask(server, "/events")
    assert message(stream) == "{}"
    server.close()
    server.close()
    assert stream.read() in (b"", b"\n")
    with socket.socket() as free, pytest.raises(OSError):
        free.connect((LOOPBACK, port_of(server)))
