"""The terminal belongs to the technician: what the sound libraries print by themselves does not get there."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator


@contextlib.contextmanager
def our_own() -> Iterator[None]:
    """Error output of Python only. PortAudio prints from its own threads, each time that a device is pulled or a server
    dies, straight to the process's error output; that goes nowhere meanwhile.
    """
    try:
        kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # no error output at all
        yield
        return
    before = sys.stderr
    before.flush()
    ours = os.fdopen(os.dup(kept), "w", buffering=1, encoding=before.encoding or "utf-8", errors="backslashreplace")
    os.dup2(nowhere, 2)
    if before is sys.__stderr__:
        sys.stderr = ours
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            ours.flush()
        os.dup2(kept, 2)
        sys.stderr = before
        ours.close()
        os.close(kept)
        os.close(nowhere)
