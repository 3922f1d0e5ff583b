"""Pictures of a joint record: the bolts of a group by state, and torque by bolt and pass. Plain SVG."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from assistant.errors import BadBolting
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import last_rounds
from assistant.replay.record_work import Bolt, PassDone
from assistant.replay.titles import UNIT_SIGNS, plain
from assistant.report.bolt_svg import svg_picture
from assistant.report.look import LIGHT
from assistant.report.wording import ENGLISH, Words

_LEFT, _TOP, _HEIGHT, _RIGHT = 62.0, 22.0, 270.0, 14.0
_STEP, _LEAST_WIDTH, _MOST_WIDTH = 26.0, 560.0, 700.0
_FONT = "font-family='sans-serif'"
_INK, _BAND, _FILL, _GROUND = LIGHT["ink"], LIGHT["pale"], LIGHT["petrol"], LIGHT["card"]
_MARKS = ("square", "triangle", "diamond", "disc")
"""Shape of the first, second ... pass's readings; the fifth begins anew."""


def bolt_picture(record: JointRecord, group: str, say: Callable[[str], str] = str) -> str | None:
    """The group's bolts: done, kept outside the window, skipped and still open, or open; None without a layout.

    Args:
        say: a sentence of ours -> in the language of the record.
    """
    basis = next((each for each in record.groups if each.name == group), None)
    if basis is None:
        return None
    states: dict[int, str] = {}
    for each in last_rounds(record.passes):
        if each.group == group:
            for bolt in each.bolts:
                states[bolt.bolt] = _worse(states.get(bolt.bolt, "done"), _state(bolt))
    turns = basis.sequence if sorted(basis.sequence) == list(range(1, basis.bolts + 1)) else None
    try:
        return svg_picture(
            basis.order, basis.bolts, order=turns, states=states, columns=basis.columns, rows=basis.rows, say=say
        )
    except BadBolting:
        return None


def _state(bolt: Bolt) -> str:
    if bolt.status == "open":
        return "skipped" if bolt.remark.startswith("left for") else "pending"
    return "out of window" if bolt.status == "kept outside window" else "done"


def _worse(one: str, two: str) -> str:
    return max(one, two, key=("done", "out of window", "pending", "skipped").index)


def torque_plot(record: JointRecord, group: str, words: Words = ENGLISH) -> str | None:
    """Torque on the wrench's scale by bolt, each pass with its window as a band and its setting as a line.

    Args:
        words: of the record's language.

    Returns:
        '<svg ...>...</svg>', or None where the group has no pass with a setting. A circular pass is drawn once, with
        the readings of all its rounds; where only movement was reported it has none.
    """
    passes = [p for p in _torque_passes(record, group) if p.low and p.high]
    if not passes:
        return None
    bolts = sorted({bolt.bolt for each in passes for bolt in each.bolts})
    width = min(max(_LEFT + _RIGHT + _STEP * len(bolts), _LEAST_WIDTH), _MOST_WIDTH)
    step = (width - _LEFT - _RIGHT) / len(bolts)
    places = {bolt: _LEFT + step * (at + 0.5) for at, bolt in enumerate(bolts)}
    scale = _Scale(passes)
    parts = [*_bands(passes, scale, width), *_axes(passes, scale, places, width, words)]
    parts += [
        _reading(bolt, places[bolt.bolt], scale, shape, words)
        for each, shape in zip(passes, _shapes(passes), strict=True)
        for bolt in each.bolts
        if bolt.on_scale is not None
    ]
    foot, bottom = _legend(passes, width, words.say)
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} {bottom:.0f}' role='img' "
        f"aria-label='{escape(words.say(plot_words(record, group)), quote=True)}'>"
        f"<rect width='{width:.0f}' height='{bottom:.0f}' fill='#fff'/>{''.join(parts)}{''.join(foot)}</svg>"
    )


def _torque_passes(record: JointRecord, group: str) -> list[PassDone]:
    return [p for p in record.passes if p.group == group and p.setting is not None and not p.measures]


def plot_words(record: JointRecord, group: str) -> str:
    """What the plot shows, for those who cannot see it."""
    passes = _torque_passes(record, group)
    readings = [bolt for p in passes for bolt in p.bolts if bolt.achieved is not None]
    outside = sum(bolt.inside_window is False for bolt in readings)
    return (
        f"Torque by bolt of {group}: {len(readings)} readings in {len({p.number for p in passes})} passes, "
        f"{outside} outside the accepted window. All figures stand in the tables."
    )


class _Scale:
    """From a torque on the wrench's scale to a height in the picture; what lies beyond is drawn at the edge."""

    def __init__(self, passes: list[PassDone]) -> None:
        highs = [float(each.high.value) for each in passes if each.high is not None]
        settings = [float(each.setting.value) for each in passes if each.setting is not None]
        self.top = max(max(highs) * 1.06, 1e-9)
        self.bottom = max(0.0, min(settings) * 0.5)

    def y(self, value: float) -> float:
        inside = min(max(value, self.bottom), self.top)
        return _TOP + _HEIGHT * (self.top - inside) / (self.top - self.bottom)


def _shapes(passes: list[PassDone]) -> list[str]:
    numbers = sorted({each.number for each in passes})
    return [_MARKS[numbers.index(each.number) % len(_MARKS)] for each in passes]


def _bands(passes: list[PassDone], scale: _Scale, width: float) -> list[str]:
    parts = []
    for low, high, setting in dict.fromkeys(
        (float(p.low.value), float(p.high.value), float(p.setting.value))
        for p in passes
        if p.low and p.high and p.setting
    ):
        top, bottom, line = scale.y(high), scale.y(low), scale.y(setting)
        parts.append(
            f"<rect x='{_LEFT:.1f}' y='{top:.1f}' width='{width - _LEFT - _RIGHT:.1f}' "
            f"height='{max(bottom - top, 0.5):.1f}' fill='{_BAND}'/>"
            f"<line x1='{_LEFT:.1f}' y1='{line:.1f}' x2='{width - _RIGHT:.1f}' y2='{line:.1f}' "
            f"stroke='#777' stroke-width='1' stroke-dasharray='6 3'/>"
        )
    return parts


def _axes(passes: list[PassDone], scale: _Scale, places: dict[int, float], width: float, words: Words) -> list[str]:
    floor = _TOP + _HEIGHT
    parts = [
        f"<line x1='{_LEFT:.1f}' y1='{_TOP:.1f}' x2='{_LEFT:.1f}' y2='{floor:.1f}' stroke='{_INK}'/>",
        f"<line x1='{_LEFT:.1f}' y1='{floor:.1f}' x2='{width - _RIGHT:.1f}' y2='{floor:.1f}' stroke='{_INK}'/>",
    ]
    settings = dict.fromkeys(each.setting for each in passes if each.setting is not None)
    for setting in settings:
        y = scale.y(float(setting.value))
        parts.append(_text(_LEFT - 6, y, words.say(plain(setting.value)), anchor="end"))
    unit = next(each.setting.unit for each in passes if each.setting is not None)
    parts.append(_text(4, _TOP - 12, UNIT_SIGNS.get(unit, unit), anchor="start"))
    every = 1 + len(places) // 32
    parts += [_text(x, floor + 12, str(bolt)) for at, (bolt, x) in enumerate(places.items()) if at % every == 0]
    parts.append(_text(_LEFT - 6, floor + 12, words.say("Bolt"), anchor="end"))
    return parts


def _reading(bolt: Bolt, x: float, scale: _Scale, shape: str, words: Words) -> str:
    assert bolt.on_scale is not None
    value = float(bolt.on_scale.value)
    y = scale.y(value)
    if bolt.status == "kept outside window":
        label = _text(x + 14, y, words.say(plain(bolt.on_scale.value)), anchor="start", size=11)
        return _mark("star", x, y, fill="#fff", stroke=2.0) + label
    clicked = bolt.how == "clicked at setting"
    return _mark(shape, x, y, fill=_GROUND if clicked else _FILL, stroke=1.5)


_CORNERS = {
    "square": ((-5, -5), (5, -5), (5, 5), (-5, 5)),
    "triangle": ((0, -6.5), (6, 5), (-6, 5)),
    "diamond": ((0, -7), (7, 0), (0, 7), (-7, 0)),
    "star": ((0, -10), (3, -3), (10, -3), (4, 2), (6, 9), (0, 5), (-6, 9), (-4, 2), (-10, -3), (-3, -3)),
}


def _mark(shape: str, x: float, y: float, *, fill: str, stroke: float) -> str:
    style = f"fill='{fill}' stroke='{_INK}' stroke-width='{stroke:g}'"
    if shape == "disc":
        return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='5.5' {style}/>"
    points = " ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in _CORNERS[shape])
    return f"<polygon points='{points}' {style}/>"


def _legend(passes: list[PassDone], width: float, say: Callable[[str], str]) -> tuple[list[str], float]:
    """One entry a pass, then the marks for a click and for a kept reading where they occur; and the bottom edge."""
    names: dict[int, tuple[str, str]] = {}
    for each, shape in zip(passes, _shapes(passes), strict=True):
        words = {"circular": "circular pass", "seat": "tap and re-torque"}.get(each.kind, f"pass {each.number}")
        names.setdefault(each.number, (shape, words))
    read = {p.number for p in passes for bolt in p.bolts if bolt.on_scale is not None}
    entries = [(shape, name, _FILL) for number, (shape, name) in names.items() if number in read]
    everything = [bolt for each in passes for bolt in each.bolts]
    if any(bolt.how == "clicked at setting" for bolt in everything):
        entries.append((entries[0][0], "hollow: clicked at setting, not a reading", "#fff"))
    if any(bolt.status == "kept outside window" for bolt in everything):
        entries.append(("star", "kept outside the window", "#fff"))
    parts, x, y = [], _LEFT, _TOP + _HEIGHT + 38
    for shape, english, fill in entries:
        words = say(english)
        long = 34 + 6.6 * len(words)
        if x + long > width and x > _LEFT:
            x, y = _LEFT, y + 20
        parts.append(_mark(shape, x + 6, y, fill=fill, stroke=1.5) + _text(x + 22, y, words, anchor="start"))
        x += long
    parts.append(_text(_LEFT, y + 20, say("pale: accepted window; dashed: wrench setting"), anchor="start", size=11))
    return parts, y + 34


def _text(x: float, y: float, words: str, *, anchor: str = "middle", size: float = 12) -> str:
    return (
        f"<text x='{x:.1f}' y='{y + 0.36 * size:.1f}' {_FONT} font-size='{size:g}' text-anchor='{anchor}' "
        f"fill='{_INK}'>{escape(words)}</text>"
    )
