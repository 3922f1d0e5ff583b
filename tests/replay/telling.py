"""Stories for tests: of a folder as the page reads it, and of bare lines."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path

from assistant.cli import session_sources
from assistant.cli.replay_html import read_story
from assistant.errors import BadSession
from assistant.journal.beginning import Beginning
from assistant.journal.keyring import Basis, basis_of
from assistant.journal.reading import Entry
from assistant.journal.review import REVIEW_SEAL_NAME
from assistant.journal.seal import read_seal
from assistant.journal.sessions import SEAL_NAME
from assistant.replay.facts import read_facts
from assistant.replay.record import Sources, joint_record
from assistant.replay.record_fields import JointRecord
from assistant.replay.salvage import Unread
from assistant.replay.story import Story, tell


def trusting(folder: Path) -> Basis:
    """Keys with which a session and its review were sealed, as ones that this machine knows."""
    keys = []
    for name in (SEAL_NAME, REVIEW_SEAL_NAME):
        if (folder / name).is_file():
            with contextlib.suppress(BadSession):
                keys.append(read_seal((folder / name).read_bytes(), name=name).public_key)
    return basis_of(keys)


def record_of(folder: Path) -> JointRecord:
    """The record of a session folder, on a machine that knows the keys that it was sealed with."""
    return session_sources.record_of(folder, basis=trusting(folder))


def story_of(folder: Path) -> Story:
    """The story of a session folder, as the page tells it, on a machine that knows its keys."""
    return read_story(folder, basis=trusting(folder))[0]


def record_of_lines(lines: Sequence[Entry]) -> JointRecord:
    """The record of lines that lie in no folder."""
    return joint_record(_sources(lines))


def told(lines: Sequence[Entry], *, unread: Sequence[Unread] = ()) -> Story:
    """The story of lines that lie in no folder."""
    facts = read_facts(lines)
    return tell(joint_record(_sources(lines), facts), facts, unread=unread)


def _sources(lines: Sequence[Entry]) -> Sources:
    return Sources(folder="foreign", beginning=Beginning(entries=tuple(lines), lines=len(lines)), product="p")
