"""A session heard again by today's listeners: for `relisten`, and for `replay --relisten`."""

from __future__ import annotations

import contextlib
import json
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from assistant.cli import house
from assistant.config.settings import read_settings
from assistant.events import UtteranceHeard
from assistant.journal.beginning import Beginning, honest_beginning
from assistant.replay.relisten import Again, Listen, relisten
from assistant.report.printable import printable


def hear_again(session: Path, *, everything: bool = False, as_json: bool = False) -> int:
    """Hear a session again and print what differs.

    Args:
        everything: print also what is heard as before.

    Returns:
        0, or 1 where a recorded entry is surely heard as something else. Raises BadSession, ModelMissing.
    """
    beginning = honest_beginning(session)
    if beginning.trouble:
        print(f"only up to line {len(beginning.entries)}: {printable(beginning.trouble)}", file=sys.stderr)
    with _listener(beginning) as (listen, names):
        found = []
        for each in relisten(session, beginning.entries, listen):
            found.append(each)
            if not as_json and (everything or each.verdict not in ("same", "typed", "not kept")):
                print(line(each))
            if sys.stderr.isatty():
                print(f"\r{len(found)} utterances", end="", file=sys.stderr, flush=True)
    if sys.stderr.isatty():
        print(file=sys.stderr)
    if as_json:
        print(json.dumps(document(session, names, found), indent=2, ensure_ascii=False))
    else:
        print(summary(found))
    return 1 if any(each.grave for each in found) else 0


@contextlib.contextmanager
def _listener(beginning: Beginning) -> Iterator[tuple[Listen, tuple[str, ...]]]:
    """All listeners that are there; none are loaded where there is nothing to hear."""
    sounding = (e.event for e in beginning.entries if isinstance(e.event, UtteranceHeard))
    if not any(event.audio_sha256 is not None for event in sounding):
        yield _nothing, ()
        return
    with contextlib.closing(house.Parts(read_settings())) as parts:
        hearing = parts.hearing()
        for note in parts.start_lines():
            print(note, file=sys.stderr)
        yield (lambda samples, grammar: hearing.listen(samples, grammar).heard), hearing.names


def _nothing(_samples: object, _grammar: object) -> Any:
    raise AssertionError("there is no sound to listen to")


def line(each: Again) -> str:
    """One utterance in a line."""
    mark = "!" if each.grave else " "
    rest = f"  entry {', '.join(map(str, each.entries))}" if each.entries else ""
    then = f"{each.recorded or '(nothing)'} [{each.decision}{_sure(each.probability)}]"
    now = (
        each.why
        if each.verdict == "no sound"
        else f"{each.now or '(nothing)'} [{each.decision_now}{_sure(each.probability_now)}]"
    )
    return printable(f"{mark} {each.utterance}  line {each.line}: {each.verdict}: was {then}, now {now}{rest}")


def _sure(probability: float | None) -> str:
    return "" if probability is None else f" {probability:.3f}"


def summary(found: list[Again]) -> str:
    """How many were heard as what."""
    counts = Counter(each.verdict for each in found)
    told = ", ".join(f"{count} {verdict}" for verdict, count in counts.most_common()) or "no utterances"
    grave = sum(each.grave for each in found)
    return f"{told}; {grave} recorded entries surely heard as something else"


def document(session: Path, names: tuple[str, ...], found: list[Again]) -> dict[str, Any]:
    """As `--json` prints it."""
    return {
        "session": str(session),
        "listeners": list(names),
        "summary": dict(Counter(each.verdict for each in found)),
        "grave": [each.utterance for each in found if each.grave],
        "utterances": [{**asdict(each), "utc": each.utc.isoformat(), "grave": each.grave} for each in found],
    }
