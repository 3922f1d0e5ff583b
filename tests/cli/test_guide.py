"""`guide`, in-process and as a process: a typed joint to its seal, resuming, and being killed."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.cli.session_sources import record_of
from assistant.journal.reading import read_session
from assistant.replay.rebuild import rebuild_state
from tests.journal.test_trust import rewrite

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
LINES = [line for line in (ROOT / "tests/golden/plain.said").read_text("utf-8").splitlines() if line[:1] != "#"]
ME = ["Robin Marsh", "yes"]
"""Whoever tightens, asked at the start of every sitting."""
MIDDLE = LINES.index("snug") + 2
"""While bolts are snugged."""


def guide(lines: list[str], sessions: Path, monkeypatch: pytest.MonkeyPatch, *more: str, joint: Path = DEMO) -> int:
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join([*ME, *lines]) + "\n"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(sessions), "--date", "2026-11-25"]
    return main(["guide", str(joint), *options, *more])


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))


def test_a_joint_goes_from_file_to_sealed_record(tmp_path, monkeypatch, capsys):
    assert guide(LINES, tmp_path / "sessions", monkeypatch) == 0
    (folder,) = (tmp_path / "sessions").iterdir()
    assert (folder / "seal.json").exists()
    capsys.readouterr()
    assert main(["verify", str(folder)]) == 1
    assert "good: " in capsys.readouterr().out
    assert main(["replay", str(folder)]) == 1  # it was typed, and both waits were cut short: somebody has to decide
    told = capsys.readouterr().out
    assert "Pump 2 discharge flange: To be decided" in told and "bolt 5, pass 3, 170 N·m" in told


def test_a_joint_in_german_goes_its_way_with_the_same_english_words(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    assert guide(LINES[:MIDDLE], sessions, monkeypatch, "--language", "de") == 1
    assert guide(LINES[MIDDLE:], sessions, monkeypatch, "--language", "en") == 0
    told = capsys.readouterr()
    assert "goes on in the language that it began in: de" in told.err
    assert "Sag: „locked out and tried“." in told.out and "Schraube eins, auf hundertsiebzig Newtonmeter." in told.out
    (folder,) = sessions.iterdir()
    assert record_of(folder).verification.good


def test_an_unfinished_joint_is_gone_on_with_at_the_same_bolt(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    assert guide(LINES[:MIDDLE], sessions, monkeypatch) == 1
    (folder,) = sessions.iterdir()
    before = rebuild_state(e.event for e in read_session(folder).entries)
    capsys.readouterr()
    assert guide(LINES[MIDDLE:], sessions, monkeypatch) == 0
    assert (
        f"Bolt {['one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight'][before.bolt - 1]}."
        in capsys.readouterr().out
    )
    assert list(sessions.iterdir()) == [folder]
    assert record_of(folder).verification.good


def test_killed_in_the_middle_of_a_pass_it_goes_on_at_the_same_bolt(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    command = [sys.executable, "-m", "assistant", "guide", str(DEMO), "--listen", "typed", "--speak", "silent"]
    command += ["--sessions", str(sessions), "--date", "2026-11-25"]
    process = subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT, env=os.environ.copy()
    )
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write("\n".join([*ME, *LINES[: LINES.index("52") + 4]]) + "\n")
    process.stdin.flush()
    impatience = threading.Timer(60, process.kill)  # a line that never comes must not hang the tests
    impatience.start()
    seen = any("bolt 7, pass 1, 52 N·m" in line for line in process.stdout)
    impatience.cancel()
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert seen
    (folder,) = sessions.iterdir()
    before = rebuild_state(e.event for e in read_session(folder).entries)
    assert before.bolt == 2
    assert guide(["status"], sessions, monkeypatch) == 1
    after = rebuild_state(e.event for e in read_session(folder).entries)
    assert after.bolt == 2 and after.entries == before.entries
    assert "Bolt two, to fifty two newton metres." in capsys.readouterr().out
    assert record_of(folder).verification.good


def test_two_cannot_write_one_session(tmp_path, monkeypatch):
    sessions = tmp_path / "sessions"
    guide(LINES[:3], sessions, monkeypatch)
    (folder,) = sessions.iterdir()
    program = "import sys; from pathlib import Path; from assistant.journal.store import JournalStore\n"
    program += "session = JournalStore.open(Path(sys.argv[1])); print('open', flush=True); input()"
    holder = subprocess.Popen(
        [sys.executable, "-c", program, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    assert holder.stdout is not None and holder.stdout.readline().strip() == "open"
    try:
        assert guide(["status"], sessions, monkeypatch) == 2
    finally:
        holder.kill()
        holder.wait()


def test_a_changed_joint_file_does_not_silently_begin_anew(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    guide(LINES[:3], sessions, monkeypatch)
    changed = tmp_path / "changed.toml"
    changed.write_text(DEMO.read_text("utf-8").replace('torque = "310 N*m"', 'torque = "300 N*m"'), "utf-8")
    assert guide(["status"], sessions, monkeypatch, joint=changed) == 2
    assert "unfinished, and the joint file has changed since" in capsys.readouterr().err
    assert guide(["status"], sessions, monkeypatch, "--new", joint=changed) == 1


def test_the_keyboard_interrupts_and_everything_is_stored(tmp_path, monkeypatch):
    class Interrupting(io.StringIO):
        def readline(self, *args):
            line = super().readline(*args)
            if not line:
                raise KeyboardInterrupt
            return line

    monkeypatch.setattr(sys, "stdin", Interrupting("locked out and tried\n"))
    options = ["--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / "s"), "--date", "2026-11-25"]
    assert main(["guide", str(DEMO), *options]) == 4  # StoppedByHand
    (folder,) = (tmp_path / "s").iterdir()
    assert read_session(folder).entries[-1].event.kind == "session-left"


def start_typed(sessions: Path, lines: list[str], **how) -> subprocess.Popen[str]:
    """`guide` as a process with some lines typed, once the last of them was taken in."""
    command = [sys.executable, "-m", "assistant", "guide", str(DEMO), "--listen", "typed", "--speak", "silent"]
    command += ["--sessions", str(sessions), "--date", "2026-11-25"]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                               text=True, cwd=ROOT, env=os.environ.copy(), **how)  # fmt: skip
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write("\n".join(lines) + "\n")
    process.stdin.flush()
    impatience = threading.Timer(60, process.kill)  # a line that never comes must not hang the tests
    impatience.start()
    heard = 0
    while heard < len(lines) and (line := process.stdout.readline()):
        heard += line.split("  ")[0:1] != [] and " heard" in line
    impatience.cancel()
    return process


@pytest.mark.parametrize(
    ("signals", "reason"),
    [
        ([signal.SIGTERM], "the system ended the assistant"),
        ([signal.SIGHUP], "the terminal was closed"),
        ([signal.SIGINT, signal.SIGINT, signal.SIGINT], "stopped at the keyboard"),
        ([signal.SIGINT, signal.SIGTERM], "stopped at the keyboard"),
    ],
    ids=["term", "hang-up", "thrice", "both"],
)
def test_told_to_end_it_leaves_in_order_and_says_why(signals, reason, tmp_path, capsys):
    process = start_typed(tmp_path / "s", LINES[:3])
    for each in signals:
        process.send_signal(each)
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 4 and "Traceback" not in errors and "stored" in errors
    (folder,) = (tmp_path / "s").iterdir()
    last = read_session(folder).entries[-1].event
    assert last.kind == "session-left" and last.reason == (
        reason if signals[0] == signals[-1] else last.reason  # of two at once either may be first
    )
    assert main(["verify", str(folder)]) == 1  # as recorded, and not finished
    assert "good: " in capsys.readouterr().out


def test_a_screen_that_goes_away_ends_nothing(tmp_path):
    process = start_typed(tmp_path / "s", LINES[:3])
    process.stdout.close()
    process.stdin.write("\n".join(LINES[3:8]) + "\n")
    process.stdin.close()
    process.stdin = None
    process.wait(60)
    (folder,) = (tmp_path / "s").iterdir()
    events = [entry.event for entry in read_session(folder).entries]
    assert sum(e.kind == "utterance-heard" for e in events) == 8
    assert events[-1].kind == "session-left" and "Traceback" not in process.stderr.read()


def test_without_a_microphone_nothing_is_begun(tmp_path, capsys):
    settings = tmp_path / "xdg_config_home" / "bolting-assistant" / "settings.toml"
    settings.parent.mkdir(parents=True)
    settings.write_text("microphone = 'one that is not there'\n", "utf-8")
    assert main(["guide", str(DEMO), "--sessions", str(tmp_path / "s"), "--date", "2026-11-25"]) == 3
    assert "Traceback" not in capsys.readouterr().err
    assert not list(tmp_path.glob("s/*")), "a session with nothing in it was left behind"


def test_a_closed_session_without_its_seal_is_sealed_at_the_next_start(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    assert guide(LINES, sessions, monkeypatch) == 0
    (folder,) = sessions.iterdir()
    (folder / "seal.json").unlink()
    assert guide(["status"], sessions, monkeypatch) == 2
    assert "Sealed now" in capsys.readouterr().err
    assert record_of(folder).verification.good


def test_a_joint_that_was_closed_is_not_begun_again_without_being_asked_for(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    assert guide(LINES, sessions, monkeypatch) == 0
    capsys.readouterr()
    assert guide(["status"], sessions, monkeypatch) == 2
    told = capsys.readouterr().err
    assert "was closed: this joint is done" in told and "--new begins the joint anew" in told
    assert len(list(sessions.iterdir())) == 1
    assert guide(["status"], sessions, monkeypatch, "--new") == 1  # the remedy helps
    assert guide(["status"], sessions, monkeypatch) == 1 and len(list(sessions.iterdir())) == 2


def test_beside_a_session_that_cannot_be_read_nothing_begins_in_silence(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    assert guide(LINES[:15], sessions, monkeypatch) == 1
    (folder,) = sessions.iterdir()
    (folder / "journal.jsonl").rename(folder / "gone")
    capsys.readouterr()
    assert guide(["status"], sessions, monkeypatch) == 2
    assert "is an earlier session of this joint and cannot be continued" in capsys.readouterr().err
    assert guide(["status"], sessions, monkeypatch, "--new") == 1


def test_an_open_joint_rewritten_by_hand_is_not_gone_on_with_and_not_sealed(tmp_path, monkeypatch, capsys):
    sessions = tmp_path / "sessions"
    assert guide(LINES[:40], sessions, monkeypatch) == 1
    (folder,) = sessions.iterdir()

    def tightened(body):
        if body["kind"] == "reading-accepted":
            body["payload"]["achieved"]["value"] = "53"
        return body

    rewrite(folder, tightened)
    before = (folder / "journal.jsonl").read_bytes()
    capsys.readouterr()
    assert guide(LINES[40:], sessions, monkeypatch) == 2
    told = capsys.readouterr().err
    assert "cannot be trusted" in told and "Show the folder to the lead" in told
    assert (folder / "journal.jsonl").read_bytes() == before and not (folder / "seal.json").exists()
    assert main(["verify", str(folder)]) == 1 and "CANNOT BE TRUSTED" in capsys.readouterr().out


def test_keys_and_sessions_can_be_kept_elsewhere_where_the_home_is_read_only(tmp_path, monkeypatch, capsys):
    home = tmp_path / "home"
    home.write_text("not a folder: nothing can be made below it")
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(home / name.lower()))
    sessions = tmp_path / "sessions"
    assert guide(LINES[:5], sessions, monkeypatch) == 2
    told = capsys.readouterr().err
    assert "ASSISTANT_KEYS" in told and "Traceback" not in told and not sessions.exists()
    monkeypatch.setenv("ASSISTANT_KEYS", str(tmp_path / "keys"))  # the remedy, followed
    assert guide(LINES[:5], sessions, monkeypatch) == 1
    (folder,) = sessions.iterdir()
    assert (tmp_path / "keys" / "seal-key.pem").is_file() and (folder / "checkpoints.jsonl").is_file()


@pytest.mark.parametrize("option", ["loudhailer", "wav", "wav:"])
def test_an_unknown_source_of_words_is_refused(tmp_path, option, capsys):
    assert main(["guide", str(DEMO), "--listen", option, "--sessions", str(tmp_path)]) == 2
    assert "--listen" in capsys.readouterr().err


def test_a_sessions_folder_that_cannot_be_written_is_said(tmp_path, monkeypatch, capsys):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    assert guide(["status"], blocked / "sessions", monkeypatch) == 4
    assert "Traceback" not in capsys.readouterr().err


def test_help_has_an_example(capsys):
    for command in ("start", "plan", "guide", "rehearse", "hear", "replay", "verify", "torque", "devices"):
        with pytest.raises(SystemExit) as stopped:
            main([command, "--help"])
        assert stopped.value.code == 0
        assert f"assistant {command}" in capsys.readouterr().out


def test_json_errors_are_one_document(capsys):
    assert main(["plan", "nowhere.toml", "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["code"] == "bad-joint-file"
