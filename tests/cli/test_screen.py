"""What goes to a terminal holds no control signs; and a session that is spoken does not need its screen."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.cli.main import main
from assistant.cli.screen import Screen, shown
from assistant.journal.reading import read_session

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_joints" / "north-sluice-dn150-flange.toml"
LINES = [line for line in (ROOT / "tests/golden/plain.said").read_text("utf-8").splitlines() if line[:1] != "#"]
HOSTILE = "\x1b[2J\x9b31m\u202egood\u2066\x07"


@given(st.text())
def test_what_is_shown_holds_no_sign_that_a_terminal_would_obey(text):
    clean = shown(text)
    assert len(clean) == len(text)
    assert all(c in "\n\t\r" or c.isprintable() for c in clean)
    assert clean == text or not text.isprintable()


def guide(tmp_path, lines, *, stdout):
    """Guide typed lines in a process of its own, with this as its standard output; (exit code, session's events)."""
    environment = os.environ | {
        name: str(tmp_path / name) for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME")
    }
    command = [sys.executable, "-m", "assistant", "guide", str(DEMO), "--listen", "typed", "--speak", "silent"]
    command += ["--sessions", str(tmp_path / "sessions"), "--date", "2026-11-25"]
    process = subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=stdout, stderr=subprocess.PIPE, text=True, cwd=ROOT, env=environment
    )
    if stdout == subprocess.PIPE:
        assert process.stdout is not None
        process.stdout.close()  # as `| head` does when it has seen enough
    _, err = process.communicate("\n".join(["Robin Marsh", "yes", *lines]) + "\n", timeout=120)
    (folder,) = [path for path in (tmp_path / "sessions").iterdir() if path.is_dir()]
    return process.returncode, err, [entry.event.kind for entry in read_session(folder).entries]


def test_a_closed_pipe_and_a_full_disk_behind_the_output_end_no_session(tmp_path):
    status, err, kinds = guide(tmp_path / "pipe", LINES[:12], stdout=subprocess.PIPE)
    assert status == 1 and kinds[-1] == "session-left" and "Traceback" not in err
    with Path("/dev/full").open("w") as full:
        other, err, more = guide(tmp_path / "full", LINES[:12], stdout=full)
    assert other == 1 and more == kinds and "Traceback" not in err


def test_another_command_says_that_its_output_is_full(tmp_path):
    with Path("/dev/full").open("w") as full:
        command = [sys.executable, "-m", "assistant", "plan", str(DEMO)]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, cwd=ROOT, check=False)
    assert done.returncode == 2 and "the output cannot be written (No space left on device)" in done.stderr


def test_a_screen_that_fails_fails_once():
    class Broken(io.StringIO):
        def write(self, text):
            raise OSError(5, "Input/output error")

    screen = Screen(Broken(), raw=False, lasting=True)
    assert screen.write("x") == 1 and screen.gone and screen.write("y") == 1


def test_errors_and_plans_show_hostile_names_without_obeying_them(tmp_path, capsys):
    joint = tmp_path / "joint.toml"
    text = DEMO.read_text("utf-8").replace('name = "Pump 2', 'name = "\\u001b[2J\\u202e\\u009bPump 2')
    joint.write_text(text, "utf-8")
    for arguments in (
        ["plan", str(joint)],
        ["plan", HOSTILE],
        ["verify", HOSTILE],
        ["guide", HOSTILE],
        ["hear", HOSTILE],
    ):
        main(arguments)
        out, err = capsys.readouterr()
        assert not set(HOSTILE) & set(out + err) & set("\x1b\x9b\u202e\u2066\x07"), arguments


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("deep.toml", "a = " + "[" * 5000),
        ("long.toml", "a = " + "9" * 5000),
        ("many.toml", "\n".join(f"key{n} = 1" for n in range(3000))),
        ("x" * 300, None),
        ("odd\udcff.toml", None),
        ("nul\0", None),
    ],
)
def test_contrived_joint_files_and_names_are_refused_in_a_few_sentences(tmp_path, capsys, name, content):
    path = tmp_path / name
    if content is not None:
        path.write_text(content, "utf-8")
    for command in ("plan", "guide"):
        assert main([command, str(path)]) == 2
        err = capsys.readouterr().err
        assert 0 < len(err) < 5000 and "Traceback" not in err


def test_a_pipe_is_no_joint_file(tmp_path, capsys):
    os.mkfifo(tmp_path / "pipe.toml")
    assert main(["plan", str(tmp_path / "pipe.toml")]) == 2
    assert "not a plain file" in capsys.readouterr().err


@pytest.mark.parametrize("sessions", ["x" * 300, "a\0b"])
def test_a_folder_of_sessions_that_cannot_be_is_refused_in_words(tmp_path, monkeypatch, capsys, sessions):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "stdin", io.StringIO("status\n"))
    status = main(
        ["guide", str(DEMO), "--listen", "typed", "--speak", "silent", "--sessions", str(tmp_path / sessions)]
    )
    assert status in (2, 4) and "Traceback" not in capsys.readouterr().err
