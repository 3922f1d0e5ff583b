"""The sound server's microphones and loudspeakers by name, and where our own streams really are.

PulseAudio, or PipeWire in its place (the same protocol). PortAudio lists such a server as one device and cannot say
which headset is behind it; nor does it tell when the server moves a stream, because a headset was unplugged.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal["input", "output"]
LOOK_SECONDS = 1.0  # between two looks at where the streams are
VARIABLE = {"input": "PULSE_SOURCE", "output": "PULSE_SINK"}
"""What the server's ALSA plugin goes by when a stream opens."""
CALLED = {"input": "microphone", "output": "loudspeaker"}


@dataclass(frozen=True, slots=True)
class Place:
    """A microphone or loudspeaker of the server.

    Args:
        name: the server's own, lasting one.
        description: for people.
        muted: it is turned off there, or its volume is nothing.
    """

    name: str
    description: str
    muted: bool = False


class SoundServer:
    """Asks the server; every question is a connection of its own, so that a server that dies and comes back is no
    matter. Where there is no server, or no library to reach it, all answers are empty. Any thread may ask.

    Args:
        connect: makes a connection, as `pulsectl.Pulse` is one; None takes that library.
        process: whose streams are ours.
    """

    def __init__(self, connect: Callable[[], Any] | None = None, *, process: int | None = None) -> None:
        self._connect = connect or _connection
        self._process = str(os.getpid() if process is None else process)
        self._lock = threading.Lock()

    def places(self, kind: Kind) -> list[Place]:
        """All of a kind; what listens to a loudspeaker (a monitor) is no microphone."""
        with self._asking() as server:
            return [] if server is None else [_place(each) for each in _listed(server, kind)]
        return []

    def usual(self, kind: Kind) -> Place | None:
        """What the server takes where nothing is named."""
        with self._asking() as server:
            if server is not None:
                info = server.server_info()
                name = info.default_source_name if kind == "input" else info.default_sink_name
                return next((_place(each) for each in _all(server, kind) if each.name == name), None)
        return None

    def ours(self, kind: Kind) -> Place | None:
        """Where this process's stream is now; None where there is none, or it is not known."""
        with self._asking() as server:
            streams = [] if server is None else self._streams(server, kind)
            if streams:  # the oldest is the one that always runs
                at = streams[0].source if kind == "input" else streams[0].sink
                return next((_place(each) for each in _all(server, kind) if each.index == at), None)
        return None

    def move(self, kind: Kind, name: str) -> None:
        """Move our streams to the place of that name, where it is there."""
        with self._asking() as server:
            streams = [] if server is None else self._streams(server, kind)
            place = next((each for each in _all(server, kind) if each.name == name), None) if streams else None
            if place is not None:
                mover = server.source_output_move if kind == "input" else server.sink_input_move
                for stream in streams:
                    mover(stream.index, place.index)

    def _streams(self, server: Any, kind: Kind) -> list[Any]:
        streams = server.source_output_list() if kind == "input" else server.sink_input_list()
        return [each for each in streams if each.proplist.get("application.process.id") == self._process]

    @contextlib.contextmanager
    def _asking(self) -> Iterator[Any]:
        """A connection; None where none comes about. What goes wrong in it ends the question."""
        with self._lock:
            try:
                server = self._connect()
            except Exception:  # no library, no server, or one that is just dying
                yield None
                return
            try:
                with contextlib.suppress(Exception):
                    yield server
            finally:
                with contextlib.suppress(Exception):
                    server.close()


@contextlib.contextmanager
def opening_at(kind: Kind, name: str) -> Iterator[None]:
    """A stream that opens meanwhile is put at the server's place of that name; "" leaves the choice to the server."""
    variable = VARIABLE[kind]
    before = os.environ.get(variable)
    if name:
        os.environ[variable] = name
    try:
        yield
    finally:
        if before is None:
            os.environ.pop(variable, None)
        else:
            os.environ[variable] = before


@dataclass(frozen=True, slots=True)
class News:
    """A stream of ours is somewhere else than before.

    Args:
        kind: which.
        to: where it is now.
        back: that is where it is meant to be.
    """

    kind: Kind
    to: Place
    back: bool

    @property
    def what(self) -> str:
        """A key of the catalogues' `equipment`."""
        return f"{CALLED[self.kind]}-{'back' if self.back else 'moved'}"


class StreamWatch:
    """Looks from time to time where our streams are, and tells once of each move. A stream whose place was named is
    moved back as soon as that place is there again.

    Args:
        server: to ask.
        wanted: the server's name of the place that was named, by kind; a kind that nobody named is left out.
        every_s: between two looks.
    """

    def __init__(self, server: SoundServer, wanted: dict[Kind, str], *, every_s: float = LOOK_SECONDS) -> None:
        self._server, self._wanted, self._every_s = server, dict(wanted), every_s
        self._seen: dict[Kind, Place] = {}
        self._news: deque[News] = deque()
        self._over = threading.Event()

    def start(self) -> None:
        """Look from now on, in a thread of its own."""
        threading.Thread(target=self._run, daemon=True, name="stream-watch").start()

    def close(self) -> None:
        """Look no more. May be called twice."""
        self._over.set()

    def news(self) -> Iterator[News]:
        """Moves that nobody was told of yet. Any thread may ask."""
        while self._news:
            yield self._news.popleft()

    def look(self) -> None:
        """Look once."""
        for kind in ("input", "output"):
            self._look(kind)

    def _look(self, kind: Kind) -> None:
        now = self._server.ours(kind)
        if now is None:
            return
        meant = self._wanted.get(kind)
        if meant and now.name != meant and any(each.name == meant for each in self._server.places(kind)):
            self._server.move(kind, meant)
            now = self._server.ours(kind) or now
        before, self._seen[kind] = self._seen.get(kind), now
        if before is not None and before.name != now.name:
            self._news.append(News(kind, now, back=now.name == meant))

    def _run(self) -> None:
        while not self._over.wait(self._every_s):
            with contextlib.suppress(Exception):  # the server may die in the middle of an answer
                self.look()


def _connection() -> Any:
    import pulsectl

    server = pulsectl.Pulse("bolting-assistant", connect=False)
    try:
        server.connect(autospawn=False, wait=False)  # with its own limit of time it always waits as long
    except Exception:
        server.close()
        raise
    return server


def _all(server: Any, kind: Kind) -> list[Any]:
    return list(server.source_list() if kind == "input" else server.sink_list())


def _listed(server: Any, kind: Kind) -> list[Any]:
    return [each for each in _all(server, kind) if not (kind == "input" and each.name.endswith(".monitor"))]


def _place(each: Any) -> Place:
    silent = max(each.volume.values, default=1.0) <= 0.0
    return Place(each.name, each.description or each.name, bool(each.mute) or silent)
