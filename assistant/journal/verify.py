"""Verification of a session folder: is it what was recorded, all of it and nothing else? Reads only."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from assistant.errors import BadSession
from assistant.events import Event, SessionOpened
from assistant.journal.beginning import Beginning
from assistant.journal.clock import Clock, utc_now, utc_text
from assistant.journal.disk import read_regular
from assistant.journal.encoding import EVENT_FORMAT
from assistant.journal.findings import Finding, Report, error, note
from assistant.journal.keyring import NOTHING_KNOWN, Basis
from assistant.journal.lock import in_use
from assistant.journal.review import erased_sound
from assistant.journal.sessions import JOINT_NAME, PLAYED, SEAL_NAME, status_of
from assistant.journal.tape import JOURNAL_NAME, torn_files
from assistant.journal.verify_entries import examine_entries
from assistant.journal.verify_files import examine_audio, examine_files, named_audio
from assistant.journal.verify_lines import Lines, examine_lines, torn_findings
from assistant.journal.verify_review import examine_review
from assistant.journal.verify_seal import examine_seal, signer_of
from assistant.journal.verify_signed import examine_checkpoints, examine_register, examine_witness

_AHEAD = timedelta(minutes=5)  # two machines' clocks differ by less; our own choice
Rebuild = Callable[[Sequence[Event]], object]  # folds events into a state; equal states compare equal


def verify(
    folder: Path, *, rebuild: Rebuild | None = None, basis: Basis = NOTHING_KNOWN, clock: Clock = utc_now
) -> Report:
    """Check chain, sequence, seal, checkpoints, register, audio, joint file, plan, stray files, clock, review, entries.

    Args:
        folder: a session folder.
        rebuild: folds the events into the state; None leaves that check out (a note says so).
        basis: the keys that this machine knows; without any, nothing that is sealed can be trusted.
        clock: tells the time of now, for what is dated later.

    Raises:
        BadSession: it is no session folder at all, or cannot be read.
    """
    return verify_and_read(folder, rebuild=rebuild, basis=basis, clock=clock)[0]


def verify_and_read(
    folder: Path, *, rebuild: Rebuild | None = None, basis: Basis = NOTHING_KNOWN, clock: Clock = utc_now
) -> tuple[Report, Beginning | None]:
    """As `verify`; also returns the journal, so that it is read only once.

    Returns:
        The report; the journal, None where it is not believed to its end.
    """
    if not folder.is_dir():
        raise BadSession(f"{folder} is not a folder", remedy="name a session folder that `assistant guide` made")
    try:
        return _verify(folder, rebuild, basis, clock())
    except OSError as refused:
        raise BadSession(f"{folder} cannot be read ({refused.strerror})", remedy="see that you may read it") from None


def _verify(folder: Path, rebuild: Rebuild | None, basis: Basis, now: datetime) -> tuple[Report, Beginning | None]:
    if not os.path.lexists(folder / JOURNAL_NAME):
        return _no_journal(folder), None
    busy = in_use(folder)
    found = examine_lines(read_regular(folder / JOURNAL_NAME))
    findings = list(found.findings)
    has_seal = os.path.lexists(folder / SEAL_NAME)
    seal, about_seal = examine_seal(_seal_bytes(folder) if has_seal else None, found, basis=basis)
    set_aside = sum(path.stat().st_size for path in torn_files(folder).values())
    findings += torn_findings(found, set_aside_bytes=set_aside, sealed=has_seal, in_use=busy)
    findings += about_seal
    signed, about_checkpoints = examine_checkpoints(folder, found, seal=seal, basis=basis)
    findings += about_checkpoints
    findings += examine_register(folder, found, seal=seal, basis=basis)
    findings += examine_witness(folder, found, recorder=seal.public_key if seal else signed, basis=basis)
    if busy:
        findings.append(note("in-use", JOURNAL_NAME, "The session is being written by a running assistant."))
    if not _skips_waits(found.events):
        findings += _future(found.last_utc, now)
    findings += examine_files(folder, found)
    erased = erased_sound(folder)
    findings += examine_audio(folder, found, sealed=has_seal, erased=erased)
    findings += examine_review(folder, found, basis=basis, sealed_with=seal.public_key if seal else "")
    findings += examine_entries(found.events) if found.gapless else ()
    findings += _rebuilding(found, rebuild)
    report = Report(
        folder=str(folder),
        lines=len(found.hashes),
        utterances=len(named_audio(found).keys() - erased),
        status=status_of(folder),
        sealed_by=seal.fingerprint if seal else "",
        findings=tuple(findings),
        signer=signer_of(seal.public_key if seal else signed, basis) if seal or signed else "",
    )
    read = Beginning(entries=tuple(found.entries), lines=len(found.hashes), torn_bytes=len(found.torn))
    return report, read if found.believed else None


def _skips_waits(events: Sequence[tuple[int, Event]]) -> bool:
    """Whether it is a rehearsal or a practice: their clock runs ahead, so that nobody waits for no joint."""
    return any(isinstance(event, SessionOpened) and PLAYED in event.settings for _, event in events[:1])


def _future(last: datetime | None, now: datetime) -> Iterator[Finding]:
    if last is not None and last - now > _AHEAD:
        message = f"Its last line is dated {utc_text(last)}, later than this machine's clock: one of the two is wrong."
        yield note("future", JOURNAL_NAME, message)


def _seal_bytes(folder: Path) -> bytes:
    try:
        return read_regular(folder / SEAL_NAME)
    except BadSession:  # a link or a folder: not a seal, and found again among the files
        return b""


def _no_journal(folder: Path) -> Report:
    left = [name for name in (JOINT_NAME, SEAL_NAME) if os.path.lexists(folder / name)]
    if not left:
        raise BadSession(
            f"{folder} is not a session folder: it holds no {JOURNAL_NAME}", remedy="name a session folder"
        )
    if SEAL_NAME in left:
        finding = error("journal-missing", JOURNAL_NAME, "The journal is gone, its seal is still there.", "tampering")
    else:
        message = (
            "There is no journal: the session stopped while its folder was being made, or the journal was removed."
        )
        finding = error("journal-missing", JOURNAL_NAME, message, "crash")
    return Report(folder=str(folder), lines=0, utterances=0, status="empty", sealed_by="", findings=(finding,))


def _rebuilding(found: Lines[Event], rebuild: Rebuild | None) -> Iterator[Finding]:
    if rebuild is None:
        yield note("rebuild-not-checked", JOURNAL_NAME, "Whether the state can be rebuilt was not checked.")
        return
    if not found.gapless:
        yield note("rebuild-not-checked", JOURNAL_NAME, "The state was not rebuilt: not every line can be read.")
        return
    events = [event for _, event in found.events]
    try:
        first, second = rebuild(events), rebuild([_written_and_read(event) for event in events])
    except Exception as failed:  # whatever the fold raises over a foreign journal is the finding
        message = f"The state cannot be rebuilt from the journal: {type(failed).__name__}: {str(failed)[:200]}"
        yield error("rebuild-failed", JOURNAL_NAME, message, "none")
        return
    if first != second:
        message = "Rebuilding the state twice gives two different states. This is a fault of the assistant: report it."
        yield error("rebuild-differs", JOURNAL_NAME, message, "none")


def _written_and_read(event: Event) -> Event:
    kind, version, payload = EVENT_FORMAT.encode(event)
    return EVENT_FORMAT.decode(kind, version, payload, where="the second reading")
