"""The command line as a newcomer meets it: help, version, new, joints, settings, completion; in-process."""

from __future__ import annotations

import importlib
import json
import re
import shutil
import subprocess
import sys

import pytest

import assistant
from assistant.cli import completion, joints, new, settings
from assistant.cli.main import COMMANDS, main, parser
from assistant.config import paths, program
from assistant.config.joint_template import KINDS
from assistant.config.settings import Settings, find_settings
from assistant.errors import BadSettings


@pytest.fixture(autouse=True)
def own_home(tmp_path, monkeypatch):
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    for name in Settings.model_fields:
        monkeypatch.delenv(f"ASSISTANT_{name.upper()}", raising=False)


def call(capsys, *arguments):
    try:
        status = main([*map(str, arguments)])
    except SystemExit as ended:
        status = ended.code
    return status, *capsys.readouterr()


# ----------------------------------------------------------------------------------------------------- help, version
@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_of_commands_says_what_each_says_of_itself(name):
    commands = parser(name)._subparsers._group_actions[0]
    (listed,) = [action.help for action in commands._choices_actions]
    assert listed == COMMANDS[name]
    assert "example" in commands.choices[name].format_help()


def test_help_loads_no_engine():
    """What makes `assistant --help` slow is loading; a subprocess shows what was loaded."""
    code = "import sys, assistant.cli.main as m\ntry: m.main(['--help'])\nexcept SystemExit: print(*sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(ran.stdout.split())
    assert not loaded & {"numpy", "pint", "pydantic", "rich", "vosk", "onnxruntime", "assistant.cli.guide"}
    assert all(re.search(rf"^ +{name}\b", ran.stdout, re.MULTILINE) for name in COMMANDS)


def test_the_version_names_digests(capsys):
    status, out, _ = call(capsys, "--version")
    assert status == 0 and out.startswith(f"assistant {assistant.__version__}\n")
    for digest in (program.program_digest(), program.procedures_digest(), program.models_digest()):
        assert digest in out


# ------------------------------------------------------------------------------------------------------- joint files
def test_new_writes_a_file_that_plans_and_says_what_is_an_example(capsys, tmp_path):
    file = tmp_path / "mine.toml"
    status, out, _ = call(capsys, "new", "--kind", "plain pattern", "--bolts", 36, "--thread", "M16", "--to", file)
    assert status == 0 and "it plans" in out and "examples to replace" in out
    assert "count = 36\n" in file.read_text(encoding="utf-8")
    assert "bolts" not in out.split("examples to replace")[1].split("it plans")[0].split(": ")[1].split(", ")


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_file_of_every_kind_can_be_guided_as_it_stands(capsys, tmp_path, kind):
    file = tmp_path / "mine.toml"
    status, out, _ = call(capsys, "new", "--kind", kind, "--to", file, "--json")
    assert status == 0 and json.loads(out)["plans"]
    status, out, _ = call(capsys, "plan", file)
    assert status == 0 and "Still marked EXAMPLE" in out


def test_new_never_writes_over_a_file(capsys, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text("mine")
    status, _, err = call(capsys, "new", "--to", file)
    assert status == 2 and str(file) in err and "--to" in err and file.read_text() == "mine"


def test_new_says_when_a_value_that_was_given_cannot_be(capsys, tmp_path):
    status, out, _ = call(capsys, "new", "--kind", "plain pattern", "--torque", "4000 N*m", "--to", tmp_path / "x.toml")
    assert status == 1 and "it does not plan yet" in out


def test_questions_pass_over_what_is_known_and_take_the_standard_drilling(monkeypatch):
    asked = []
    answers = {"flange standard": "EN 1092-1", "flange size": "DN 80", "flange rating": "PN 40"}

    def answer(question):
        asked.append(question)
        return next((text for start, text in answers.items() if question.startswith(start)), "")

    monkeypatch.setattr("builtins.input", answer)
    known = new.asked("gasketed flange", {"name": "Mine"}, us=False)
    assert known == {"name": "Mine", "standard": "EN 1092-1", "size": "DN 80", "rating": "PN 40"}
    assert not any(question.startswith("name of the joint") for question in asked)
    assert "how many bolts [8]: " in asked and any("[M16]" in question for question in asked)


LIST = """\
Joint,Kind,Standard,Size,Rating,Grade,Length,Condition,Torque (N*m),Published for,Remarks
Feed pump,gasketed flange,EN 1092-1,DN 80,PN 40,8.8,80 mm,anti-seize,95,anti-seize,
Drain,gasketed flange,EN 1092-1,DN 81,PN 40,8.8,80 mm,anti-seize,95,anti-seize,no such size
Vent,gasketed flange,EN 1092-1,DN 80,PN 40,8.8,,anti-seize,95,anti-seize,no length
Blower,gasketed flange,EN 1092-1,DN 80,PN 40,8.8,80 mm,anti-seize,950,anti-seize,far too much
"""


def test_a_bolting_list_becomes_joint_files_and_a_report(capsys, tmp_path):
    path, folder = tmp_path / "list.csv", tmp_path / "joints"
    path.write_text(LIST, encoding="utf-8")
    status, out, _ = call(capsys, "new", "--from", path, "--to", folder, "--wrench", "wrench nine", "--json")
    report = json.loads(out)
    assert status == 1 and report["columns"] == ["Remarks"]
    good, no_size, no_length, too_much = report["rows"]
    assert good["plans"] and "wrench" not in good["examples"] and "serial" in good["examples"]
    text = (folder / "feed-pump.toml").read_text(encoding="utf-8")
    assert "count = 8\n" in text and 'thread = "M16"' in text  # EN 1092-1, DN 80 PN 40: eight M16
    assert no_size["file"] is None and "DN 81" in no_size["told"]
    assert no_length["told"] == "missing: length"
    assert too_much["file"] and not too_much["plans"] and "proof" in too_much["told"]
    status, out, _ = call(capsys, "new", "--from", path, "--to", folder)
    assert status == 1 and "NOT TAKEN" in out and "is there already" in out and "0 of 4 rows" in out


def test_no_option_gives_all_rows_one_torque(capsys, tmp_path):
    (tmp_path / "list.csv").write_text(LIST, encoding="utf-8")
    status, _, err = call(capsys, "new", "--from", tmp_path / "list.csv", "--torque", "95 N*m")
    assert status == 2 and "--torque" in err


def test_joints_lists_the_demos_and_passes_over_procedures(capsys, tmp_path):
    assert call(capsys, "joints")[1].count(".toml") == len(list(paths.shipped("demo_joints").glob("*.toml")))
    for path in paths.shipped("demo_joints").glob("*base.toml"):
        shutil.copy(path, tmp_path)
    (tmp_path / "kind.toml").write_text('title = "mine"\n[[steps]]\nname = "x"\n')
    status, out, _ = call(capsys, "joints", tmp_path, "--json")
    (row,) = json.loads(out)
    assert status == 0 and row["good"] and row["bolts"] == "12 M24"
    (tmp_path / "broken.toml").write_text("name = \n")
    status, out, _ = call(capsys, "joints", tmp_path)
    assert status == 1 and "broken.toml" in out and "Gate drive gearbox base" in out


def test_joints_of_no_folder_is_bad_input(tmp_path):
    with pytest.raises(BadSettings, match="nowhere"):
        joints.run(parser("joints").parse_args(["joints", str(tmp_path / "nowhere")]))


# ---------------------------------------------------------------------------------------------------------- settings
def test_each_setting_says_where_its_value_comes_from(monkeypatch, capsys):
    file = paths.settings_file()
    file.parent.mkdir(parents=True)
    file.write_text("volume = 0.5\nrate_wpm = 120\n")
    monkeypatch.setenv("ASSISTANT_RATE_WPM", "180")
    monkeypatch.setenv("ASSISTANT_HEADSET", "true")
    found = find_settings()
    assert (found.settings.volume, found.settings.rate_wpm, found.settings.headset) == (0.5, 180, True)
    status, out, _ = call(capsys, "settings", "--json")
    rows = {row["name"]: row for row in json.loads(out)["settings"]}
    assert status == 0 and set(rows) == set(Settings.model_fields)
    assert rows["volume"]["origin"] == str(file)
    assert (rows["rate_wpm"]["origin"], rows["rate_wpm"]["value"]) == ("ASSISTANT_RATE_WPM", 180)
    assert rows["voice"]["origin"] == "default" and all(row["meaning"] for row in rows.values())


def test_a_bad_variable_is_named(monkeypatch):
    monkeypatch.setenv("ASSISTANT_VOLUME", "loud")
    with pytest.raises(BadSettings, match="ASSISTANT_VOLUME: volume is 'loud'"):
        find_settings()


def test_the_template_names_every_setting_and_is_a_settings_file_once_uncommented(capsys, tmp_path):
    text = settings.template()
    names = re.findall(r"^# (\w+) = ", text, re.MULTILINE)
    assert names == list(Settings.model_fields)
    kept = [line[2:] for line in text.splitlines() if re.match(r"# \w+ = ", line) and not line.endswith('""')]
    file = tmp_path / "settings.toml"
    file.write_text("\n".join(kept))
    assert find_settings(file).settings == Settings()


# -------------------------------------------------------------------------------------------------------- completion
@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_script_names_every_command_and_option(capsys, shell):
    status, out, _ = call(capsys, "completion", shell)
    assert status == 0
    for name in COMMANDS:
        assert name in out
        for option in parser(name)._subparsers._group_actions[0].choices[name]._actions:
            for word in option.option_strings:
                if word.startswith("--") and option.help != "==SUPPRESS==":
                    assert word.lstrip("-") in out


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("assistant pl", {"plan"}),
        ("assistant completion ", {"bash", "zsh", "fish"}),
        ("assistant guide --lang", {"--language"}),
        ("assistant guide --language ", {"de", "en"}),
    ],
)
def test_bash_itself_completes(line, expected):
    words = line.split(" ")
    script = f"""
{completion.bash(completion.options())}
COMP_WORDS=({" ".join(repr(word) for word in words)})
COMP_CWORD={len(words) - 1}
_assistant
printf '%s\\n' "${{COMPREPLY[@]}}"
"""
    ran = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True, cwd="/")
    assert expected <= set(ran.stdout.split()) and not ran.stderr


def test_every_command_has_a_module():
    for name in COMMANDS:
        assert callable(importlib.import_module(f"assistant.cli.{name}").run)


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["joints"]])
def test_a_full_disk_behind_the_output_is_one_sentence(arguments):
    with open("/dev/full", "w") as full:  # noqa: PTH123
        ran = subprocess.run([sys.executable, "-m", "assistant", *arguments], stdout=full, stderr=subprocess.PIPE)
    assert ran.returncode == 2 and b"cannot be written" in ran.stderr and b"Traceback" not in ran.stderr
