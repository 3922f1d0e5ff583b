"""Rows of checks.csv on published ranges, thread conditions, scatter, tools and warm steel, with our functions."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from assistant.bolting.friction_and_torque import condition, friction, scatter
from assistant.bolting.threads_and_strength import temperature_properties
from assistant.bolting.tightening import tool_accuracy, tool_train
from assistant.bolting.tightening.tools import Adapter, Multiplier, Tools, Wrench, to_graduation
from assistant.bolting.units import magnitude, of
from tests.bolting.joint_rows import Row
from tests.bolting.solvers import Answer, in_unit, said, solves, symbol


@solves("FAA-11")
def yearly_row(row: Row) -> float:
    del row
    return float(tool_accuracy.RECALIBRATION_MONTHS)


@solves("LUB: torque reduction", "LUB: torque reduction vs dry", "LUB-02")
def percentage_row(row: Row) -> Answer:
    if "lubricant" in row.given:
        found = friction.TORQUE_REDUCTIONS[row.given["lubricant"]]
        return (found.low, found.high)
    dry = said(row, "dry_lbfft", "lbf*ft") if "dry_lbfft" in row.given else said(row, "T_lub", "lbf*ft")
    cut = -float(row.given["reduction"][:-1]) if "reduction" in row.given else float(row.given["increase"][:-1])
    return in_unit(condition.by_percentage(dry, change_percent=cut), row)


@solves("LUB: torque for other lubricant")
def ratio_row(row: Row) -> float:
    found = condition.by_nut_factors(
        said(row, "T_dry", "lbf*ft"), published_for=row.number("K_dry"), at_hand=row.number("K_lub")
    )
    return in_unit(found, row)


@solves("LUB-08", "LUB-09")
def overload_row(row: Row) -> float:
    return condition.preload_ratio(published_for=row.number("K_dry"), at_hand=row.number("K_lub"))


@solves("SCAT")
def scatter_row(row: Row) -> Answer:
    name = {
        "torque, unlubricated": "torque wrench, unlubricated",
        "torque, cadmium plated": "torque wrench, cadmium plated",
        "torque, lubricated": "torque wrench, lubricated",
        "torque wrench, torque found by test on the joint": "torque wrench, tested on the joint",
    }.get(row.given["method"], row.given["method"])
    family = next(word for word in ("VDI", "Machinery", "NASA") if word in row.source)
    found = [one for one in scatter.scatter_percent(name)[2] if family in one.source]
    assert len(found) == 1, row
    return found[0].low if found[0].low == found[0].high else (found[0].low, found[0].high)


@solves("SCAT-07")
def factor_row(row: Row) -> float:
    return scatter.TORQUE_WRENCH_FACTOR


@solves("SCAT-08")
def factor_percent_row(row: Row) -> float:
    return scatter.percent_of_factor(row.number("alphaA"))


# ------------------------------------------------------------------------------------------------------------- tools
def _wrench(unit: str, step: float = 1.0) -> Wrench:
    return Wrench(
        name="w",
        kind="click",
        unit=unit,
        lowest=of(1, unit),
        highest=of(100_000, unit),
        graduation=of(step, unit),
        calibration_due=date(2031, 12, 31),
    )


def _train(row: Row, unit: str) -> Tools:
    length = next(row.number(name) for name in ("L_in", "L", "L_mm") if name in row.given)
    offset = next(row.number(name) for name in ("A_in", "B_in", "A", "A_mm") if name in row.given)
    angle = float(row.given.get("angle_deg", 180 if offset < 0 else 0))
    scale = "mm" if "L_mm" in row.given else "in"
    adapter = Adapter(wrench_length=of(length, scale), length=of(abs(offset), scale), angle_deg=angle)
    return Tools(wrench=_wrench(unit), adapter=adapter)


@solves("CROW")
def adapter_row(row: Row) -> float:
    unit = symbol(row.unit)
    return in_unit(tool_train.wrench_torque(said(row, "T", unit), _train(row, unit)), row)


@solves("CROW-11")
def delivered_row(row: Row) -> float:
    unit = symbol(row.unit)
    return in_unit(tool_train.bolt_torque(said(row, "TW", unit), _train(row, unit)), row)


@solves("MULT")
def multiplier_row(row: Row) -> float:
    unit = symbol(row.unit)
    ratio = row.given["ratio"].split(":")[0] if "ratio" in row.given else row.given["geared_ratio"]
    gear = Multiplier(name="gear", ratio=float(ratio), efficiency=float(row.given.get("efficiency", 1)))
    target = row.given.get("T_out", row.given.get("T_out_Nm"))
    assert target is not None
    train = Tools(wrench=_wrench(unit), multiplier=gear)
    return in_unit(tool_train.wrench_torque(of(float(target), unit), train), row)


@solves("MULT-06")
def reaction_row(row: Row) -> float:
    gear = Multiplier(name="gear", ratio=5, output_factor=row.number("T_out_Nm") / row.number("T_in_Nm"))
    return in_unit(tool_train.reaction_force(said(row, "T_out_Nm", "N*m"), gear, arm=said(row, "arm_m", "m")), row)


@solves("TOOL: ISO 6789 permissible deviation")
def iso_6789_row(row: Row) -> float:
    """Every class letter the row names; the largest torque decides where the row says so."""
    kind, letters = row.given["class"].removeprefix("Type ").split(" class ")
    largest = 8.0 if "<= 10 N.m" in row.given["tool"] else 400.0
    found = {
        tool_accuracy.permissible_deviation(kind, letter, largest=of(largest, "N*m")) for letter in letters.split(",")
    }
    assert len(found) == 1, row
    return found.pop()


@solves("TOOL-07")
def interval_row(row: Row) -> str:
    return f"{tool_accuracy.RECALIBRATION_MONTHS} months or {tool_accuracy.RECALIBRATION_CYCLES} cycles"


@solves("TOOL-09")
def slow_finish_row(row: Row) -> Answer:
    assert f"{100 * tool_accuracy.SLOW_FINISH_SHARE:g}%" == row.given["share_of_target"]
    return tool_accuracy.SLOW_FINISH_S


@solves("TOOL-10")
def pulls_row(row: Row) -> float:
    return float(tool_accuracy.EXERCISE_PULLS)


@solves("TOOL-11")
def resolution_row(row: Row) -> str:
    step = tool_accuracy.largest_resolution(permissible_percent=4, lowest=of(100, "N*m"))
    return f"d/{4 / magnitude(step, 'N*m', name='step'):g}"


@solves("TOOL: achieved torque window from tool tolerance")
def window_row(row: Row) -> Answer:
    window = tool_accuracy.achieved_window(said(row, "target_Nm", "N*m"), tolerance_percent=row.number("tol_pct"))
    return tuple(in_unit(end, row) for end in window)


@solves("TOOL: round to wrench graduation (nearest)")
def rounding_row(row: Row) -> float:
    mark = to_graduation(said(row, "target", "N*m"), _wrench("N*m", row.number("graduation")))
    error = 100 * (mark / Decimal(row.given["target"]) - 1)
    assert f"rounding error {error:+.2f}%" == row.note
    return float(mark)


# ---------------------------------------------------------------------------------------------------- steel when warm
@solves("CTE: mean expansion from 70 degF")
def expansion_row(row: Row) -> float:
    name = {
        "carbon and low alloy group 1": "carbon and low alloy group 1",
        "other low alloy group 2": "other low alloy group 2",
    }
    steel = name.get(row.given["material"], row.given["material"])
    found = temperature_properties.mean_expansion(steel, said(row, "T_degF", "degF"))
    return magnitude(found, "1/degF", name="alpha") * 1e6
