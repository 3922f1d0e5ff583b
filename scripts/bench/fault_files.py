"""Files of every kind that is read, changed at random: each is read or refused as one of our own faults, never else.

A case is made by (seed, kind, number) alone, so any of them can be made again.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import soundfile

from assistant.bolting.planning.plan import plan, plan_document
from assistant.config.joint_file import parse_joint
from assistant.config.procedure_file import parse_procedure
from assistant.config.settings import find_settings
from assistant.devices.audio_file import read_audio
from assistant.devices.calibration_file import read_calibration
from assistant.errors import AssistantError
from assistant.events.review import JointAccepted, ReviewBegun
from assistant.journal.approval import approval_file, approval_of, approve
from assistant.journal.audio import decode_flac, encode_flac
from assistant.journal.beginning import honest_beginning
from assistant.journal.chain import DamagedLine, read_line
from assistant.journal.checkpoints import parse_checkpoints
from assistant.journal.clock import utc_now
from assistant.journal.disk import Disk
from assistant.journal.keyring import TRUSTED_NAME, read_basis, read_trusted, trust_key
from assistant.journal.person_key import make_person_key
from assistant.journal.reading import load_journal, read_session
from assistant.journal.register import REGISTER_NAME, read_register
from assistant.journal.review import append_review, read_review
from assistant.journal.seal import installation_key, read_seal
from assistant.replay.salvage import salvage
from tests.journal.whole_course import recorded

ROOT = Path(__file__).resolve().parents[2]
DAY = date(2026, 11, 25)
ODD = [
    b"\0",
    b"\x1b[2J",
    b"\xff",
    b"\xed\xa0\x80",
    "\u202e".encode(),
    b"\n",
    b'"',
    b"[" * 40,
    b"{" * 40,
    b"9" * 400,
    b"1e400",
]
ODD += [
    b"nan",
    b"-1",
    b"inf",
    b"0",
    b"true",
    b"null",
    b"'",
    b"\\u0000",
    b"\\ud800",
    b"=",
    b"#",
    b"..",
    b"/",
    "٣".encode(),
    b"1_0",
]


@dataclass(frozen=True)
class Kind:
    """A kind of file.

    Args:
        samples: sound ones.
        read: reads one; may raise AssistantError, nothing else.
        share: of the cases.
        text: pieces are exchanged where words end, too.
    """

    name: str
    samples: list[bytes]
    read: Callable[[bytes], object]
    share: float
    text: bool = True


def changed(raw: bytes, chance: random.Random, *, text: bool) -> bytes:
    """A sound file, changed in one to four places."""
    found = bytearray(raw)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 4))):
        at = chance.randrange(len(found) + 1)
        how = chance.random()
        if how < 0.2 and found:
            at = chance.randrange(len(found))
            found[at] ^= 1 << chance.randrange(8)
        elif how < 0.4:
            del found[at : at + chance.choice((1, 2, 8, 40, 400))]
        elif how < 0.7:
            found[at : at + chance.choice((0, 0, 1, 4, 12))] = chance.choice(ODD)
        elif how < 0.85:
            piece = found[at : at + chance.choice((4, 20, 100))]
            to = chance.randrange(len(found) + 1)
            found[to:to] = piece
        elif how < 0.95 and text:
            found = _figure_changed(found, chance)
        else:
            del found[at:]
    return bytes(found)


def _figure_changed(raw: bytearray, chance: random.Random) -> bytearray:
    """One run of figures becomes another."""
    places = [at for at, byte in enumerate(raw) if 48 <= byte <= 57]
    if not places:
        return raw
    at = end = chance.choice(places)
    while end < len(raw) and 48 <= raw[end] <= 57:
        end += 1
    other = chance.choice((b"0", b"-1", b"99999999999999999999", b"0.0000001", b"1e9", b"", b"00", b"2.5", b"9" * 5000))
    return raw[:at] + other + raw[end:]


class Kinds:
    """All kinds, with sound files made in a folder of its own."""

    def __init__(self, base: Path) -> None:
        self.base = base
        base.mkdir(parents=True, exist_ok=True)
        installation_key(base / "keys")
        (base / "sessions").mkdir(exist_ok=True)
        self.folder = recorded(base, Disk(), lambda _count: None)
        joints = [path.read_bytes() for path in sorted((ROOT / "demo_joints").glob("*.toml"))]
        procedures = [path.read_bytes() for path in sorted((ROOT / "assistant/config/procedures").glob("*.toml"))]
        journal = (self.folder / "journal.jsonl").read_bytes()
        lines = journal.splitlines()
        for path in sorted((ROOT / "tests/journal/records").glob("*.jsonl")):
            lines += path.read_bytes().splitlines()
        sound = np.random.default_rng(1).integers(-2000, 2000, 2000, dtype=np.int16)
        sounds = []
        for form, subtype in (("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("OGG", "VORBIS")):
            made = io.BytesIO()
            soundfile.write(made, sound, 16_000, format=form, subtype=subtype)
            sounds.append(made.getvalue())
        settings = (
            b'voice = "gmw/en"\nrate_wpm = 155\nvolume = 0.5\ntalk = "brief"\nheadset = true\necho_tail_ms = 200\n'
        )
        trusted = self._trusted()
        self._approve(joints[0])
        self.all = [
            Kind("line", lines, self._line, 0.34),
            Kind("journal", [journal], self._journal, 0.06),
            Kind("session", [journal], self._session, 0.01),
            Kind("checkpoints", [(self.folder / "checkpoints.jsonl").read_bytes()], self._checkpoints, 0.1),
            Kind("register", [(base / "keys" / REGISTER_NAME).read_bytes()], self._register, 0.08),
            Kind("seal", [(self.folder / "seal.json").read_bytes()], lambda raw: read_seal(raw, name="seal"), 0.14),
            Kind("review", [self._review_of(self.folder)], self._review, 0.04),
            Kind("trusted keys", [trusted], self._keys, 0.04),
            Kind("approval", [self.approval], self._approval, 0.05),
            Kind("joint", joints, self._joint, 0.03),
            Kind("procedure", procedures, lambda raw: parse_procedure(raw, source="procedure"), 0.03),
            Kind("settings", [settings], self._settings, 0.04),
            Kind("calibration", [(ROOT / "models/calibration.json").read_bytes()], self._calibration, 0.01),
            Kind("recording", [encode_flac(sound)], lambda raw: decode_flac(raw, name="recording"), 0.02, text=False),
            Kind("sound", sounds, self._sound, 0.01, text=False),
        ]

    def case(self, kind: Kind, seed: int, number: int) -> bytes:
        """The bytes of one case."""
        chance = random.Random(f"{seed} {kind.name} {number}")
        return changed(chance.choice(kind.samples), chance, text=kind.text)

    def _put(self, name: str, raw: bytes) -> Path:
        path = self.base / "case" / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(raw)
        return path

    def _line(self, raw: bytes) -> object:
        try:
            return read_line(raw)
        except DamagedLine as damage:
            return str(damage)

    def _journal(self, raw: bytes) -> object:
        return load_journal(raw, name="journal")

    def _session(self, raw: bytes) -> object:
        path = self._put("journal.jsonl", raw)
        with contextlib.suppress(AssistantError):
            honest_beginning(path.parent)
        return salvage(path.parent)

    def _checkpoints(self, raw: bytes) -> object:
        return parse_checkpoints(raw, name="checkpoints")

    def _register(self, raw: bytes) -> object:
        return read_register(self._put(REGISTER_NAME, raw).parent)

    def _review(self, raw: bytes) -> object:
        return read_review(self._put("review.jsonl", raw).parent)

    def _review_of(self, folder: Path) -> bytes:
        last = read_session(folder).entries[-1]
        seen = {
            "session_lines": last.seq,
            "session_last_hash": last.sha256,
            "as_recorded": True,
            "product": "assistant",
        }
        events = [ReviewBegun(by="Kim Lead", **seen), JointAccepted(by="Kim Lead", reason="seen")]
        append_review(folder, events, key=installation_key(self.base / "keys"), product="assistant 0.2.0")
        return (folder / "review.jsonl").read_bytes()

    def _keys(self, raw: bytes) -> object:
        return read_trusted(self._put(TRUSTED_NAME, raw).parent)

    def _trusted(self) -> bytes:
        trust_key(self.base / "keys", "ab" * 32, name="gallery tablet", by="the lead")
        return (self.base / "keys" / TRUSTED_NAME).read_bytes()

    def _approve(self, joint: bytes) -> None:
        person = make_person_key(self.base / "kim.json", "Kim Lead", "four words never together")
        self.joint, self.basis = self.base / "joint.toml", read_basis(self.base / "keys")
        self.document = plan_document(plan(parse_joint(joint, source="joint"), today=DAY))
        self.data = joint
        arguments = {"revision": "1", "person": person, "product": "assistant 0.2.0", "utc": utc_now()}
        approve(self.joint, joint, self.document, **arguments)
        self.approval = approval_file(self.joint).read_bytes()

    def _approval(self, raw: bytes) -> object:
        approval_file(self.joint).write_bytes(raw)
        return approval_of(self.joint, self.data, self.document, self.basis)

    def _joint(self, raw: bytes) -> object:
        return json.dumps(plan_document(plan(parse_joint(raw, source="joint"), today=DAY)))

    def _settings(self, raw: bytes) -> object:
        return find_settings(self._put("settings.toml", raw), {})

    def _calibration(self, raw: bytes) -> object:
        return read_calibration(self._put("calibration.json", raw))

    def _sound(self, raw: bytes) -> object:
        return read_audio(self._put("sound", raw))


def attempt(kind: Kind, raw: bytes) -> str:
    """What came of it: "read", "refused", or what escaped, in words."""
    try:
        kind.read(raw)
    except AssistantError as refused:
        long = len(refused.message) > 5000
        return f"a message of {len(refused.message)} letters" if long else "refused"
    except BaseException as escaped:
        return f"{type(escaped).__name__}: {str(escaped)[:200]}"
    return "read"
