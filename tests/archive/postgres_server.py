"""A real PostgreSQL server for the tests: Debian's package, in a folder of its own, reached by a socket file."""

from __future__ import annotations

import getpass
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

FIGURES = {"fsync": "off", "listen_addresses": "", "shared_buffers": "16MB", "max_connections": "20"}


class Server:
    """A server that can go away and come back.

    Args:
        folder: of its data and its socket.
        binaries: of the package.
    """

    def __init__(self, folder: Path, binaries: Path) -> None:
        self.folder, self.binaries = folder, binaries
        # The server refuses to run as root; the package brings an account for it.
        self.user = "postgres" if os.geteuid() == 0 else None
        self.number = 0

    def call(self, name: str, *arguments: str) -> None:
        done = subprocess.run(
            [self.binaries / name, *arguments], capture_output=True, text=True, user=self.user, cwd="/", check=False
        )
        assert done.returncode == 0, done.stderr

    def start(self) -> None:
        figures = " ".join(f"-c {name}={value or chr(39) * 2}" for name, value in FIGURES.items())
        self.call("pg_ctl", "-D", f"{self.folder}/data", "-l", f"{self.folder}/log", "-w", "-o",
                  f"-k {self.folder} {figures}", "start")  # fmt: skip

    def stop(self, mode: str = "immediate") -> None:
        self.call("pg_ctl", "-D", f"{self.folder}/data", "-m", mode, "-w", "stop")

    def database(self) -> str:
        """The address of a fresh, empty database."""
        self.number += 1
        self.call("createdb", "-h", str(self.folder), "-U", "site", f"site{self.number}")
        return f"postgresql://site@/site{self.number}?host={self.folder}"


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    pytest.importorskip("psycopg", reason="psycopg is not installed: pip install 'psycopg[binary]'")
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found:
        pytest.skip("no PostgreSQL server is installed: apt-get install postgresql")
    folder = Path(tempfile.mkdtemp(prefix="pg"))  # short: the path of a socket file may have 107 letters
    running = Server(folder, found[-1].parent)
    try:
        if running.user:
            shutil.chown(folder, running.user)
        running.call("initdb", "-D", f"{folder}/data", "-U", "site", "-A", "trust", "-N", "-E", "UTF8", "--no-locale")
        running.start()
    except (AssertionError, LookupError, OSError) as error:
        shutil.rmtree(folder, ignore_errors=True)
        pytest.skip(f"PostgreSQL cannot be started here as {running.user or getpass.getuser()}: {error}")
    try:
        yield running
    finally:
        running.stop()
        shutil.rmtree(folder, ignore_errors=True)
