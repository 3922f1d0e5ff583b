"""Serves the glance board to a browser on this very machine: a page and a stream of what is to be seen.

Bound to 127.0.0.1 and to nothing else; a request that names another host is refused, so that no web page elsewhere can
read the board through a name of its own. Nothing can be sent: there are only GET requests.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from bottle import Bottle, HTTPResponse, request, response

from assistant.errors import BadSettings

LOOPBACK = "127.0.0.1"
BEAT_S = 2.0
"""So often a page is told that the assistant is still there."""
MOST_VIEWERS = 8
"""So many pages at once; one more is refused."""
HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; "
    "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
PageFile = Callable[[str], "tuple[bytes, str] | None"]


class _Threads(ThreadingMixIn, WSGIServer):
    """A thread for each viewer; none of them keeps the program from ending."""

    daemon_threads = True


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Nothing is written between the lines of the session."""


class BoardServer:
    """The board's page on this machine.

    Args:
        page_file: gives a file of the page and its type by path.
        port: 0 for any free one.

    Raises:
        BadSettings: the port cannot be had.
    """

    def __init__(self, page_file: PageFile, port: int = 0) -> None:
        self._page_file = page_file
        self._changed = threading.Condition()
        self._picture, self._number, self._closing, self._viewers = "", 0, False, 0
        app = Bottle()
        app.route("/events", "GET", self._events)
        app.route("<path:path>", "GET", self._file)
        try:
            self._server = make_server(LOOPBACK, port, app, server_class=_Threads, handler_class=_Quiet)
        except (OSError, OverflowError) as error:
            raise BadSettings(
                f"--board-port is {port}: {getattr(error, 'strerror', None) or error}",
                remedy="A free port from 1024 to 65535, or 0 for any.",
            ) from error
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.1,), name="board", daemon=True)
        self._thread.start()

    @property
    def url(self) -> str:
        """Where a browser on this machine finds the page."""
        return f"http://{LOOPBACK}:{self._server.server_port}/"

    def show(self, picture: str) -> None:
        """Tell every page what is to be seen.

        Args:
            picture: JSON in one line.
        """
        with self._changed:
            self._picture, self._number = picture, self._number + 1
            self._changed.notify_all()

    def close(self) -> None:
        """End every stream; the pages then say that they are not current. May be called twice."""
        with self._changed:
            if self._closing:
                return
            self._closing = True
            self._changed.notify_all()
        self._server.shutdown()
        self._server.server_close()

    # --------------------------------------------------------------------------------------------------- requests
    def _refuse_strangers(self) -> None:
        if request.get_header("Host", "") not in (f"{LOOPBACK}:{self._server.server_port}",):
            raise HTTPResponse("only on this machine", status=403, headers=HEADERS)

    def _file(self, path: str) -> HTTPResponse:
        self._refuse_strangers()
        found = self._page_file(path)
        if found is None:
            return HTTPResponse("not here", status=404, headers=HEADERS)
        return HTTPResponse(found[0], headers={**HEADERS, "Content-Type": found[1]})

    def _events(self) -> Iterator[bytes]:
        self._refuse_strangers()
        with self._changed:
            if self._viewers >= MOST_VIEWERS:
                raise HTTPResponse("too many pages show the board", status=503, headers=HEADERS)
            self._viewers += 1
        for name, value in HEADERS.items():
            response.set_header(name, value)
        response.content_type = "text/event-stream; charset=utf-8"
        return self._stream()

    def _stream(self) -> Iterator[bytes]:
        seen = 0
        try:
            while True:
                with self._changed:
                    if self._number == seen and not self._closing:
                        self._changed.wait(BEAT_S)
                    picture, number, over = self._picture, self._number, self._closing
                if over:
                    return
                yield f"data: {picture}\n\n".encode() if number > seen else b"event: beat\ndata:\n\n"
                seen = number
        finally:
            with self._changed:
                self._viewers -= 1
