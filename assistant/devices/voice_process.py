"""Keeps one voice child warm and asks it for one sentence; the parent's side of `voice_child`."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any, cast

CHILD = (sys.executable, "-m", "assistant.devices.voice_child")
ANSWER_SECONDS = 10.0


class ChildFault(Exception):
    """The child died, hung, or answered nonsense; the message says which. Callers turn it into an AssistantError."""


class VoiceProcess:
    """Hands each request to a fresh child; the next child warms up meanwhile.

    Any thread may ask; requests do not wait for each other.

    Args:
        command: the child's command line (tests give their own).
        answer_seconds: how long a child may take before it is killed.
    """

    def __init__(self, *, command: Sequence[str] = CHILD, answer_seconds: float = ANSWER_SECONDS) -> None:
        self._command = tuple(command)
        self._answer_seconds = answer_seconds
        self._lock = threading.Lock()
        self._spare: subprocess.Popen[str] | None = None
        self._closed = False

    def warm(self) -> None:
        """Start the spare child now, so that the first request need not wait for it."""
        with self._lock:
            if self._spare is None and not self._closed:
                self._spare = self._start()

    def ask(self, request: dict[str, Any]) -> dict[str, Any]:
        """The child's answer to one request.

        Raises:
            ChildFault: it could not be started, died, hung (it is then killed), or answered something else than JSON.
        """
        child = self._take()
        try:
            return self._converse(child, request)
        finally:
            _bury(child)
            self.warm()

    def close(self) -> None:
        """End the spare child. May be called twice; a later `ask` still works, without a spare."""
        with self._lock:
            self._closed = True
            spare, self._spare = self._spare, None
        if spare is not None:
            _bury(spare)

    def _take(self) -> subprocess.Popen[str]:
        with self._lock:
            spare, self._spare = self._spare, None
        if spare is not None:
            if spare.poll() is None:
                return spare
            _bury(spare)
        return self._start()

    def _start(self) -> subprocess.Popen[str]:
        package_parent = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join(part for part in (package_parent, os.environ.get("PYTHONPATH", "")) if part)
        try:
            return subprocess.Popen(
                self._command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                encoding="utf-8",
                env={**os.environ, "PYTHONPATH": path},
                start_new_session=True,  # Ctrl-C at the terminal is the session's business, not the child's
            )
        except OSError as error:
            raise ChildFault(f"the voice process could not be started: {error}") from error

    def _converse(self, child: subprocess.Popen[str], request: dict[str, Any]) -> dict[str, Any]:
        assert child.stdin is not None and child.stdout is not None
        answer: queue.Queue[str] = queue.Queue()
        reader = threading.Thread(target=_read_line, args=(child, answer), daemon=True, name="voice-answer")
        reader.start()
        with contextlib.suppress(OSError):  # a dead child shows below as an empty answer
            child.stdin.write(json.dumps(request) + "\n")
            child.stdin.flush()
        try:
            line = answer.get(timeout=self._answer_seconds)
        except queue.Empty:
            raise ChildFault(f"the voice process did not answer in {self._answer_seconds:g} s and was ended") from None
        if not line:
            raise ChildFault(f"the voice process ended without an answer ({_end_of(child)})")
        try:
            parsed = json.loads(line)
        except ValueError:
            parsed = None
        if not isinstance(parsed, dict) or "ok" not in parsed:
            raise ChildFault("the voice process answered something that is not ours")
        return cast("dict[str, Any]", parsed)


def _read_line(child: subprocess.Popen[str], answer: queue.Queue[str]) -> None:
    assert child.stdout is not None
    try:
        answer.put(child.stdout.readline())
    except (OSError, ValueError):  # closed under us, or bytes that are no text
        answer.put("")


def _end_of(child: subprocess.Popen[str]) -> str:
    try:
        status = child.wait(timeout=1.0)
    except subprocess.TimeoutExpired:
        return "it closed its pipe and hung"
    return f"signal {-status}" if status < 0 else f"status {status}"


def _bury(child: subprocess.Popen[str]) -> None:
    """End our own child and let go of its pipes."""
    if child.poll() is None:
        child.kill()
    child.wait()
    for pipe in (child.stdin, child.stdout):
        if pipe is not None:
            with contextlib.suppress(OSError):
                pipe.close()
