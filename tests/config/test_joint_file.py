"""Joint files on disk: every refusal names file, field, value and what is allowed; all of them at once."""

import json
import os
import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.config.joint_file import MOST_BYTES, joint_schema, parse_joint, read_joint
from assistant.errors import AssistantError, BadJointFile, UnsafeJoint
from tests.bolting.joint_samples import DEMOS, FLANGE, TODAY

TEXT = FLANGE.read_text("utf-8")


def refused(tmp_path, old, new, *, today=TODAY):
    """The error for the demo file with one stretch of text replaced."""
    assert old in TEXT
    path = tmp_path / "changed.toml"
    path.write_text(TEXT.replace(old, new, 1), "utf-8")
    with pytest.raises(AssistantError) as caught:
        read_joint(path, today=today)
    return caught.value


# what stands there -> what is written instead, then: field, value as told, why, and what is allowed
REFUSED = [
    ('"310 N*m"', "310", "groups[1].target.torque is 310", "its unit is missing", "'N*m', 'lbf*ft'"),
    ('"310 N*m"', '"310"', "groups[1].target.torque is '310'", "the unit is missing", "like '310 N*m'"),
    ('"310 N*m"', '"310 nm"', "groups[1].target.torque is '310 nm'", "nanometre or newton metre", "'N*m'"),
    ('"310 N*m"', '"310 lb"', "groups[1].target.torque is '310 lb'", "foot or inch is missing", "'lbf*ft'"),
    ('"310 N*m"', '"310 J"', "groups[1].target.torque is '310 J'", "a torque is not an energy", "'N*m'"),
    ('"310 N*m"', '"310 kN"', "groups[1].target.torque is '310 kN'", "not a unit of torque", "'N*m'"),
    ('"310 N*m"', '"20,5 N*m"', "groups[1].target.torque is '20,5 N*m'", "not a plain number", "'N*m'"),
    ('"310 N*m"', '"-310 N*m"', "groups[1].target.torque is '-310 N*m'", "must be above zero", "'310 N*m'"),
    ('"90 mm"', '"90 kN"', "groups[1].length is '90 kN'", "not a unit of length", "'mm', 'cm'"),
    ("count = 8", "count = 12", "groups[1].count is 12", "EN 1092-1 DN 150 PN 16 has 8 bolts", "count the holes"),
    ("count = 8", 'count = "8"', "groups[1].count is '8'", "not a whole number", "at least 1, at most 96"),
    ("count = 8", "count = 0", "groups[1].count is 0", "greater than or equal to 1", "at most 96"),
    ("count = 8", "count = true", "groups[1].count is True", "not a whole number", "at most 96"),
    ('thread = "M20"', 'thread = "M21"', "groups[1].thread is 'M21'", "there is no M21", "M20, M22"),
    ('thread = "M20"', 'thread = "M20x3"', "groups[1].thread is 'M20x3'", "does not go with pitch 3", "M20x2.5"),
    ('thread = "M20"', 'thread = "M24"', "groups[1].thread is 'M24'", "takes M20 bolts", "M20, or no [flange]"),
    ('grade = "8.8"', 'grade = "8.7"', "groups[1].grade is '8.7'", "unknown", "8.8, 9.8, 10.9"),
    ('grade = "8.8"', 'grade = "SAE 5"', "groups[1].grade is 'SAE 5'", "for Unified (inch) threads", "exists for this"),
    ('nut = "8"', 'nut = "7"', "groups[1].nut is '7'", "unknown", "One of: "),
    ('condition = "anti-seize"', 'condition = "butter"', "condition is 'butter'", "unknown", "dry, black finish"),
    ('published_for = "dry"\n', "", "groups[1].target.published_for", "missing", "the thread condition"),
    ('published_for = "dry"', 'published_for = "wet"', "published_for is 'wet'", "unknown", "One of: dry"),
    ('torque = "310', 'preload = "7 kN"\ntorque = "310', "groups[1].target", "torque and preload", "exactly one of"),
    ('order = "cross"', 'order = "spiral"', "tightening.order is 'spiral'", "unknown", "cross, modified cross"),
    ('order = "cross"', 'order = "circular"', "tightening.order is 'circular'", "gasketed joint", "the cross order"),
    ('order = "cross"', 'order = "clamp"', "tightening.order is 'clamp'", "bolt count is 8", "2 or 4 bolts"),
    ('"60 %", "100 %"]', '"20 %", "100 %"]', "tightening.passes is '30 %, 20 %, 100 %'", "fall", "shares that rise"),
    ('"60 %", "100 %"]', '60, "100 %"]', "tightening.passes[2] is 60", "its unit is missing", "'-5 %'"),
    ('["30 %", "60 %", "100 %"]', '"100 %"', "tightening.passes is '100 %'", "not a list", "a list"),
    ('window_high = "5 %"', 'window_high = "50 %"', "window_high is '50 %'", "out of range", "0 % to 20 %"),
    ("circular = true", 'circular = "yes"', "tightening.circular is 'yes'", "not true or false", "true or false"),
    ('kind = "gasketed', 'kind = "big', "kind is 'big flange'", "not one of the words", "'split clamp coupling'"),
    ('kind = "dial"', 'kind = "old"', "wrenches[1].kind is 'old'", "not one of the words", "'click', 'dial'"),
    ('graduation = "2 N*m"', 'graduation = "2 lbf*ft"', "graduation is '2 lbf*ft'", "unit of the scale", "in N*m"),
    ('graduation = "2 N*m"', 'graduation = "90 N*m"', "graduation is '90 N*m'", "too coarse", "at most a quarter"),
    ('lowest = "40 N*m"', 'lowest = "240 N*m"', "wrenches[1].lowest is '240 N*m'", "not below highest", "marked value"),
    ("= 2036-12-31", '= "soon"', "calibration_due is 'soon'", "not a day", "year-month-day"),
    ("= 2036-12-31", '= "2036-02-30"', "calibration_due is '2036-02-30'", "not a day", "year-month-day"),
    ('"locked out and tried"', '"yes"', "hold_points[1].phrase is 'yes'", "1 word", "at least 3 words"),
    ('name = "lock-out"', 'name = "lock"', "hold_points is lock, gaps measured", "no lock-out", "in phase 'prepare'"),
    ('released_by = "lead"', 'released_by = "boss"', "released_by is 'boss'", "no such role", "technician, lead"),
    ('wrench = "wrench 14"', 'wrench = "w"', "groups[1].wrench is 'w'", "not in wrenches", "wrench 14"),
    ("m = 3.0", "m = true", "gasket.m is True", "not a number", "at most 20"),
    ("m = 3.0 ", "# ", "gasket.m", "m and y belong together", "both gasket factors"),
    ('"177 mm"', '"207 mm"', "gasket.inner_diameter is '207 mm'", "not below outer_diameter", "sealing ring"),
    ('rating = "PN 16"', 'rating = "PN 17"', "flange.size is 'DN 150'", "rating is 'PN 17'", "PN 10, 16"),
    ("elastomer = false", "", "gasket.elastomer", "missing", "true or false"),
    ('place = "North', 'plaec = "North', "place", "missing", "text in quotes"),
]


@pytest.mark.parametrize(("old", "new", "where", "why", "allowed"), REFUSED, ids=lambda text: text[:30])
def test_a_wrong_value_names_file_field_value_and_what_is_allowed(tmp_path, old, new, where, why, allowed):
    error = refused(tmp_path, old, new)
    told = f"{error.message}\n{error.remedy}"
    assert type(error) is BadJointFile and error.exit_status == 2
    assert error.message.startswith("changed.toml: ")
    for words in (where, why, allowed):
        assert words in told, told


UNSAFE = [
    ('"310 N*m"', '"900 N*m"', "groups[1].target.torque is '900 N*m'", "842.5 MPa", "from 79.4 N*m to 335 N*m"),
    ('"310 N*m"', '"100 N*m"', "groups[1].target.torque is '100 N*m'", "the gasket needs 264.6 kN", "from 79.4 N*m to"),
    ('"-45 %"', '"45 %"', "groups[1].target.torque is '310 N*m'", "a change of +45 %", "check the sign"),
    ('"240 N*m"', '"160 N*m"', "groups[1].wrench is 'wrench 14'", "needs 170.5 N*m", "40 to 160 N*m"),
    ('= "2 N*m"', '= "20 N*m"', "groups[1].wrench is 'wrench 14'", "no mark of its scale", "finer graduation"),
    ("2036-12-31", "2026-11-24", "calibration_due is 2026-11-24", "today is 2026-11-25", "calibration holds"),
    ('"210 MPa"', '"60 MPa"', "gasket.highest_stress is '60 MPa'", "73.24 MPa", "from 79.4 N*m to"),
]


@pytest.mark.parametrize(("old", "new", "where", "why", "allowed"), UNSAFE, ids=lambda text: text[:30])
def test_a_harmful_figure_is_refused_with_the_computed_figure(tmp_path, old, new, where, why, allowed):
    error = refused(tmp_path, old, new)
    told = f"{error.message}\n{error.remedy}"
    assert type(error) is UnsafeJoint and error.exit_status == 2
    assert error.message.startswith("changed.toml: ")
    for words in (where, why, allowed):
        assert words in told, told


def test_several_errors_are_listed_together_one_a_line(tmp_path):
    path = tmp_path / "many.toml"
    text = TEXT.replace("count = 8", "cuont = 8").replace('"310 N*m"', '"310"').replace('kind = "dial"', 'kind = "x"')
    path.write_text(text, "utf-8")
    with pytest.raises(BadJointFile) as caught:
        read_joint(path, today=TODAY)
    first, *lines = caught.value.message.splitlines()
    assert first == "many.toml: 4 values are not allowed"
    assert [line.split()[0].rstrip(":") for line in lines] == [
        "groups[1].count",
        "groups[1].target.torque",
        "groups[1].cuont",
        "wrenches[1].kind",
    ]
    assert all("Allowed: " in line for line in lines)
    assert "did you mean 'count'?" in lines[2]


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_demo_joints_are_read(path):
    assert read_joint(path, today=TODAY).place.startswith("North Sluice")


def test_calibration_is_judged_by_the_day_passed_in():
    with pytest.raises(UnsafeJoint, match="today is 2037-01-01"):
        read_joint(FLANGE, today=date(2037, 1, 1))


def test_what_is_not_a_file_to_read(tmp_path):
    for path, words in ((tmp_path, "is a folder"), (tmp_path / "none.toml", "is not there")):
        with pytest.raises(BadJointFile, match=words):
            read_joint(path, today=TODAY)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read every file")
def test_a_file_that_may_not_be_read(tmp_path):
    path = tmp_path / "closed.toml"
    path.write_text(TEXT, "utf-8")
    path.chmod(0)
    with pytest.raises(BadJointFile, match="cannot be read"):
        read_joint(path, today=TODAY)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "9 values are not allowed"),
        (b"name = \xff", "byte 8 is not UTF-8"),
        (b"name = 1\nname = 2", "not TOML"),
        (b"[groups", "not TOML"),
        (b"groups = 3", "groups is 3: not a list"),
        (b"groups = [3]", "groups\\[1\\] is 3"),
        (b"a = " + b"[" * 5000 + b"]" * 5000, "nested too deep|not TOML"),
    ],
)
def test_bytes_that_are_no_joint_file(data, words):
    with pytest.raises(BadJointFile, match=words):
        parse_joint(data, source="x.toml")


def test_a_file_that_is_far_too_large_is_not_read(tmp_path):
    path = tmp_path / "large.toml"
    path.write_bytes(b"#" * (MOST_BYTES + 1))
    with pytest.raises(BadJointFile, match="larger than"):
        read_joint(path, today=TODAY)


@given(st.integers(0, len(TEXT.encode()) - 1), st.integers(0, 255))
def test_any_changed_byte_gives_a_joint_or_our_own_error(at, byte):
    data = bytearray(TEXT.encode())
    data[at] = byte
    try:
        parse_joint(bytes(data), source="x.toml")
    except BadJointFile as error:
        assert error.message and error.remedy


@given(st.integers(0, len(TEXT.encode())))
def test_a_file_cut_anywhere_gives_a_joint_or_our_own_error(at):
    try:
        parse_joint(TEXT.encode()[:at], source="x.toml")
    except BadJointFile as error:
        assert error.message and error.remedy


def test_the_schema_is_json_and_describes_every_key():
    schema = json.loads(json.dumps(joint_schema()))
    assert schema["$schema"].startswith("https://json-schema.org/") and schema["title"] == "Joint file"
    assert schema["additionalProperties"] is False
    assert {"BoltGroup", "Target", "Tightening", "Wrench", "HoldPoint"} <= set(schema["$defs"])
    torque = schema["$defs"]["Target"]["properties"]["torque"]["anyOf"][0]
    assert torque["type"] == "string" and torque["examples"] == ["310 N*m"]
    for name, part in schema["$defs"].items():
        assert part.get("description") and part["additionalProperties"] is False, name


@pytest.mark.parametrize(
    ("line", "told", "allowed"),
    [
        ('place = "lower gallery', "a closing quote is missing", 'key = "text"'),
        ("place = lower gallery", "text without quotes", '"310 N*m"'),
        ("place = 310 N*m", "text without quotes", '"310 N*m"'),
        ("[groups", "not TOML", "[table]"),
    ],
)
def test_a_slip_of_the_pen_is_shown_with_its_line(line, told, allowed):
    with pytest.raises(BadJointFile) as caught:
        parse_joint(f'name = "x"\n{line}\nkind = "plain pattern"\n'.encode(), source="slip.toml")
    assert caught.value.message.startswith("slip.toml: line 2: ") or "[groups" in line
    assert told in caught.value.message and allowed in caught.value.remedy


def test_a_missing_table_is_told_with_its_keys_and_an_example():
    with pytest.raises(BadJointFile) as caught:
        parse_joint(b'name = "x"\nplace = "y"\nkind = "plain pattern"\ntorque_unit = "Nm"\n', source="bare.toml")
    told = caught.value.message
    assert '[[hold_points]] with name = "lock-out", phase = "prepare"' in told
    assert '[[people]] with role = "lead" (may also have: name, task)' in told
    assert 'thread = "M20"' in told and "calibration_due = 2027-03-31" in told and "torque_unit" not in told


def test_the_example_of_a_missing_table_is_itself_right():
    """What a refusal shows as an example must be accepted when it is written down."""
    with pytest.raises(BadJointFile) as caught:
        parse_joint(b'name = "x"\nplace = "y"\nkind = "plain pattern"\ntorque_unit = "Nm"\n', source="bare.toml")
    text = 'name = "x"\nplace = "y"\nkind = "plain pattern"\ntorque_unit = "Nm"\n'
    for line in caught.value.message.splitlines()[1:]:
        head, keys = re.search(r"(\[+[a-z_]+\]+) with (.*?)(?: \(may also have|$)", line).groups()
        entries = re.split(r", (?=[a-z_]+ = )(?![^{]*\})", keys)
        text += "\n".join([head, *entries]) + "\n"
    tightening = 'order = "cross"\npasses = ["100 %"]\ncircular = true\nwindow_low = "-5 %"\nwindow_high = "5 %"\n'
    assert parse_joint(f"{text}[tightening]\n{tightening}".encode(), source="example.toml").groups[0].count == 8


def test_units_as_wrenches_show_them_are_taken_and_told():
    text = FLANGE.read_text("utf-8").replace('"310 N*m"', '"310 Nm"').replace('unit = "N*m"', 'unit = "Nm"')
    joint = parse_joint(text.encode(), source="nm.toml")
    assert joint.read_as == ("'310 Nm' as 310 N*m",) and joint.torque_unit == joint.wrenches[0].unit == "N*m"
