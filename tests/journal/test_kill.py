"""Promises 3, 4, 9 against a real process that is killed in the middle of appending."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.errors import BadSession
from assistant.journal.store import JournalStore
from assistant.journal.verify import verify
from tests.journal.short_record import resumed

ROOT = Path(__file__).parents[2]
WRITER = """
import sys
from pathlib import Path
from tests.journal.short_record import new_store, opened, say
store = new_store(Path(sys.argv[1]))
store.append([opened(store)], 0)
print(store.folder, flush=True)
seed = 0
while True:
    seed += 1
    say(store, str(300 + seed), seed)
    print(store.entries[-1].seq, flush=True)
"""


@pytest.mark.parametrize("acknowledged", [1, 4, 9, 16, 25])
def test_what_a_killed_process_acknowledged_is_there_and_the_session_goes_on(tmp_path, acknowledged):
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE, text=True, bufsize=1, cwd=ROOT
    )
    try:
        assert process.stdout is not None
        folder = tmp_path / process.stdout.readline().strip()
        last = 0
        for _ in range(acknowledged):
            last = int(process.stdout.readline())
        with pytest.raises(BadSession, match="being written by another"):
            JournalStore.open(folder)
        process.send_signal(signal.SIGKILL)
        rest = process.stdout.read().split()
        assert process.wait() == -signal.SIGKILL
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
    whole = [int(number) for number in rest if int(number) > last]  # the last print may have been cut short
    for finding in verify(folder).findings:
        assert finding.severity == "note" or finding.sign == "crash"
    with JournalStore.open(folder) as store:
        assert len(store.entries) >= max([last, *whole[:-1]])
        assert [entry.seq for entry in store.entries] == list(range(1, len(store.entries) + 1))
        name, _ = store.audio.keep(store.audio.load("0001"))
        assert int(name) > max(int(getattr(entry.event, "utterance", "0") or 0) for entry in store.entries)
        store.append([resumed(store.torn_bytes)], 10**6)
    report = verify(folder)
    assert [f.code for f in report.findings if f.severity != "note"] == []
