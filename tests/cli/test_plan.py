"""`assistant plan`, in-process: output and exit codes."""

import json

import pytest

from assistant.cli.main import parser
from assistant.cli.plan import run
from assistant.errors import BadJointFile, BadSettings, UnsafeJoint
from tests.bolting.joint_samples import DEMOS, FLANGE


def call(capsys, *arguments):
    args = parser("plan").parse_args(["plan", *map(str, arguments)])
    assert args.run is run
    return run(args), *capsys.readouterr()


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_demo_joint_prints_its_plan_and_exits_0(capsys, path):
    status, out, err = call(capsys, path, "--date", "2026-11-25")
    assert (status, err) == (0, "")
    assert "SAFETY" in out and "CALCULATION SHEET" in out and "The manufacturer's instruction" in out


def test_json_is_one_document_and_nothing_else(capsys):
    status, out, err = call(capsys, FLANGE, "--json", "--date", "2026-11-25")
    document = json.loads(out)
    assert (status, err) == (0, "")
    (group,) = document["groups"]
    assert (document["joint"], group["bolts"], group["order"]) == (
        "Pump 2 discharge flange",
        8,
        [1, 5, 3, 7, 2, 6, 4, 8],
    )
    assert len(group["steps"]) == 32
    first = group["steps"][0]
    assert {key: first[key] for key in ("pass", "position", "bolt", "target", "setting", "low", "high", "unit")} == {
        "pass": 1,
        "position": 1,
        "bolt": 1,
        "target": 51.15,
        "setting": 52.0,
        "low": 48.5925,
        "high": 53.7075,
        "unit": "N*m",
    }


def test_the_schema_needs_no_joint(capsys):
    status, out, _ = call(capsys, "--schema")
    assert status == 0 and json.loads(out)["title"] == "Joint file"


def test_the_schema_of_procedure_files_needs_no_joint(capsys):
    status, out, _ = call(capsys, "--procedure-schema")
    schema = json.loads(out)
    assert status == 0 and schema["title"] == "Procedure file"
    assert {"steps", "extends", "variants"} <= set(schema["properties"])


def test_the_procedures_steps_follow_the_calculation_and_stand_in_the_json(capsys):
    _, out, _ = call(capsys, FLANGE, "--date", "2026-11-25")
    assert out.index("CALCULATION SHEET") < out.index("\nPROCEDURE\n") < out.index("HOLD POINT closing")
    _, out, _ = call(capsys, FLANGE, "--json", "--date", "2026-11-25")
    steps = json.loads(out)["procedure"]
    assert [each["step"] for each in steps] == list(range(1, len(steps) + 1))
    assert steps[-1]["phrase"] == "close the joint" and {"wait", "measure", "circular"} <= {s["kind"] for s in steps}


def test_sheets_are_written_and_named(capsys, tmp_path):
    html, pdf = tmp_path / "plan.html", tmp_path / "plan.pdf"
    status, out, _ = call(capsys, FLANGE, "--html", html, "--pdf", pdf, "--date", "2026-11-25")
    assert status == 0 and out.splitlines() == [f"written: {html}", f"written: {pdf}"]
    assert html.read_text("utf-8").startswith("<!doctype html>") and pdf.read_bytes().startswith(b"%PDF-")


def test_sheets_and_json_go_together_with_only_json_on_stdout(capsys, tmp_path):
    _, out, _ = call(capsys, FLANGE, "--json", "--html", tmp_path / "plan.html", "--date", "2026-11-25")
    assert json.loads(out)["groups"]
    assert (tmp_path / "plan.html").exists()


@pytest.mark.parametrize("option", ["--html", "--pdf"])
def test_a_sheet_that_cannot_be_written_is_said_with_its_option(capsys, tmp_path, option):
    with pytest.raises(BadSettings, match=f"{option}: .*cannot be written") as caught:
        call(capsys, FLANGE, option, tmp_path / "no" / "plan", "--date", "2026-11-25")
    assert caught.value.exit_status == 2


def test_bad_files_exit_2(capsys, tmp_path):
    for path in (tmp_path, tmp_path / "none.toml"):
        with pytest.raises(BadJointFile) as caught:
            call(capsys, path)
        assert caught.value.exit_status == 2


def test_an_overdue_wrench_on_the_day_of_the_job_exits_2(capsys):
    with pytest.raises(UnsafeJoint, match="calibration ran out") as caught:
        call(capsys, FLANGE, "--date", "2037-01-01")
    assert caught.value.exit_status == 2


def test_a_joint_or_the_schema_is_needed(capsys):
    with pytest.raises(BadSettings, match="no joint file named"):
        call(capsys)


@pytest.mark.parametrize("day", ["tomorrow", "2026-02-30", "25.11.2026"])
def test_a_day_that_is_none_exits_2(capsys, day):
    with pytest.raises(SystemExit) as caught:
        call(capsys, FLANGE, "--date", day)
    assert caught.value.code == 2 and "write it like 2027-03-31" in capsys.readouterr().err


def test_help_shows_an_example(capsys):
    with pytest.raises(SystemExit) as caught:
        call(capsys, "--help")
    assert caught.value.code == 0
    assert "assistant plan demo_joints/north-sluice-dn150-flange.toml" in capsys.readouterr().out


def test_a_plan_with_a_stop_exits_1_until_the_joint_file_releases_it(capsys, tmp_path):
    path = tmp_path / "joint.toml"
    text = FLANGE.read_text("utf-8").replace('nut = "8"', 'nut = "5"')
    path.write_text(text, "utf-8")
    status, out, err = call(capsys, path, "--date", "2026-11-25")
    assert status == 1 and "Stop: nut too weak" in out and "nut too weak" in err
    status, out, err = call(capsys, path, "--json", "--date", "2026-11-25")
    assert (status, err, json.loads(out)["stops"][0]["released_by"]) == (1, "", None)
    path.write_text(text + '[[releases]]\nstop = "nut too weak"\nby = "lead"\nreason = "marked wrongly"\n', "utf-8")
    status, out, err = call(capsys, path, "--date", "2026-11-25")
    assert (status, err) == (0, "") and "Released by lead: marked wrongly" in " ".join(out.split())
