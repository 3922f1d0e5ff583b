"""The load budget as a picture: the range of preload that a bolt keeps after each stage, and what it needs."""

from __future__ import annotations

import math
from xml.sax.saxutils import escape

from assistant.bolting.planning.load_budget import Budget
from assistant.bolting.units import Quantity, magnitude, show

_WIDTH, _NAMES, _FIGURES, _ROW, _BAR, _TOP = 760, 210, 120, 26, 13, 18
_KNOWN = 'fill="#777" stroke="#222"'
_RANGE = 'fill="#fff" stroke="#222" stroke-dasharray="4 3"'
_TICKS = (1.0, 2.0, 5.0, 10.0)


def budget_svg(budget: Budget, *, unit: str, title: str) -> str:
    """An SVG picture of a load budget, black on white, readable when printed.

    Args:
        budget: of one bolt group.
        unit: of forces, kN or kip.
        title: name of the group, for readers of the page.
    """
    ends = [tuple(magnitude(each, unit, name="preload") for each in pair) for pair in budget.after]
    needed = None if budget.needed is None else magnitude(budget.needed, unit, name="needed")
    rows = [("target", True), *((stage.name, stage.known) for stage in budget.stages)]
    most = max(max(high for _, high in ends), needed or 0.0)
    span = _WIDTH - _NAMES - _FIGURES
    bottom = _TOP + _ROW * len(rows)

    def across(force: float) -> float:
        return _NAMES + span * force / (most * 1.03)

    parts = []
    for at in _marks(most):
        x = across(at)
        parts.append(f'<line x1="{x:.1f}" y1="{_TOP - 6}" x2="{x:.1f}" y2="{bottom}" stroke="#ccc"/>')
        parts.append(f'<text x="{x:.1f}" y="{bottom + 15}" text-anchor="middle">{at:g}</text>')
    parts.append(f'<text x="{_WIDTH - _FIGURES + 8}" y="{bottom + 15}">{unit} a bolt</text>')
    for row, ((name, known), (low, high)) in enumerate(zip(rows, ends, strict=True)):
        y = _TOP + _ROW * row
        left, wide = across(low), max(across(high) - across(low), 2.0)
        parts.append(f'<text x="{_NAMES - 8}" y="{y + _BAR}" text-anchor="end">{escape(name)}</text>')
        style = _KNOWN if known else _RANGE
        parts.append(f'<rect x="{left:.1f}" y="{y + 2}" width="{wide:.1f}" height="{_BAR}" {style}/>')
        told = _figures(low, high) if row else _three(low)
        parts.append(f'<text x="{_WIDTH - _FIGURES + 8}" y="{y + _BAR}">{told}</text>')
    if needed is not None:
        x = across(needed)
        parts.append(
            f'<line x1="{x:.1f}" y1="{_TOP - 6}" x2="{x:.1f}" y2="{bottom}" stroke="#000" stroke-width="2.5"/>'
        )
        text = f"needed: {show(_force(budget.needed), unit, digits=3)}, {budget.needed_by}"
        parts.append(f'<text x="{_NAMES}" y="{bottom + 33}" font-weight="bold">{escape(text)}</text>')
    key = "Grey: with the figures of this joint. Dashed: published or estimated range. Each bar: after this stage."
    parts.append(f'<text x="8" y="{bottom + 51}">{key}</text>')
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {bottom + 60}" role="img"'
    label = escape(f"Load budget of {title}", {'"': "&quot;"})
    return f'{head} aria-label="{label}" font-family="sans-serif" font-size="12">{"".join(parts)}</svg>'


def _force(value: Quantity | None) -> Quantity:
    assert value is not None
    return value


def _three(value: float) -> str:
    return f"{value:.3g}"


def _figures(low: float, high: float) -> str:
    return _three(low) if math.isclose(low, high, rel_tol=5e-3) else f"{_three(low)} to {_three(high)}"


def _marks(most: float) -> list[float]:
    """Four to nine round marks from 0 to a little below the largest force."""
    step = 10.0 ** math.floor(math.log10(most / 4))
    step *= next(each for each in _TICKS if most / (step * each) <= 8)
    return [step * at for at in range(int(most / step) + 1)]
