"""What verification found, as plain records: how grave, of what kind, where, and in plain words."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

Severity = Literal["note", "warning", "error"]
# What it looks like. crash: the program or the machine stopped, and nothing that was acted on is gone; damage: bytes
# differ in a way that a bad disk or copy makes as well as a hand; tampering: whole, well-formed, and not what was
# recorded, which takes a hand; none: neither.
Sign = Literal["none", "crash", "damage", "tampering"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that verification has to say.

    Args:
        severity: a note is no fault; warnings and errors make the answer no.
        code: stable kebab-case.
        where: "journal.jsonl line 7", "audio/0003.flac", "seal.json" ...
        message: one or two sentences, no jargon.
        sign: what it looks like.
    """

    severity: Severity
    code: str
    where: str
    message: str
    sign: Sign = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """Whether a session can be trusted on this machine: the one answer that every verdict builds on.

    Args:
        trusted: nothing contradicts what was signed, and who signed is known here. A stop alone (a torn line, a seal
            still to be made) is no reason for mistrust; whether the joint is complete is another question.
        reasons: why not, gravest first, one or two sentences each; empty when trusted.
        signer: name of the key that signed the session's end so far, as this machine knows it; the fingerprint of one
            that it does not know; "" when nobody has signed.
        remarks: what a reader should know all the same: lines that nobody had signed when the machine stopped, a
            review signed by the machine that recorded, a clock that was set.
    """

    trusted: bool
    reasons: tuple[str, ...] = ()
    signer: str = ""
    remarks: tuple[str, ...] = ()


REMARKS = frozenset({"unprotected", "not-checkpointed", "review-same-key", "clock-set", "future", "sound-erased"})
"""Codes of the notes that go into `Trust.remarks`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """All that verification found in one session folder.

    Args:
        folder: as given.
        lines: whole lines in the journal.
        utterances: recordings that the journal names and that were not erased.
        status: "empty", "unfinished", "closed" or "sealed".
        sealed_by: fingerprint of the key when the signature fits, else "".
        findings: in the order of the journal, then files.
        signer: as in `Trust`.
    """

    folder: str
    lines: int
    utterances: int
    status: str
    sealed_by: str
    findings: tuple[Finding, ...]
    signer: str = ""

    @property
    def trust(self) -> Trust:
        """Whether the session can be trusted here, and if not, why."""
        faults = [each for each in self.findings if each.severity != "note" and each.sign != "crash"]
        faults.sort(key=lambda each: each.severity == "warning")
        remarks = tuple(each.message for each in self.findings if each.severity == "note" and each.code in REMARKS)
        return Trust(
            trusted=not faults,
            reasons=tuple(f"{each.where}: {each.message}" for each in faults),
            signer=self.signer,
            remarks=remarks,
        )

    @property
    def good(self) -> bool:
        """Whether nothing worse than a note was found."""
        return all(finding.severity == "note" for finding in self.findings)

    @property
    def signs(self) -> tuple[Sign, ...]:
        """Signs among the warnings and errors, gravest first."""
        seen = {finding.sign for finding in self.findings if finding.severity != "note"}
        order: tuple[Sign, ...] = ("tampering", "damage", "crash")
        return tuple(sign for sign in order if sign in seen)

    def as_json(self) -> dict[str, Any]:
        """As `assistant verify --json` prints it."""
        return {
            "session": self.folder,
            "good": self.good,
            "status": self.status,
            "lines": self.lines,
            "utterances": self.utterances,
            "sealed_by": self.sealed_by,
            "signs": list(self.signs),
            "trust": asdict(self.trust),
            "findings": [asdict(finding) for finding in self.findings],
        }


def note(code: str, where: str, message: str, sign: Sign = "none") -> Finding:
    """Something worth knowing that is no fault."""
    return Finding("note", code, where, message, sign)


def warning(code: str, where: str, message: str, sign: Sign) -> Finding:
    """Something that a person has to look at."""
    return Finding("warning", code, where, message, sign)


def error(code: str, where: str, message: str, sign: Sign) -> Finding:
    """The record is not what was recorded, or cannot be read."""
    return Finding("error", code, where, message, sign)
