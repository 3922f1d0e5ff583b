"""Torque by bolt, one panel a pass: each reading against setting and accepted window, on the wrench's scale. SVG."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from assistant.events import Measured
from assistant.replay.readings import BoltEntry, PassRound
from assistant.replay.titles import UNIT_SIGNS, figure, number, rounded
from assistant.report.printable import printable

MOST_PANELS = 24
_PLOTTED = {"recorded", "kept", "clicked", "outside"}
_LEFT, _TOP, _HEIGHT, _FOOT = 46.0, 12.0, 150.0, 30.0
_STEP, _WIDTH = 21.0, 330.0
WORDS = {
    "recorded": "recorded",
    "asked": "recorded after a question",
    "kept": "kept outside the window",
    "clicked": "clicked at setting (no reading)",
    "outside": "said, not recorded",
    "gone": "taken back or replaced",
}
"""Kind of mark -> its words in the legend."""
_MARKS = {
    "recorded": '<rect class="v recorded" x="-5" y="-5" width="10" height="10"/>',
    "asked": '<rect class="v recorded" x="-5" y="-5" width="10" height="10"/>'
    '<rect class="ring" x="-9" y="-9" width="18" height="18"/>',
    "kept": '<path class="v kept" d="M0-10 2.9-3.1 10-2.6 4.6 2.2 6.2 9.2 0 5.4-6.2 9.2-4.6 2.2-10-2.6-2.9-3.1Z"/>',
    "clicked": '<circle class="v clicked" r="6"/><path class="tick" d="M-3 0 0 3 4-4"/>',
    "outside": '<path class="v said" d="M-5-5 5 5M5-5-5 5"/>',
    "gone": '<path class="v gone" d="M-6 0H6"/><circle class="v gone" r="4"/>',
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One pass: its title, its figures in words, and the picture."""

    title: str
    window: str
    picture: Markup
    wide: bool


def panels(rounds: Sequence[PassRound], anchor_of: Callable[[BoltEntry], str]) -> list[Panel]:
    """A panel for each pass and round that has figures, at most MOST_PANELS.

    Args:
        rounds: of one bolt group.
        anchor_of: from an entry to the anchor of its moment ('' for none).
    """
    found = []
    for each in rounds:
        item = each.item
        plotted = [e for e in each.entries if e.kind in _PLOTTED and e.scale is not None]
        if not plotted or item.setting is None or item.low is None or item.high is None:
            continue
        found.append(
            Panel(
                title=each.title.removeprefix(f"{item.group}: "),
                window=f"accepted {rounded(item.low)} to {rounded(item.high)} {_unit(item.high)}",
                picture=_picture(each, plotted, anchor_of),
                wide=_width(each) > _WIDTH,
            )
        )
    return found[:MOST_PANELS]


def chart_legend() -> Markup:
    """Each mark and its words, as a list."""
    parts = "".join(
        f'<li><svg viewBox="-12 -12 24 24" aria-hidden="true">{_MARKS[kind]}</svg>{escape(words)}</li>'
        for kind, words in WORDS.items()
    )
    return Markup(f'<ul class="legend chart" aria-label="What the marks mean">{parts}</ul>')


def _width(each: PassRound) -> float:
    return max(_WIDTH, _LEFT + 16 + _STEP * len(each.item.bolts))


def _picture(each: PassRound, plotted: Sequence[BoltEntry], anchor_of: Callable[[BoltEntry], str]) -> Markup:
    item = each.item
    assert item.low is not None and item.high is not None and item.setting is not None
    low, high, setting = float(item.low.value), float(item.high.value), float(item.setting.value)
    room = max((high - low) * 0.75, abs(setting) * 0.002, 1e-9)
    bottom, top = low - room, high + room
    width = _width(each)
    bolts = sorted(item.bolts)
    step = (width - _LEFT - 16) / max(len(bolts), 1)
    at = {bolt: _LEFT + 8 + step * (place + 0.5) for place, bolt in enumerate(bolts)}

    def y(value: float) -> float:
        place = _TOP + _HEIGHT * (top - min(max(value, bottom), top)) / (top - bottom)
        return min(max(place, _TOP + 16), _TOP + _HEIGHT - 18) if not low <= value <= high else place

    right = width - 8
    parts = [
        f'<rect class="window" x="{_LEFT}" y="{y(high):.1f}" width="{right - _LEFT:.1f}" '
        f'height="{max(y(low) - y(high), 0):.1f}"/>',
        f'<path class="target" d="M{_LEFT} {y(setting):.1f}H{right:.1f}"/>',
        f'<path class="axis" d="M{_LEFT} {_TOP}V{_TOP + _HEIGHT}H{right:.1f}"/>',
    ]
    for value, name in ((item.high, "high"), (item.setting, "setting"), (item.low, "low")):
        place = y(float(value.value)) + 4
        parts.append(f'<text class="y {name}" x="{_LEFT - 5}" y="{place:.1f}">{escape(rounded(value))}</text>')
    parts += [f'<text class="x" x="{x:.1f}" y="{_TOP + _HEIGHT + 17:.1f}">{bolt}</text>' for bolt, x in at.items()]
    ordered = sorted(plotted, key=lambda e: e.stands)  # what stands is drawn over what does not
    parts += [_mark(e, at[e.bolt], y(e.scale or 0.0), anchor_of(e), (bottom, top)) for e in ordered if e.bolt in at]
    label = escape(printable(_label(each, plotted)))
    tall = _TOP + _HEIGHT + _FOOT
    return Markup(
        f'<svg class="panel" viewBox="0 0 {width:.0f} {tall:.0f}" role="group" aria-label="{label}">'
        f"{''.join(parts)}</svg>"
    )


def mark_of(entry: BoltEntry) -> str:
    """Which of WORDS an entry is drawn as."""
    if not entry.stands and entry.kind != "outside":
        return "gone"
    return "asked" if entry.kind == "recorded" and entry.asked else entry.kind


def _mark(entry: BoltEntry, x: float, y: float, anchor: str, limits: tuple[float, float]) -> str:
    kind = mark_of(entry)
    said = figure(entry.value) if entry.value is not None else ""
    words = escape(printable(f"Bolt {entry.bolt}: {said}, {WORDS[kind]}"))
    shown = _MARKS[kind]
    beyond = entry.scale is not None and not limits[0] <= entry.scale <= limits[1]
    if beyond and entry.scale is not None:  # off the panel: at its edge, with an arrow and the figure
        up = entry.scale > limits[1]
        shown += f'<path class="off" d="{"M-4-9 0-15 4-9Z" if up else "M-4 9 0 15 4 9Z"}"/>'
    if beyond or kind == "kept":
        figures = escape(number(entry.value)) if entry.value is not None else ""
        shown += f'<text class="value" y="{-17 if y > 60 else 26}">{figures}</text>'
    drawn = f'<title>{words}</title><circle class="touch" r="13"/>{shown}'
    where = f'transform="translate({x:.1f} {y:.1f})"'
    return f'<a href="#{anchor}" {where} aria-label="{words}">{drawn}</a>' if anchor else f"<g {where}>{drawn}</g>"


def _unit(value: Measured) -> str:
    return UNIT_SIGNS.get(value.unit, value.unit)


def _label(each: PassRound, plotted: Sequence[BoltEntry]) -> str:
    item = each.item
    assert item.setting is not None and item.low is not None and item.high is not None
    unit = _unit(item.setting)
    stands = sum(e.stands for e in plotted)
    return (
        f"{each.title}: {stands} figures against the setting {number(item.setting)} {unit} and the accepted window "
        f"{rounded(item.low)} to {rounded(item.high)} {unit}. All are in the table below."
    )
