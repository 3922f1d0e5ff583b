"""The glance board: what is due, so large that it is read from the wrench. One picture of a session's state.

`glance` says what is to be seen, for a terminal and for a page alike; `draw` makes it fill a terminal. One state fills
the screen: a standing session shows no bolt, so that nobody takes it for one that goes on. No line is ever cut: what
has no room at a size is drawn smaller, then left out, the least important first.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, replace

from rich.text import Text

from assistant.events import Measurement, Pass, Question
from assistant.procedure.prompts import YES, answers_of
from assistant.procedure.state import State
from assistant.replay.titles import UNIT_SIGNS, plain, stage_title

FONT = {
    "0": ("███", "█ █", "█ █", "█ █", "███"),
    "1": (" █ ", "██ ", " █ ", " █ ", "███"),
    "2": ("███", "  █", "███", "█  ", "███"),
    "3": ("███", "  █", "███", "  █", "███"),
    "4": ("█ █", "█ █", "███", "  █", "  █"),
    "5": ("███", "█  ", "███", "  █", "███"),
    "6": ("███", "█  ", "███", "█ █", "███"),
    "7": ("███", "  █", "  █", "  █", "  █"),
    "8": ("███", "█ █", "███", "█ █", "███"),
    "9": ("███", "█ █", "███", "  █", "███"),
    ".": (" ", " ", " ", " ", "█"),
    ":": (" ", "█", " ", "█", " "),
    "?": ("███", "  █", " ██", "   ", " █ "),
    " ": (" ", " ", " ", " ", " "),
    "A": ("███", "█ █", "███", "█ █", "█ █"),
    "B": ("██ ", "█ █", "██ ", "█ █", "██ "),
    "C": ("███", "█  ", "█  ", "█  ", "███"),
    "D": ("██ ", "█ █", "█ █", "█ █", "██ "),
    "E": ("███", "█  ", "██ ", "█  ", "███"),
    "F": ("███", "█  ", "██ ", "█  ", "█  "),
    "G": ("███", "█  ", "█ █", "█ █", "███"),
    "H": ("█ █", "█ █", "███", "█ █", "█ █"),
    "I": ("█", "█", "█", "█", "█"),
    "J": ("  █", "  █", "  █", "█ █", "███"),
    "K": ("█ █", "█ █", "██ ", "█ █", "█ █"),
    "L": ("█  ", "█  ", "█  ", "█  ", "███"),
    "M": ("█   █", "██ ██", "█ █ █", "█   █", "█   █"),
    "N": ("█  █", "██ █", "█ ██", "█  █", "█  █"),
    "O": ("███", "█ █", "█ █", "█ █", "███"),
    "P": ("███", "█ █", "███", "█  ", "█  "),
    "Q": ("███", "█ █", "█ █", "███", "  █"),
    "R": ("██ ", "█ █", "██ ", "█ █", "█ █"),
    "S": ("███", "█  ", "███", "  █", "███"),
    "T": ("███", " █ ", " █ ", " █ ", " █ "),
    "U": ("█ █", "█ █", "█ █", "█ █", "███"),
    "V": ("█ █", "█ █", "█ █", "█ █", " █ "),
    "W": ("█   █", "█   █", "█ █ █", "██ ██", "█   █"),
    "X": ("█ █", "█ █", " █ ", "█ █", "█ █"),
    "Y": ("█ █", "█ █", " █ ", " █ ", " █ "),
    "Z": ("███", "  █", " █ ", "█  ", "███"),
}
"""Large signs, five rows each; what is not in here is written in the terminal's own letters."""
ROWS = 5
LARGEST = 8
"""A sign never grows beyond so many times its size: from there on it is no easier to read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """What is to be seen of one state.

    Args:
        kind: "bolt", "stopped", "outside", "say", "ask", "wait", "speak" (words are awaited) or "closed": how it looks.
        heading: one or two words in capitals, the state.
        figures: up to two (label, figure): the bolt and the wrench's setting, the figure heard, the time left.
        text: the question, or what to do.
        say: what to say, "" where there is no agreed wording.
        place: where in the work, and how much of it is done.
        joint: its name.
        last: the last line of the transcript.
    """

    kind: str
    heading: str
    figures: tuple[tuple[str, str], ...] = ()
    text: str = ""
    say: str = ""
    place: str = ""
    joint: str = ""
    last: str = ""


GERMAN = {
    "CLOSED": "FERTIG",
    "The record is sealed.": "Das Protokoll ist versiegelt.",
    "STOPPED": "GESTOPPT",
    "PAUSED": "PAUSE",
    "FIGURES": "ZIFFERN",
    "One figure after the other": "Eine Ziffer nach der anderen",
    "WHICH?": "WAS?",
    "WHAT?": "WAS?",
    "HELPER": "HILFE",
    "Somebody at the keyboard, please": "Jemand an die Tastatur, bitte",
    "NAME?": "NAME?",
    "Say the name": "Nenne den Namen",
    "WHY?": "WARUM?",
    "Say it in a sentence": "Sag es in einem Satz",
    "NOTE": "NOTIZ",
    "Say the note": "Sprich die Notiz",
    "SUPERVISOR": "AUFSICHT",
    "The supervisor speaks, or say no": "Die Aufsicht spricht, oder sag no",
    "ANSWER": "ANTWORT",
    "Which bolt comes next?": "Welche Schraube kommt als Nächste?",
    "MEASURE": "MESSEN",
    "WAIT": "WARTEN",
    "HOURS:MINUTES LEFT": "STUNDEN:MINUTEN",
    "DONE": "FERTIG",
    "SNUG": "HANDFEST",
    "ALL ROUND": "REIHUM",
    "TAP AND PULL": "KLOPFEN",
    "RE-CHECK": "NACHPRÜFUNG",
    "NEXT BOLT": "SCHRAUBE",
    "OUTSIDE": "DANEBEN",
    "YES OR NO?": "YES ODER NO?",
    "HEARD": "VERSTANDEN",
    "SAY": "SAG",
    "Too high. Do not back off. Read it again": "Zu hoch. Nicht lösen. Neu ablesen",
}
"""What the board itself says, in German; what people must say stays English."""
_GERMAN_PARTS = {
    "PASS ": "STUFE ",
    "PULL TO, ": "AUF ",
    "SET TO, ": "EINSTELLEN ",
    "WRENCH TO, ": "SCHLÜSSEL ",
    "HEARD, BOLT ": "VERSTANDEN, SCHRAUBE ",
    "Too low. Pull again": "Zu niedrig. Nachziehen",
    " to ": " auf ",
}


def _said_in(language: str, text: str) -> str:
    if language != "de":
        return text
    if text in GERMAN:
        return GERMAN[text]
    for part, other in _GERMAN_PARTS.items():
        text = text.replace(part, other) if part[0] == " " or text.startswith(part) else text
    return text


def glance(state: State, last: str = "", *, left_s: int | None = None) -> Glance:
    """What is to be seen of this state.

    Args:
        last: the last line of the transcript.
        left_s: what is left of a running wait right now; None: as it was last looked at.
    """
    seen, language = _seen(state if left_s is None else replace(state, left_s=left_s)), state.work.language
    own = seen.text and seen.text not in (getattr(state.item, "ask", ""), getattr(state.item, "called", ""))
    return replace(
        seen,
        heading=_said_in(language, seen.heading),
        figures=tuple((_said_in(language, label), figure) for label, figure in seen.figures),
        text=_said_in(language, seen.text) if own else seen.text,
        place=_place(state),
        joint=state.work.joint,
        last=last,
    )


def _seen(state: State) -> Glance:
    due, pending, item = state.current_pass, state.pending, state.item
    if state.closed:
        return Glance(kind="closed", heading="CLOSED", text="The record is sealed.")
    match state.dialogue:
        case "stopped":
            return Glance(kind="stopped", heading="STOPPED", say="resume")
        case "paused":
            return Glance(kind="stopped", heading="PAUSED", say="resume")
        case "off-window" if pending is not None and pending.heard.value is not None:
            return _outside(state, due)
        case "asking":
            return _doubt(state)
        case "figures":
            return Glance(kind="speak", heading="FIGURES", text="One figure after the other", figures=_bolt(state))
        case "choosing":
            said = tuple((n, plain(c.value)) for n, c in zip(("ONE", "TWO"), state.choices, strict=False) if c.value)
            return Glance(kind="ask", heading="WHICH?", figures=said, say="one, or two")
        case "helper":
            return Glance(kind="speak", heading="HELPER", text="Somebody at the keyboard, please")
        case "naming" if state.name_heard:
            return Glance(kind="ask", heading="YES OR NO?", text=state.name_heard)
        case "naming":
            return Glance(kind="speak", heading="NAME?", text="Say the name")
        case "reasoning" | "explaining":
            what = state.purpose in ("missing", "changed")
            return Glance(kind="speak", heading="WHAT?" if what else "WHY?", text="Say it in a sentence")
        case "noting":
            return Glance(kind="speak", heading="NOTE", text="Say the note")
        case "supervisor":
            return Glance(kind="speak", heading="SUPERVISOR", text="The supervisor speaks, or say no")
        case "asked-back":
            asked = state.asked_item
            ask = asked.lesson.ask_back if asked is not None else None
            text = ask.ask if ask is not None and not state.expects.isdecimal() else "Which bolt comes next?"
            return Glance(kind="ask", heading="ANSWER", text=text)
    if isinstance(item, Question):
        return _question(item)
    if isinstance(item, Measurement):
        return Glance(
            kind="ask", heading="MEASURE", text=item.ask, say=f"the figure in {UNIT_SIGNS.get(item.unit, item.unit)}"
        )
    if state.wait is not None:
        left = state.left_s if state.left_s is not None else state.wait.seconds
        return Glance(
            kind="wait", heading="WAIT", figures=(("HOURS:MINUTES LEFT", _clock(left)),), text=state.wait.called
        )
    if due is None or state.bolt is None:
        return Glance(kind="closed", heading="DONE")
    heading = {"snug": "SNUG", "circular": "ALL ROUND", "seat": "TAP AND PULL"}.get(due.kind, f"PASS {due.number}")
    heading = due.method.upper() or heading
    if due.phase == "re-check":
        heading = "RE-CHECK"
    asks = state.movement_due or due.goes_round
    return Glance(kind="bolt", heading=heading, figures=_bolt(state), say="it moved, or did not move" if asks else "")


_ORDERS = {"angle": "TURN BY", "length": "READ"}


def _bolt(state: State) -> tuple[tuple[str, str], ...]:
    due = state.current_pass
    if due is None or state.bolt is None:
        return ()
    bolt = ("NEXT BOLT", str(state.bolt))
    if due.setting is None:
        return (bolt,)
    unit = UNIT_SIGNS.get(due.setting.unit, due.setting.unit)
    order = "WRENCH TO" if due.through else "SET TO" if due.clicks else _ORDERS.get(due.measures, "PULL TO")
    return bolt, (f"{order}, {unit}", plain(due.setting.value))


def _outside(state: State, due: Pass | None) -> Glance:
    pending = state.pending
    assert pending is not None and pending.heard.value is not None
    to = "" if due is None or due.setting is None else f" to {plain(due.setting.value)}"
    low = pending.reason == "low"
    text = f"Too low. Pull again{to}" if low else "Too high. Do not back off. Read it again"
    return Glance(
        kind="outside",
        heading="OUTSIDE",
        figures=((f"HEARD, BOLT {state.bolt}", plain(pending.heard.value)),),
        text=text,
        say="the new reading, or keep",
    )


def _doubt(state: State) -> Glance:
    heard = state.pending.heard if state.pending is not None else None
    if heard is None or heard.value is None:
        said = (heard.command or heard.text) if heard is not None else ""
        return Glance(kind="ask", heading="YES OR NO?", text=said)
    return Glance(
        kind="ask", heading="YES OR NO?", figures=(("HEARD", f"{plain(heard.value)}?"),), say="yes, no, or the reading"
    )


def _question(question: Question) -> Glance:
    if question.phrase == YES:
        return Glance(kind="ask", heading="YES OR NO?", text=question.ask)
    known = answers_of(question)
    if question.hold or len(known) < 2:
        return Glance(kind="say", heading="SAY", text=question.ask, say=question.phrase)
    return Glance(kind="ask", heading="WHICH?", text=question.ask, say=", ".join(known) if len(known) <= 3 else "")


def _place(state: State) -> str:
    due = state.current_pass
    title = stage_title(state, state.stage, state.round)
    if due is None or state.bolt is None:
        return title
    done = len(state.done(state.stage, state.round))
    at = f"bolt {state.bolt}, " if state.dialogue in ("stopped", "paused") else ""
    return f"{title}: {at}{done} of {len(due.bolts)} done"


def _clock(seconds: int) -> str:
    minutes = -(-max(0, seconds) // 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


# ------------------------------------------------------------------------------------------------------- on a terminal
STYLES = {
    "bolt": "bold",
    "stopped": "bold white on red",
    "outside": "bold black on yellow",
    "say": "bold",
    "ask": "bold",
    "wait": "bold",
    "speak": "bold",
    "closed": "bold",
}
"""Colour only says once more what the words say."""


def large(text: str, scale: int) -> list[str]:
    """Figures or words as rows of blocks, each block `2 * scale` wide and `scale` high; [] where a sign is missing."""
    if scale < 1 or any(sign not in FONT for sign in text):
        return []
    rows = [" ".join(FONT[sign][row] for sign in text) for row in range(ROWS)]
    return ["".join(cell * 2 * scale for cell in row) for row in rows for _ in range(scale)]


def draw(seen: Glance, *, width: int, height: int) -> list[str]:
    """The picture as lines of at most `width` signs, at most `height` of them: as large as the terminal allows."""
    sizes = [(scale, spare) for scale in range(LARGEST, 0, -1) for spare in range(_SMALL + 1)]
    sizes.append((1, _SMALL + 1))  # on a small terminal the figure is worth more than the place
    for scale, spare in [*sizes, *((0, spare) for spare in range(len(_SPARE) + 1))]:
        lines = _lines(seen, width=width, scale=scale, without=_SPARE[:spare])
        if lines and len(lines) <= height and max(map(len, lines)) <= width:
            return [line.rstrip() for line in lines]
    return [line.rstrip() for line in textwrap.wrap(_shortest(seen), max(1, width))[:height]]


_SPARE = ("last", "joint", "place", "labels", "text")
"""What is left out where there is no room, the first first; the first _SMALL for larger signs already."""
_SMALL = 2


def _shortest(seen: Glance) -> str:
    said = f"say {seen.say}" if seen.say else ""
    return " ".join(part for part in (seen.heading, *(figure for _, figure in seen.figures), said) if part)


def _lines(seen: Glance, *, width: int, scale: int, without: tuple[str, ...]) -> list[str]:
    """All lines at one scale; [] where a large part is wider than the terminal."""
    blocks = [_figures(seen.figures, width, scale, labels="labels" not in without)] if seen.figures else []
    heading = large(seen.heading, min(scale, 1 if seen.kind == "say" else 3) if seen.figures or seen.say else scale)
    if seen.kind == "stopped":
        heading = large(seen.heading, scale)
    if heading and max(map(len, heading)) > width:
        if scale and (seen.kind == "stopped" or not (seen.figures or seen.say)):
            return []
        heading = []
    if seen.figures and (seen.kind == "bolt" or "place" in without):
        heading = []  # the figures are what is read from afar; the pass stands in plain letters
    blocks.insert(0, _centred(heading, width) if heading else _wrapped(seen.heading, width))
    if not all(blocks):
        return []
    if seen.text and "text" not in without:
        blocks.append(_wrapped(seen.text, width))
    if seen.say:
        spoken = _large_words(seen.say, width, scale) if seen.kind == "say" else []
        if seen.kind == "say" and scale and not spoken:
            return []
        blocks.append(spoken or _wrapped(f"Say: {seen.say}", width))
    shown = (getattr(seen, part) for part in ("place", "joint", "last") if part not in without)
    blocks += [_wrapped(text, width) for text in shown if text]
    return [line for n, block in enumerate(blocks) for line in ([""] * (n > 0) + block)]


def _large_words(text: str, width: int, scale: int) -> list[str]:
    """Words in large letters, as many a line as there is room for; [] where one is wider than the terminal."""
    lines: list[list[str]] = []
    for word in text.upper().split():
        longer = large(" ".join([*(lines[-1] if lines else []), word]), scale)
        if lines and longer and max(map(len, longer)) <= width:
            lines[-1].append(word)
        else:
            lines.append([word])
    drawn = [large(" ".join(line), scale) for line in lines]
    if not all(drawn) or max(len(row) for rows in drawn for row in rows) > width:
        return []
    return [row for n, rows in enumerate(drawn) for row in ([""] * (n > 0) + _centred(rows, width))]


def _figures(figures: tuple[tuple[str, str], ...], width: int, scale: int, *, labels: bool) -> list[str]:
    """Each figure under its label, side by side where they fit; [] where one is wider than the terminal."""
    if scale == 0:
        said = [f"{label} {figure}" if labels else figure for label, figure in figures]
        return [line for each in said for line in _wrapped(each, width)]
    columns = []
    for label, figure in figures:
        rows = large(figure, scale)
        wide = max([*map(len, rows), len(label) if labels else 0])
        columns.append([row.center(wide) for row in ([label, ""] if labels else []) + rows])
    gap = " " * (6 * scale)
    beside = [gap.join(parts) for parts in zip(*columns, strict=True)]
    if max(map(len, beside)) <= width:
        return _centred(beside, width)
    under = [row for n, column in enumerate(columns) for row in ([""] * (n > 0) + _centred(column, width))]
    return under if max(map(len, under)) <= width else []


def _centred(rows: list[str], width: int) -> list[str]:
    left = max(0, (width - max(map(len, rows))) // 2)
    return [" " * left + row for row in rows]


def _wrapped(text: str, width: int) -> list[str]:
    return [line.center(width) for line in textwrap.wrap(text, max(1, width)) or [""]]


def board(seen: Glance, *, width: int, height: int) -> Text:
    """The picture for a terminal of this size, in the colours of its state, from edge to edge."""
    lines = draw(seen, width=width, height=height)
    above = (height - len(lines)) // 2
    filled = [""] * above + lines + [""] * (height - len(lines) - above)
    return Text("\n".join(line.ljust(width) for line in filled), style=STYLES[seen.kind], no_wrap=True, end="")


__all__ = ["Glance", "board", "draw", "glance", "large"]
