"""The terminal as a careless place: what goes there holds no control signs, and what happens to it ends no session.

Names, errors and records come from files that anybody may have written. Escape sequences, C1 and bidi signs in them
could rewrite what a terminal shows, so they are shown as a replacement sign. A session that is spoken does not depend
on its screen: when that goes away, or the disk behind a redirected output is full, it goes on without.
"""

from __future__ import annotations

import contextlib
import os
import sys
import unicodedata
from collections.abc import Iterator
from typing import Any, TextIO

from assistant.errors import BadSettings

_ALLOWED = "\n\t\r"  # '\r' begins a progress line anew


def shown(text: str) -> str:
    """The text as it may go to a terminal: every other control, format, private or surrogate sign replaced."""
    if text.isprintable():
        return text
    return "".join(c if c in _ALLOWED or not _hidden(c) else "\N{REPLACEMENT CHARACTER}" for c in text)


def _hidden(sign: str) -> bool:
    category = unicodedata.category(sign)
    return category[0] == "C" or category in ("Zl", "Zp")


class Screen:
    """A text stream behind which a terminal, a pipe or a file may be, or no more.

    Args:
        stream: what is written to.
        raw: the writer draws with escape sequences itself (the glance board).
        lasting: go on when the stream refuses; else that is an error.
    """

    def __init__(self, stream: TextIO, *, raw: bool, lasting: bool) -> None:
        self._stream, self._raw, self._lasting = stream, raw, lasting
        self.gone = False

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write, as far as there is anybody to read it."""
        clean = text if self._raw else shown(text)
        if not self.gone:
            with self._refusing():
                try:
                    self._stream.write(clean)
                except UnicodeEncodeError:  # an old terminal: what it has no sign for is written out
                    encoding = self._stream.encoding or "ascii"
                    self._stream.write(clean.encode(encoding, "backslashreplace").decode(encoding))
        return len(text)

    def flush(self) -> None:
        """Flush, as far as there is anybody to read it."""
        if not self.gone:
            with self._refusing():
                self._stream.flush()

    @contextlib.contextmanager
    def _refusing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            self.gone = True
            _silence(self._stream)
            if self._lasting:
                return
            if isinstance(error, BrokenPipeError):
                raise
            raise BadSettings(
                f"the output cannot be written ({error.strerror or error})", remedy="write it where there is room"
            ) from None


def _silence(stream: TextIO) -> None:
    """What is still in the stream's buffer goes nowhere, so that leaving the program does not trip over it."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, stream.fileno())
        finally:
            os.close(nowhere)


@contextlib.contextmanager
def screens(*, raw: bool, lasting: bool) -> Iterator[None]:
    """Put a `Screen` before standard output and standard error for the time of one command."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = (Screen(each, raw=raw, lasting=lasting) for each in before)
    try:
        yield
        sys.stdout.flush()
    finally:
        sys.stdout, sys.stderr = before
