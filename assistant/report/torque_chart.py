"""Torque by bolt, one panel a pass: each reading against setting and accepted window, on the wrench's scale. SVG."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from assistant.events import Measured
from assistant.replay.record_open import pass_words
from assistant.replay.record_work import Bolt, PassDone, Torque
from assistant.replay.titles import UNIT_SIGNS, figure, number, rounded
from assistant.report.printable import printable

MOST_PANELS = 24
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
class Mark:
    """One figure of a bolt in a pass.

    Args:
        kind: one of WORDS.
        scale: on the wrench's scale, in the unit of the pass's setting.
    """

    bolt: int
    kind: str
    value: Torque
    scale: float
    line: int
    utterance: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One pass: its title, its figures in words, and the picture."""

    title: str
    window: str
    picture: Markup
    wide: bool


AnchorOf = Callable[[str, int], str]
"""From an utterance and a line to the anchor of the moment ('' for none)."""


def panels(passes: Sequence[PassDone], anchor_of: AnchorOf) -> list[Panel]:
    """A panel for each pass and round that has figures, at most MOST_PANELS.

    Args:
        passes: of one bolt group.
    """
    found = []
    for each in passes:
        plotted = [mark for bolt in each.bolts for mark in marks(bolt)]
        if not plotted or each.setting is None or each.low is None or each.high is None:
            continue
        found.append(
            Panel(
                title=title_of(each),
                window=f"accepted {_rounded(each.low)} to {_rounded(each.high)} {_unit(each.high)}",
                picture=_picture(each, plotted, anchor_of),
                wide=_width(each) > _WIDTH,
            )
        )
    return found[:MOST_PANELS]


def marks(bolt: Bolt) -> list[Mark]:
    """What is drawn of a bolt: what was recorded, also what no longer counts, and what was said outside the window."""
    found = []
    for entry in bolt.entries:
        kind = {"reading": "recorded", "reading kept": "kept", "clicked": "clicked"}.get(entry.kind)
        if kind is not None and entry.value is not None and entry.on_scale is not None:
            kind = "gone" if entry.standing != "counts" else "asked" if entry.confirmed_by else kind
            found.append(_mark_at(bolt, kind, entry.value, entry.on_scale, entry.line, entry.utterance))
    found += [
        _mark_at(bolt, "outside", said.value, said.on_scale, said.line, said.utterance)
        for said in bolt.said
        if said.on_scale is not None
    ]
    return found


def _mark_at(bolt: Bolt, kind: str, value: Torque, scale: Torque, line: int, utterance: str) -> Mark:
    return Mark(bolt=bolt.bolt, kind=kind, value=value, scale=float(scale.value), line=line, utterance=utterance)


def title_of(each: PassDone) -> str:
    """'Pass 2, 102 N·m', 'Circular pass, round 1, 170 N·m'."""
    words = pass_words(each)
    setting = f", {_figure(each.setting)}" if each.setting is not None else ""
    return f"{words[:1].upper()}{words[1:]}{setting}"


def _measured(value: Torque) -> Measured:
    return Measured(value.value, value.unit)


def _figure(value: Torque) -> str:
    return figure(_measured(value))


def _rounded(value: Torque) -> str:
    return rounded(_measured(value))


def chart_legend() -> Markup:
    """Each mark and its words, as a list."""
    parts = "".join(
        f'<li><svg viewBox="-12 -12 24 24" aria-hidden="true">{_MARKS[kind]}</svg>{escape(words)}</li>'
        for kind, words in WORDS.items()
    )
    return Markup(f'<ul class="legend chart" aria-label="What the marks mean">{parts}</ul>')


def _width(each: PassDone) -> float:
    return max(_WIDTH, _LEFT + 16 + _STEP * len(each.bolts))


def _picture(each: PassDone, plotted: Sequence[Mark], anchor_of: AnchorOf) -> Markup:
    assert each.low is not None and each.high is not None and each.setting is not None
    low, high, setting = float(each.low.value), float(each.high.value), float(each.setting.value)
    room = max((high - low) * 0.75, abs(setting) * 0.002, 1e-9)
    bottom, top = low - room, high + room
    width = _width(each)
    bolts = sorted(bolt.bolt for bolt in each.bolts)
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
    for value, name in ((each.high, "high"), (each.setting, "setting"), (each.low, "low")):
        place = y(float(value.value)) + 4
        parts.append(f'<text class="y {name}" x="{_LEFT - 5}" y="{place:.1f}">{escape(_rounded(value))}</text>')
    parts += [f'<text class="x" x="{x:.1f}" y="{_TOP + _HEIGHT + 17:.1f}">{bolt}</text>' for bolt, x in at.items()]
    ordered = sorted(plotted, key=lambda m: m.kind not in _IDLE)  # what counts is drawn over what does not
    parts += [_mark(m, at[m.bolt], y(m.scale), anchor_of(m.utterance, m.line), (bottom, top)) for m in ordered]
    label = escape(printable(_label(each, plotted)))
    tall = _TOP + _HEIGHT + _FOOT
    return Markup(
        f'<svg class="panel" viewBox="0 0 {width:.0f} {tall:.0f}" role="group" aria-label="{label}">'
        f"{''.join(parts)}</svg>"
    )


_IDLE = ("gone", "outside")


def _mark(mark: Mark, x: float, y: float, anchor: str, limits: tuple[float, float]) -> str:
    words = escape(printable(f"Bolt {mark.bolt}: {_figure(mark.value)}, {WORDS[mark.kind]}"))
    shown = _MARKS[mark.kind]
    beyond = not limits[0] <= mark.scale <= limits[1]
    if beyond:  # off the panel: at its edge, with an arrow and the figure
        up = mark.scale > limits[1]
        shown += f'<path class="off" d="{"M-4-9 0-15 4-9Z" if up else "M-4 9 0 15 4 9Z"}"/>'
    if beyond or mark.kind == "kept":
        shown += f'<text class="value" y="{-17 if y > 60 else 26}">{escape(number(_measured(mark.value)))}</text>'
    drawn = f'<title>{words}</title><circle class="touch" r="13"/>{shown}'
    where = f'transform="translate({x:.1f} {y:.1f})"'
    return (
        f'<a href="#{anchor}" {where} tabindex="-1" aria-label="{words}">{drawn}</a>'
        if anchor
        else f"<g {where}>{drawn}</g>"
    )


def _unit(value: Torque) -> str:
    return UNIT_SIGNS.get(value.unit, value.unit)


def _label(each: PassDone, plotted: Sequence[Mark]) -> str:
    assert each.setting is not None and each.low is not None and each.high is not None
    unit = _unit(each.setting)
    count = sum(mark.kind not in _IDLE for mark in plotted)
    return (
        f"{title_of(each)}: {count} figures against the setting {number(_measured(each.setting))} {unit} and the "
        f"accepted window {_rounded(each.low)} to {_rounded(each.high)} {unit}. All are in the table below."
    )
