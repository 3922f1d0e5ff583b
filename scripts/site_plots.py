"""The plots of the page on the acceptance rule, drawn by asking the rule itself."""

from __future__ import annotations

from decimal import Decimal

from assistant.events import Alternative, Measured, Pass
from assistant.procedure.acceptance import in_context, judge

COLOURS = {"accept": "#2e7d4f", "ask": "#d9a441", "outside": "#c4622d", "impossible": "#8a8f98", "reject": "#8a8f98"}
NAMES = {
    "accept": "recorded",
    "ask": "asked",
    "outside": "outside the window: tighten again, or keep with a reason",
    "impossible": "cannot be: asked again",
}
SETTING = Decimal(170)


def plots() -> dict[str, str]:
    """File -> SVG."""
    return {"verdicts.svg": verdicts(), "context.svg": context()}


def due() -> Pass:
    """The last pass of the demo flange's wrench: 170 N*m, 5 % to either side, a scale from 40 to 240 N*m."""
    from datetime import date
    from pathlib import Path

    from assistant.bolting.planning.plan import plan
    from assistant.config.joint_file import read_joint
    from assistant.config.procedure_file import usual_procedure
    from assistant.procedure.work import lay_out

    day = date(2026, 11, 25)
    file = Path(__file__).resolve().parent.parent / "demo_joints" / "north-sluice-dn150-flange.toml"
    work = lay_out(plan(read_joint(file, today=day), today=day), usual_procedure("gasketed flange"))
    return next(i for i in work.items if isinstance(i, Pass) and i.setting is not None and i.setting.value == SETTING)


def said(value: str, probability: float = 1.0) -> Alternative:
    """A value that was heard, without a unit."""
    return Alternative(kind="value", text=value, probability=probability, value=Decimal(value))


def verdicts() -> str:
    """What becomes of a figure that was heard beyond doubt, over the figures that a wrench may show."""
    now = due()
    last = Measured(Decimal(102), "N*m")
    low, high, wide, left = 20, 360, 640, 30
    scale = wide / (high - low)
    bars, begun, before = [], low, None
    for figure in range(low, high + 2):
        kind = None if figure > high else judge(said(str(figure)), "accept", due=now, last_setting=last).kind
        if kind != before:
            if before is not None:
                title = f"{begun} to {figure - 1}: {NAMES[before]}"
                bars.append(
                    f'<rect x="{left + (begun - low) * scale:.1f}" y="20" width="{(figure - begun) * scale:.1f}" '
                    f'height="44" fill="{COLOURS[before]}"><title>{title}</title></rect>'
                )
            begun, before = figure, kind
    marks = "".join(
        f'<line x1="{left + (n - low) * scale:.1f}" y1="64" x2="{left + (n - low) * scale:.1f}" y2="70" stroke="#333"/>'
        f'<text x="{left + (n - low) * scale:.1f}" y="84" text-anchor="middle">{n}</text>'
        for n in range(40, high + 1, 40)
    )
    return _svg(
        720,
        200,
        "".join(bars)
        + marks
        + _text(360, 102, "figure that was heard, N·m")
        + _legend(118, {k: v for k, v in NAMES.items() if k != "ask"}),
    )


def _legend(top: int, names: dict[str, str]) -> str:
    return "".join(
        f'<rect x="30" y="{top + at * 20}" width="12" height="12" fill="{COLOURS[kind]}"/>'
        f'<text x="48" y="{top + at * 20 + 11}">{name}</text>'
        for at, (kind, name) in enumerate(names.items())
    )


def context() -> str:
    """Where one of two figures inside the window is recorded at once, over their probability and its share of that."""
    now, steps, side, left, top = due(), 50, 360, 70, 16
    cell = side / steps
    bars = []
    for column in range(steps):
        inside = (column + 0.5) / steps
        for row in range(steps):
            share = 0.5 + (row + 0.5) / steps / 2
            heard = [said("170", inside * share), said("171", inside * (1 - share)), said("90", 1 - inside)]
            heard.sort(key=lambda each: -each.probability)
            kind = "accept" if in_context(heard, due=now, bolt=1).taken else "ask"
            bars.append(
                f'<rect x="{left + column * cell:.1f}" y="{top + side - (row + 1) * cell:.1f}" '
                f'width="{cell + 0.3:.1f}" height="{cell + 0.3:.1f}" fill="{COLOURS[kind]}"/>'
            )
    ticks = "".join(
        f'<text x="{left + n * side / 100}" y="{top + side + 16}" text-anchor="middle">{n}</text>'
        f'<text x="{left - 8}" y="{top + side - n * side / 100 + 4}" text-anchor="end">{50 + n // 2}</text>'
        for n in range(0, 101, 20)
    )
    words = _text(left + side / 2, top + side + 36, "probability that some figure inside the window was said, %") + (
        f'<text x="20" y="{top + side / 2}" text-anchor="middle" transform="rotate(-90 20 {top + side / 2})">'
        "share of it that the likelier of two figures has, %</text>"
    )
    return _svg(720, 470, "".join(bars) + ticks + words + _legend(424, {k: NAMES[k] for k in ("accept", "ask")}))


def _text(x: float, y: float, text: str) -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="middle">{text}</text>'


def _svg(wide: int, high: int, body: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" '
        f'font-family="sans-serif" font-size="13" fill="#222"><rect width="{wide}" height="{high}" fill="#fff"/>'
        f"{body}</svg>\n"
    )
