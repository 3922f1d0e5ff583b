"""A transcript as plain text, one line each, for the terminal and for reading afterwards."""

from __future__ import annotations

from assistant.replay.transcript import NOTHING, Line
from assistant.report.printable import printable
from assistant.report.wording import ENGLISH, Words

SPEAKERS = {"assistant": "assistant", "heard": "heard", "record": "  record"}

RECORDED = "recorded: "
"""What the word before the line says already."""


def text_line(line: Line, words: Words = ENGLISH) -> str:
    """One line: time of day (UTC), who, what, and how sure. Control signs in spoken text are made visible.

    Args:
        line: of a transcript.
        words: of the session's language; what was said stays as it was said.
    """
    remark = f"   [{words.say(line.remark)}]" if line.remark else ""
    ours = line.who == "record" or line.text == NOTHING
    text = words.say(line.text).removeprefix(words.say(RECORDED)) if ours else line.text
    return printable(f"{line.utc:%H:%M:%S}  {words.say(SPEAKERS[line.who]):<10} {text}{remark}")
