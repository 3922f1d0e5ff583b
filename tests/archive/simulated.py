"""Sessions as rows without sound, for tests: what `tables.gathered` would make of simple joints."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from assistant.archive.tables import Gathered

START = datetime(2026, 1, 5, 8, 0)


def session(number: int, *, lines: int = 10, how: str = "", verdict: str = "complete", offset: float = 0.0) -> Gathered:
    """One session of eight bolts; `offset` in percent is added to each reading."""
    name = hashlib.sha256(str(number).encode()).hexdigest()
    opened = START + timedelta(hours=7 * number)
    own = {"session": name}
    sessions = {
        "content": f"{name[:8]}-{lines}",
        "lines": lines,
        "path": f"/nowhere/{number}",
        "joint": f"Joint {number % 7}",
        "tag": f"NS-{number % 7}",
        "place": f"Site {number % 2}, bay {number}",
        "kind": ("gasketed flange", "machine base")[number % 2],
        "verdict": verdict,
        "words": verdict,
        "how": how,
        "opened": str(opened),
        "closed": str(opened + timedelta(hours=1)),
        "signer": "this machine",
        "product": "assistant",
        "listeners": "constrained, vosk",
        "bolts": 8,
        "sound_seconds": 60.0,
        "models": "0123456789",
        "microphone": "",
        "last": f"{name[:8]}-{lines}-last",
    }
    readings = [
        {
            "at_utc": str(opened + timedelta(minutes=bolt)),
            "group_name": "bolts",
            "bolt": bolt,
            "pass_number": 1,
            "round": 1,
            "phase": "tighten",
            "pass_kind": "pattern",
            "status": "done",
            "how": "reading spoken",
            "setting_nm": 100.0,
            "value_nm": 100.0 * (1 + offset / 100) + ((number * 31 + bolt * 17) % 7 - 3) * 0.2,
            "movement": "",
            "asked": 0,
            "attempts": 1,
            "probability": 0.99,
            "wrench": f"NS-TW-{number % 3}",
            "seconds": 20.0,
        }
        for bolt in range(1, 9)
    ]
    tools = [{"kind": "dial wrench", "name": "w", "serial": f"NS-TW-{number % 3}", "calibration_due": "2026-03-01"}]
    if number % 4 == 0:  # a re-check at which bolt 3 moved
        readings += [
            each
            | {"phase": "re-check", "pass_kind": "circular", "how": "movement reported", "value_nm": None}
            | {"movement": "moved" if each["bolt"] == 3 else "held", "seconds": None, "setting_nm": None}
            for each in readings
        ]
    if number % 4 == 1:  # nothing moved in the second round
        around = {"phase": "seat", "pass_kind": "circular", "how": "movement reported", "value_nm": None}
        readings += [each | around | {"movement": "held", "round": 2, "seconds": None} for each in readings]
    utterances = [
        {
            "at_utc": each["at_utc"],
            "utterance": f"{at:04}",
            "state": "tightening",
            "decision": "ask" if at == 0 else "accept",
            "probability": 0.99,
            "snr_db": 10.0,
            "agreed": True,
            "seconds": 1.2,
            "kind": "value" if at < 5 else "command",
        }
        for at, each in enumerate(readings[:8])
    ]
    more = {
        "due": [{"what": "cold re-check", "from_utc": str(opened), "until_utc": str(opened + timedelta(days=number))}],
        "decisions": [{"kind": "kept", "text": f"bolt {n} was kept", "bolt": n} for n in (1, 2)],
        "happenings": [{"kind": "skipped", "at_utc": str(opened), "group_name": "bolts", "bolt": 4}],
        "people": [{"name": "Toni Vale", "role": "technician"}],
    }
    rows = {table: more[table] if number % 6 == 0 else [] for table in more}
    return Gathered(
        session=name,
        content=str(sessions["content"]),
        lines=lines,
        site=f"Site {number % 2}",
        month=f"{opened:%Y-%m}",
        how=how,
        rows={
            "sessions": [own | sessions],
            "readings": [own | each for each in readings],
            "tools": [own | each for each in tools],
            "utterances": [own | each for each in utterances],
            **{table: [own | each for each in listed] for table, listed in rows.items()},
        },
        sound={},
        path=str(sessions["path"]),
        course=frozenset(f"{name[:8]}-{each}-last" for each in range(lines + 1)),
    )
