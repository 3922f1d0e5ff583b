"""The glance board: what is due, so large that it is read from the wrench. One picture of a session's state."""

from __future__ import annotations

from rich.align import Align
from rich.console import Group, RenderableType
from rich.panel import Panel
from rich.text import Text

from assistant.procedure.state import State
from assistant.replay.titles import UNIT_SIGNS, length_words, number, stage_title

ROWS = 5
FIGURES = {
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
    "-": ("   ", "   ", "███", "   ", "   "),
}
"""Large figures, five rows each."""
STANDING = {
    "paused": "PAUSED: say resume",
    "stopped": "STOPPED: say resume",
    "asking": "Yes or no?",
    "off-window": "Outside the window: tighten again, or keep",
    "figures": "Figure by figure, please",
    "choosing": "One or two?",
    "helper": "A helper, please",
    "reasoning": "Say the reason",
    "noting": "Say the note",
    "naming": "Say the name",
    "asked-back": "Say your answer",
    "explaining": "Say why",
    "supervisor": "The supervisor's phrase, or no",
    "closed": "CLOSED",
}
"""What is shown of a state of the dialogue besides the item."""


def large(text: str) -> Text:
    """Figures, points and hyphens as five rows of blocks; other signs are left out.

    Args:
        text: like "170" or "57.5".
    """
    shown = [FIGURES[sign] for sign in text if sign in FIGURES]
    return Text("\n".join("  ".join(figure[row] for figure in shown) for row in range(ROWS)))


def board(state: State, last: str) -> RenderableType:
    """The board of this state.

    Args:
        last: the last line of the transcript.
    """
    parts: list[RenderableType] = []
    due, bolt = state.current_pass, state.bolt
    if due is not None and bolt is not None:
        parts += [Text("BOLT", style="bold"), large(str(bolt)), Text(" ")]
        if due.setting is not None and not due.goes_round:
            parts += [
                Text(f"SET TO, {UNIT_SIGNS.get(due.setting.unit, due.setting.unit)}", style="bold"),
                large(number(due.setting)),
                Text(" "),
            ]
        done = len(state.done(state.stage, state.round))
        parts.append(Text(f"{done} of {len(due.bolts)} done", style="bold"))
    elif state.question is not None:
        parts += [Text(state.question.ask, style="bold"), Text(f"Say: {state.question.phrase}", style="bold reverse")]
    elif state.measurement is not None:
        parts.append(Text(state.measurement.ask, style="bold"))
    elif state.wait is not None:
        left = state.left_s if state.left_s is not None else state.wait.seconds
        parts.append(Text(f"{state.wait.name}: {length_words(left)} left", style="bold"))
    standing = STANDING.get(state.dialogue, "")
    if standing:
        parts += [Text(" "), Text(standing, style="bold reverse")]
    parts += [Text(" "), Text(last, style="dim", overflow="ellipsis", no_wrap=True)]
    title = stage_title(state, state.stage, state.round) or "All done"
    body = Group(*(Align.center(part) for part in parts))
    return Panel(body, title=f"{state.work.joint}: {title}", padding=(1, 2))


__all__ = ["board", "large"]
