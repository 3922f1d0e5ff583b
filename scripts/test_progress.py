"""For pytest in scripts/test: says which file is being tested and how far the run is, in place of dots.

Some files load the engines and take minutes, in which dots would stand still.
"""

from __future__ import annotations

import atexit
import os
import sys
import time
from typing import Any

import pytest

STEP_S = 0.2


class Progress:
    """One line that changes on a terminal, else a line a file."""

    def __init__(self, config: pytest.Config) -> None:
        self.config = config
        self.whole = self.done = 0
        self.files: set[str] = set()  # several are tested at a time where there are several processes
        self.shown_at = 0.0
        self.live = sys.stdout.isatty()

    @property
    def out(self) -> Any:
        return self.config.pluginmanager.get_plugin("terminalreporter")

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        self.whole = len(session.items)

    @pytest.hookimpl(optionalhook=True)
    def pytest_xdist_node_collection_finished(self, ids: list[str]) -> None:
        self.whole = len(ids)

    @pytest.hookimpl(tryfirst=True)
    def pytest_report_teststatus(self, report: Any) -> tuple[str, str, str] | None:
        if report.failed:
            return None  # as usual: a letter, and the story at the end
        return (report.outcome if report.when == "call" or report.skipped else "", "", "")

    def pytest_runtest_logstart(self, location: tuple[str, int | None, str]) -> None:
        self.done += 1
        fresh = location[0] not in self.files
        self.files.add(location[0])
        text = f"[{100 * (self.done - 1) // max(1, self.whole):3} %] {self.done} of {self.whole}  {location[0]}"
        if self.live and (fresh or time.monotonic() - self.shown_at > STEP_S):
            self.out._tw.write(f"\r\033[K{text[:100]}")
            self.out._tw.flush()
            self.shown_at = time.monotonic()
        elif fresh and not self.live:
            self.out.write_line(text)

    def pytest_sessionfinish(self) -> None:
        if self.live:
            self.out._tw.write("\r\033[K")


def pytest_configure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):  # a worker has no screen
        config.pluginmanager.register(Progress(config))
    # A compiled package counts its objects after Python's own end and reports those still referred to as leaks: 18
    # lines after "passed". Nothing of ours is written after this point.
    atexit.register(lambda: os.dup2(os.open(os.devnull, os.O_WRONLY), 2))
