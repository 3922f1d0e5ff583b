"""`assistant torque`, in-process: the calculator for one bolt."""

import contextlib
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.cli.main import parser
from assistant.cli.torque import run
from assistant.errors import AssistantError, BadBolting, BadQuantity, BadSettings, UnsafeJoint


def parsed(*arguments):
    args = parser("torque").parse_args(["torque", *arguments])
    assert args.run is run
    return args


def call(capsys, *arguments):
    return run(parsed(*arguments)), capsys.readouterr().out


def document(capsys, *arguments):
    status, out = call(capsys, *arguments, "--json")
    assert status == 0
    return json.loads(out)


def test_torque_for_a_preload(capsys):
    """T = K d F = 0.20 x 0.020 m x 90 kN = 360 N*m (Shigley eq. 8-27; dry K of a trade newsletter, row KFAC-16)."""
    found = document(capsys, "M20", "8.8", "--preload", "90 kN", "--condition", "dry")
    assert (found["torque"], found["unit"]) == (360, "N*m")
    assert found["stress_MPa"] == pytest.approx(90_000 / 244.794, rel=1e-4)


def test_a_published_torque_for_other_threads(capsys):
    """Dry K 0.20 to anti-seize K 0.12: 310 x 0.6 = 186 N*m, by hand."""
    found = document(capsys, "M20", "8.8", "--published", "310 N*m", "--from", "dry", "--to", "anti-seize")
    assert (found["torque"], found["rule"]) == (186, "ratio of nut factors")


def test_the_instructions_percentage_comes_first(capsys):
    """310 N*m less 45 % is 170.5 N*m."""
    line = ("M20", "8.8", "--published", "310 N*m", "--from", "dry", "--to", "anti-seize", "--change", "-45 %")
    assert document(capsys, *line)["torque"] == 170.5


def test_two_rules_that_disagree_by_more_than_15_percent_are_a_stop(capsys):
    line = ("M20", "8.8", "--published", "310 N*m", "--from", "dry", "--to", "anti-seize", "--change", "-20 %")
    found = document(capsys, *line)
    assert [each["grade"] for each in found["remarks"]] == ["stop"]


def test_back_from_a_torque_to_the_preload(capsys):
    """F = T/(K d) = 170/(0.12 x 0.020) = 70.83 kN."""
    found = document(capsys, "M20", "8.8", "--torque", "170 N*m", "--condition", "anti-seize")
    assert found["preload_kN"] == pytest.approx(70.8333)
    assert found["preload_low_kN"] < found["preload_kN"] < found["preload_high_kN"]


def test_inch_bolts_and_another_unit_of_the_answer(capsys):
    """3/4-10 grade 5, 75 % of 85 ksi on 0.3345 in2 is 21.3 kip; K 0.15: 0.15 x 0.75 x 21 322/12 = 199.9 lbf*ft."""
    line = ("3/4-10 UNC", "SAE 5", "--percent-of-proof", "75 %", "--condition", "oiled", "--unit", "lbf*ft")
    found = document(capsys, *line)
    assert found["torque"] == pytest.approx(199.9, abs=0.1) and found["unit"] == "lbf*ft"


def test_an_own_nut_factor_with_its_source(capsys):
    line = ("M20", "8.8", "--torque", "150 N*m", "--condition", "moly", "--nut-factor", "0.1", "--source", "test 7")
    found = document(capsys, *line)
    assert found["preload_kN"] == pytest.approx(75)
    assert "test 7" in json.dumps(found["calculation"])


def test_the_text_explains_every_figure(capsys):
    _, out = call(capsys, "M20", "8.8", "--preload", "90 kN", "--condition", "dry")
    for words in (
        "torque 360 N*m",
        "T = K d F",
        "F = T/(K d)",
        "S = F/As",
        "61 % of proof",
        "manufacturer's instruction",
    ):
        assert words in out


def answered(*arguments):
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert run(parsed(*arguments, "--json")) == 0
    return json.loads(out.getvalue())


@given(st.integers(10, 130), st.sampled_from(["dry", "oiled", "anti-seize"]), st.sampled_from(["N*m", "lbf*ft"]))
def test_there_and_back_gives_the_same_preload(preload, condition, unit):
    """Torque for a preload, then the preload of that torque, through another unit."""
    one = answered("M20", "10.9", "--preload", f"{preload} kN", "--condition", condition, "--unit", unit)
    two = answered("M20", "10.9", "--torque", f"{one['torque']} {unit}", "--condition", condition)
    assert two["preload_kN"] == pytest.approx(preload, rel=1e-4)


@pytest.mark.parametrize(
    ("line", "error", "words"),
    [
        (("M21", "8.8", "--preload", "90 kN", "--condition", "dry"), BadBolting, "there is no M21"),
        (("M20", "SAE 5", "--preload", "90 kN", "--condition", "dry"), BadBolting, "Unified"),
        (("M20", "8.8", "--preload", "90", "--condition", "dry"), BadQuantity, "--preload is '90'"),
        (("M20", "8.8", "--preload", "90 N*m", "--condition", "dry"), BadQuantity, "not a unit of force"),
        (("M20", "8.8", "--torque", "90 J", "--condition", "dry"), BadQuantity, "energy"),
        (("M20", "8.8", "--torque", "90 nm", "--condition", "dry"), BadQuantity, "nanometre or newton metre"),
        (("M20", "8.8", "--preload", "90 kN"), BadSettings, "no thread condition"),
        (("M20", "8.8", "--preload", "90 kN", "--condition", "butter"), BadBolting, "'butter'"),
        (("M20", "8.8", "--torque", "600 N*m", "--condition", "anti-seize"), UnsafeJoint, "1021 MPa"),
        (("M20", "8.8", "--published", "310 N*m", "--from", "dry"), BadSettings, "without --from and --to"),
        (("M20", "8.8", "--preload", "9 kN", "--condition", "dry", "--to", "dry"), BadSettings, "--to is 'dry'"),
        (
            ("M20", "8.8", "--published", "9 N*m", "--from", "dry", "--to", "dry", "--condition", "dry"),
            BadSettings,
            "--condition is 'dry'",
        ),
        (
            ("M20", "8.8", "--published", "310 N*m", "--from", "dry", "--to", "anti-seize", "--change", "45 %"),
            BadBolting,
            "+45 %",
        ),
        (("M20", "8.8", "--preload", "9 kN", "--condition", "dry", "--nut-factor", "0.2"), BadSettings, "--source"),
        (("M20", "8.8", "--preload", "9 kN", "--condition", "dry", "--source", "x"), BadSettings, "--source is 'x'"),
        (("M20", "8.8", "--percent-of-proof", "120 %", "--condition", "dry"), BadSettings, "--percent-of-proof"),
        (("M20", "A193 B7", "--percent-of-proof", "50 %", "--condition", "dry"), BadBolting, "no proof strength"),
    ],
)
def test_bad_input_is_refused_with_what_is_allowed(capsys, line, error, words):
    with pytest.raises(AssistantError) as caught:
        call(capsys, *line)
    assert type(caught.value) is error and caught.value.exit_status == 2
    assert words in caught.value.message and caught.value.remedy


def test_exactly_one_thing_is_asked(capsys):
    for line in (("M20", "8.8"), ("M20", "8.8", "--preload", "9 kN", "--torque", "9 N*m")):
        with pytest.raises(SystemExit) as caught:
            parsed(*line)
        assert caught.value.code == 2


def test_help_shows_an_example(capsys):
    with pytest.raises(SystemExit):
        parsed("--help")
    assert 'assistant torque M20 8.8 --preload "90 kN" --condition dry' in capsys.readouterr().out
