"""Whether a joint is good by its record: the one verdict of page, record, comparison, guide and exit codes. Pure.

Green stands for two tokens alone: 'complete' (closed, nothing open, nothing to decide, a record that can be trusted)
and 'accepted' (somebody decided, and signed that with a key of their own where there was anything to decide).
Everything else says in its first line why not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assistant.replay.record_fields import JointRecord, Token
from assistant.replay.record_open import nearest_open, redos_open
from assistant.replay.titles import clock

Colour = Literal["green", "amber", "red"]
COLOURS: dict[Token, Colour] = {
    "open": "amber",
    "complete": "green",
    "to-decide": "amber",
    "accepted": "green",
    "to-redo": "amber",
    "rehearsal": "amber",
    "untrusted": "red",
}
"""Colour of each verdict; 'amber' waits for somebody, 'red' cannot be trusted."""
HEADINGS: dict[Token, str] = {
    "open": "Not finished",
    "complete": "Complete",
    "to-decide": "To be decided",
    "accepted": "Accepted",
    "to-redo": "To be done again",
    "rehearsal": "Rehearsal",
    "untrusted": "Cannot be trusted",
}


NOT_SIGNED = "Not signed with a lead's own key."
"""An acceptance by name alone: anybody at the machine may have typed it, so it settles nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What is said of a joint.

    Args:
        token: what is thought of the joint.
        heading: two or three words.
        reason: one sentence: why.
        good: exit code 0: complete, accepted, or a rehearsal that was gone through to its end.
    """

    token: Token
    heading: str
    reason: str
    good: bool

    @property
    def colour(self) -> Colour:
        """One of 'green', 'amber', 'red'."""
        return COLOURS[self.token]

    @property
    def line(self) -> str:
        """Both in one line: 'To be decided: 2 things. ...'."""
        return f"{self.heading}: {self.reason}"


def verdict(record: JointRecord) -> Verdict:
    """The verdict on a joint.

    Args:
        record: as `replay.record.joint_record` makes it; its open points, decisions and review are asked.
    """
    token, reason = _judged(record)
    good = token in ("complete", "accepted") or (token == "rehearsal" and record.whole)
    heading = HEADINGS[token] if token != "rehearsal" else record.session.how.capitalize()
    return Verdict(token=token, heading=heading, reason=reason, good=good)


def _judged(record: JointRecord) -> tuple[Token, str]:
    if record.distrust:
        more = len(record.distrust) - 1
        return "untrusted", f"{record.distrust[0].rstrip('.')}." + (f" And {more} more." if more else "")
    if record.session.how:
        done = "It was gone through to its end." if record.whole else nearest_open(record)
        return "rehearsal", f"nothing was tightened. {done}"
    redos = redos_open(record)
    if redos:
        bolts = ", ".join(f"{r.group} bolt {r.bolt}" for r in redos)
        why = next((f" {r.by} wrote: “{r.text}”." for r in redos if r.text), "")
        return "to-redo", f"{bolts}.{why}"
    if not record.whole or record.session.state != "sealed":
        return "open", nearest_open(record)
    decided = len(record.decisions)
    review = record.review
    if review is not None and review.accepted_by and (review.accepted_signed or not decided):
        at = f" on {clock(review.accepted_utc)} UTC" if review.accepted_utc is not None else ""
        over = f" {things(decided)} had to be decided." if decided else ""
        return "accepted", f"by {review.accepted_by}{at}.{over}{'' if review.accepted_signed else f' {NOT_SIGNED}'}"
    if decided and review is not None and review.accepted_by:
        return "to-decide", f"{things(decided)}. Accepted by {review.accepted_by}. {NOT_SIGNED}"
    if decided:
        return "to-decide", f"{things(decided)}. {record.decisions[0].text}"
    return "complete", "every bolt is recorded, the joint was closed, and nothing is left to decide. Not reviewed yet."


def things(count: int) -> str:
    """'1 thing', '3 things'."""
    return f"{count} thing{'s' * (count != 1)}"
