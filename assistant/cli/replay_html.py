"""Writes the lead's page of a session: reads and verifies the folder, gathers its sound, renders prompts again."""

from __future__ import annotations

import contextlib
import hashlib
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from assistant.bolting.joint_file.joint import Joint
from assistant.bolting.tightening import pattern
from assistant.cli.files import write
from assistant.cli.session_sources import sources_of
from assistant.config import paths
from assistant.config.joint_file import parse_joint
from assistant.config.settings import read_settings
from assistant.errors import AssistantError, BadSettings
from assistant.events import SessionOpened, WorkLaidOut
from assistant.journal.disk import read_regular
from assistant.journal.findings import Report
from assistant.journal.keyring import Basis
from assistant.journal.sessions import AUDIO_NAME, JOINT_NAME
from assistant.replay.facts import read_facts
from assistant.replay.record import Sources, joint_record
from assistant.replay.record_fields import JointRecord
from assistant.replay.salvage import Salvaged, salvage
from assistant.replay.story import Story, tell
from assistant.report.bolt_map import Shape
from assistant.report.page_sound import Keep, Render, collect
from assistant.report.replay_page import replay_page

EMBED_BYTES = 20 * 1024**2
"""Sound up to this size goes into the page; more goes into a folder beside it."""
PROMPT_BYTES = 18 * 1024
"""What one prompt takes, about: the mean of 40 prompts of the demo joints."""


def write_page(
    session: Path, file: Path, *, beside: bool = False, prompts: bool = True
) -> tuple[JointRecord, Report | None]:
    """Write a session as one HTML page, however damaged the session is.

    Args:
        session: a session folder.
        file: the page; a folder `<name>-sound` is made next to it where the sound does not go into the page.
        beside: put the sound beside the page, however small it is.
        prompts: render the prompts again, so that they can be heard.

    Returns:
        The joint record that the page shows, and what verification found.

    Raises:
        BadSession: it is no session folder at all.
        BadSettings: the file cannot be written there, or lies in a session folder.
    """
    _refuse_inside(session, file)
    story, sources, found = read_story(session)
    record = story.record
    folder = file.with_name(f"{file.stem}-sound")
    outside = beside or _sound_bytes(session, story, prompts=prompts) > EMBED_BYTES
    spoken = next((e.event.language for e in found.entries if isinstance(e.event, WorkLaidOut)), None)
    with voice(spoken) if prompts else contextlib.nullcontext() as render:
        sounds = collect(
            story.moments,
            lambda name: read_regular(session / AUDIO_NAME / f"{name}.flac"),
            render=render,
            keep=_keeping(folder) if outside else None,
        )
    joint = joint_of(session, found)
    page = replay_page(
        story,
        sounds,
        report=sources.report,
        joint=joint,
        shapes=shapes_of(joint) if joint else {},
        session=session.resolve().name,
        beside=folder.name if outside else "",
    )
    write(file, page.encode("utf-8"), "--html")
    return record, sources.report


def read_story(session: Path, *, basis: Basis | None = None) -> tuple[Story, Sources, Salvaged]:
    """A session as its page tells it, however damaged it is, and what it was read from.

    Args:
        basis: the keys that count as known; None looks up this machine's.

    Raises:
        BadSession: it is no session folder at all.
    """
    sources = sources_of(session, basis=basis)
    beginning = sources.beginning
    # of a damaged journal the record believes the beginning alone; the conversation shows what else can be read
    whole = not beginning.trouble
    found = Salvaged(entries=beginning.entries, torn_bytes=beginning.torn_bytes) if whole else salvage(session)
    facts = read_facts(found.entries)
    record = joint_record(sources, facts if whole else None)
    return tell(record, facts, unread=found.unread), sources, found


def joint_of(session: Path, found: Salvaged) -> Joint | None:
    """The joint file that the session began with; None where it is gone, changed or not understood."""
    opened = next((entry.event for entry in found.entries if isinstance(entry.event, SessionOpened)), None)
    try:
        data = read_regular(session / JOINT_NAME)
        if opened is None or hashlib.sha256(data).hexdigest() != opened.joint_sha256:
            return None
        return parse_joint(data, source=JOINT_NAME)
    except AssistantError:
        return None


def shapes_of(joint: Joint) -> dict[str, Shape]:
    """How each group's bolts are laid out."""
    found = {}
    for group in joint.groups:
        own = joint.tightening_of(group)
        found[group.name] = Shape(family=pattern.family_name(own.order), columns=own.columns, rows=own.rows)
    return found


@contextlib.contextmanager
def voice(language: str | None) -> Iterator[Render]:
    """The voice that the prompts were spoken with, by today's settings; prompts that were rendered before are kept.

    Args:
        language: that the session was held in; None for the one that is set.
    """
    from assistant.cli import house
    from assistant.devices.prompt_cache import PromptCache
    from assistant.devices.pyttsx3_renderer import Pyttsx3Renderer

    own = house.voice_settings(house.spoken_in(read_settings(), language))
    with contextlib.ExitStack() as undo:
        folder = paths.cache_folder() / "prompts"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            folder = Path(undo.enter_context(tempfile.TemporaryDirectory()))
        cache = PromptCache(Pyttsx3Renderer(own), folder)
        undo.callback(cache.close)
        yield cache.sound


def _refuse_inside(session: Path, file: Path) -> None:
    if session.resolve() in file.resolve().parents:
        raise BadSettings(
            f"--html: {file} lies in the session folder",
            remedy="Name a file elsewhere: nothing may be added to a record.",
        )


def _sound_bytes(session: Path, story: Story, *, prompts: bool) -> int:
    total = 0
    for name in {moment.name for moment in story.moments if moment.name}:
        with contextlib.suppress(OSError):
            total += (session / AUDIO_NAME / f"{name}.flac").lstat().st_size
    texts = {moment.text for moment in story.moments if moment.who == "assistant"}
    return total + (PROMPT_BYTES * len(texts) if prompts else 0)


def _keeping(folder: Path) -> Keep:
    def keep(name: str, data: bytes) -> None:
        try:
            folder.mkdir(exist_ok=True)
        except OSError as error:
            raise _refused(folder, error) from None
        write(folder / name, data, "--html")

    return keep


def _refused(path: Path, error: OSError) -> BadSettings:
    return BadSettings(
        f"--html: {path} cannot be written: {error.strerror or error}",
        remedy="Name a file in a folder that you may write to.",
    )


def say_written(file: Path, report: Report | None) -> None:
    """One line about the page on standard output, and what verification found on standard error."""
    print(f"written: {file} ({file.stat().st_size / 1e6:.1f} MB)")
    faults = [finding for finding in (report.findings if report else ()) if finding.severity != "note"]
    for finding in faults[:10]:
        print(f"{finding.severity}: {finding.where}: {finding.message}", file=sys.stderr)
    if report is not None and len(faults) > 10:
        print(f"and {len(faults) - 10} more: assistant verify {report.folder}", file=sys.stderr)
