"""Ways in which a session is told from outside to end: Ctrl-C, a closed terminal, the system shutting down."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from types import FrameType

from assistant.errors import StoppedByHand

REASONS = {
    signal.SIGINT: "stopped at the keyboard",
    signal.SIGTERM: "the system ended the assistant",
    **({signal.SIGHUP: "the terminal was closed"} if hasattr(signal, "SIGHUP") else {}),
}
"""Signal -> what the record says."""


class ToldToEnd(KeyboardInterrupt):
    """The process was told to end.

    Args:
        reason: one of REASONS.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


@contextlib.contextmanager
def in_order() -> Iterator[None]:
    """The first signal raises `ToldToEnd` where the session stands; later ones change nothing: it leaves in order.

    Outside the main thread, where Python takes no signals, nothing changes.

    Raises:
        StoppedByHand: it came before or after the session itself.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.getsignal(number) for number in REASONS}

    def first(number: int, _frame: FrameType | None) -> None:
        for each in REASONS:
            signal.signal(each, lambda _number, _frame: None)
        raise ToldToEnd(REASONS[signal.Signals(number)])

    for number in REASONS:
        signal.signal(number, first)
    try:
        yield
    except ToldToEnd as end:
        raise StoppedByHand(f"{end.reason}; no session was running", remedy="begin again when it suits") from None
    finally:
        for number, handler in before.items():
            signal.signal(number, handler if handler is not None else signal.SIG_DFL)
