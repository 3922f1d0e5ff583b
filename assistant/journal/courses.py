"""Whether two copies of a session tell one course of the work, or part at some line and go on differently."""

from __future__ import annotations

from pathlib import Path

from assistant.errors import BadSession
from assistant.journal.chain import line_sha256, split_lines
from assistant.journal.disk import read_regular
from assistant.journal.review import REVIEW_NAME
from assistant.journal.tape import JOURNAL_NAME


def course_of(folder: Path, name: str = JOURNAL_NAME) -> tuple[str, ...]:
    """SHA-256 of each whole line of a journal or review; none where the file is not there or cannot be read."""
    try:
        lines, _ = split_lines(read_regular(folder / name))
    except BadSession:
        return ()
    return tuple(map(line_sha256, lines))


def parting(one: Path, other: Path) -> str:
    """Where two copies of a session begin to differ ("journal.jsonl line 41").

    Returns:
        "" where what one tells is the beginning of what the other tells, in the journal and in the review.
    """
    for name in (JOURNAL_NAME, REVIEW_NAME):
        both = zip(course_of(one, name), course_of(other, name), strict=False)
        for number, (here, there) in enumerate(both, start=1):
            if here != there:
                return f"{name} line {number}"
    return ""
