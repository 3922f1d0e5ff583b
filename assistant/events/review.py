"""What a lead can put beside a finished session: comments, rulings, a signature. Never in the session's journal."""

from __future__ import annotations

import types
from dataclasses import dataclass
from typing import ClassVar

from assistant.events.records import EventBase


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewBegun(EventBase):
    """Somebody looked at the session as it stood then; the lines up to the next of this kind are theirs."""

    kind: ClassVar[str] = "review-begun"
    by: str
    session_lines: int  # lines of the session's journal at that time
    session_last_hash: str  # SHA-256 of the last of them
    as_recorded: bool  # verification found nothing worse than a note
    product: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CommentMade(EventBase):
    """A remark of the lead."""

    kind: ClassVar[str] = "comment-made"
    by: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JointAccepted(EventBase):
    """The joint is accepted as recorded; with deviations only for a reason."""

    kind: ClassVar[str] = "joint-accepted"
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RedoOrdered(EventBase):
    """A bolt is to be done again: its last pass, then all round."""

    kind: ClassVar[str] = "redo-ordered"
    by: str
    group: str
    bolt: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewSigned(EventBase):
    """The lead signs for what the review says so far, with a key of his own."""

    kind: ClassVar[str] = "review-signed"
    version: ClassVar[int] = 2
    by: str
    public_key: str  # of the person's key, hex; "" where it was signed by name only (before version 2)
    signature: str  # over all lines before, hex


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundErased(EventBase):
    """The sound of these utterances was erased; their words and the hashes of their recordings stay in the journal."""

    kind: ClassVar[str] = "sound-erased"
    by: str
    reason: str
    utterances: tuple[str, ...]


ReviewEvent = ReviewBegun | CommentMade | JointAccepted | RedoOrdered | ReviewSigned | SoundErased

REVIEW_CLASSES: types.MappingProxyType[str, type[ReviewEvent]] = types.MappingProxyType(
    {cls.kind: cls for cls in (ReviewBegun, CommentMade, JointAccepted, RedoOrdered, ReviewSigned, SoundErased)}
)
"""All events of a review by their name on disk."""
