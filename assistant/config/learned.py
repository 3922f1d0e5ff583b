"""What a person learned, kept on this machine with that person's consent: `people/<name>.json` in the data folder.

How words are best said to be heard, and what was missed at practices and joints, with the supervisor who has reviewed
it since. Creating the file is the consent, and deleting it withdraws it: without the file nothing is kept.
It is not part of any joint's record.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from assistant.config import paths
from assistant.errors import BadSettings
from assistant.journal.disk import Disk, make_folders, not_writable, replace_file


class Missed(BaseModel):
    """Something that an apprentice missed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    what: str
    """In a few words, as it was told."""
    joint: str
    """At which joint."""
    utc: str
    """When."""
    seen_by: str = ""
    """The supervisor who has gone through it with the apprentice; empty: nobody yet."""
    seen_utc: str = ""
    """When that was."""


class Learned(BaseModel):
    """One person's file."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    version: Literal[1] = 1
    name: str = Field(min_length=2, max_length=60)
    """The person's."""
    consent_utc: str
    """When the person agreed that this is kept."""
    better: tuple[tuple[str, str], ...] = ()
    """Word, and the form of it that is heard better."""
    hard: tuple[str, ...] = ()
    """Words that were heard surely in no form."""
    heard_utc: str = ""
    """When the words were said last; empty: never."""
    missed: tuple[Missed, ...] = ()
    """At practices and joints, oldest first."""

    @property
    def unseen(self) -> tuple[Missed, ...]:
        """What no supervisor has reviewed yet."""
        return tuple(each for each in self.missed if not each.seen_by)

    def seen(self, by: str, utc: str) -> Learned:
        """The same after a supervisor has reviewed everything that was missed."""
        update = {"seen_by": by, "seen_utc": utc}
        missed = tuple(each if each.seen_by else each.model_copy(update=update) for each in self.missed)
        return self.model_copy(update={"missed": missed})


def file_of(name: str) -> Path:
    """The path of a person's file.

    Raises:
        BadSettings: the name has no letter.
    """
    slug = re.sub(r"[\W_]+", "-", name.casefold()).strip("-")
    if not slug:
        raise BadSettings(f"the name {name!r} has no letter", remedy="a person's name")
    return paths.people_folder() / f"{slug}.json"


def learned_by(name: str) -> Learned | None:
    """A person's file; None where there is none.

    Raises:
        BadSettings: it cannot be read, or is damaged.
    """
    path = file_of(name)
    if not path.exists():
        return None
    try:
        return Learned.model_validate_json(path.read_bytes())
    except (OSError, ValidationError) as error:
        raise BadSettings(f"{path} cannot be used: {error}", remedy=f"`assistant practise --forget {name!r}`") from None


def keep(learned: Learned) -> Path:
    """Write a person's file, whole or not at all.

    Raises:
        RecordNotWritable: the folder refuses.
    """
    disk, path = Disk(), file_of(learned.name)
    try:
        make_folders(disk, path.parent)
        replace_file(disk, path, learned.model_dump_json(indent=2).encode() + b"\n")
    except OSError as error:
        raise not_writable(path, error) from None
    return path
