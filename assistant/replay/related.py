"""Sessions on one joint beside each other: which follow which, which did what a review wanted, how readings changed."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.errors import BadSession
from assistant.events import (
    Measured,
    SessionClosed,
    SessionOpened,
)
from assistant.events.review import ReviewSigned
from assistant.journal.beginning import Beginning, honest_beginning
from assistant.journal.disk import read_regular
from assistant.journal.keyring import Basis
from assistant.journal.reading import ReviewLine
from assistant.journal.seal import read_seal, signature_fits
from assistant.journal.sessions import SEAL_NAME, session_folders, slug_in
from assistant.replay.facts import Facts, read_facts
from assistant.replay.record_fields import Compared, Recheck, Related
from assistant.replay.record_steps import converted, passes_done
from assistant.replay.record_work import PassDone, Torque

FOLLOWS_UP = "follows_up"
"""Key in `SessionOpened.settings`: name of the session folder whose review called for this one."""
Bolt = tuple[str, int]
"""Group and number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """A session as seen from another one on the same joint.

    Args:
        name: of its folder.
        follows_up: folder of the session whose review called for it; "" for none.
        how: "rehearsal" or "practice" where nobody worked on a real joint, else "".
        passes: as recorded.
        believed: it is as it was sealed, and this machine knows the key.
    """

    name: str
    opened: datetime | None
    closed: datetime | None
    follows_up: str
    how: str
    passes: tuple[PassDone, ...]
    believed: bool


def other(name: str, facts: Facts, *, believed: bool = True) -> Other:
    """A session by its reading."""
    asked = facts.opened.settings.get(FOLLOWS_UP) if facts.opened is not None else None
    closed = facts.first(SessionClosed)
    begun = facts.first(SessionOpened)
    return Other(
        name=name,
        opened=begun.utc if begun is not None else None,
        closed=closed.utc if closed is not None else None,
        follows_up=asked if isinstance(asked, str) else "",
        how=facts.played,
        passes=passes_done(facts),
        believed=believed,
    )


def others_beside(folder: Path, basis: Basis) -> tuple[Other, ...]:
    """The other sessions on the same joint beside this one, oldest first; unreadable ones are left out.

    Args:
        basis: the keys that count as known.
    """
    here = folder.resolve()
    slug = slug_in(here.name)
    beside = session_folders(here.parent, slug=slug) if slug is not None else []
    found = []
    for each in beside:
        if each.name != here.name:
            with contextlib.suppress(BadSession):
                beginning = honest_beginning(each)
                believed = _as_sealed(each, beginning, basis)
                found.append(other(each.name, read_facts(beginning.entries), believed=believed))
    return tuple(found)


def _as_sealed(folder: Path, beginning: Beginning, basis: Basis) -> bool:
    """Whether the lines are those that were sealed, with a key that is known and in force."""
    try:
        seal = read_seal(read_regular(folder / SEAL_NAME), name=SEAL_NAME)
    except BadSession:
        return False
    known, entries = basis.key(seal.public_key), beginning.entries
    whole = (
        bool(entries) and not beginning.trouble and (seal.count, seal.last_hash) == (len(entries), entries[-1].sha256)
    )
    return whole and known is not None and not known.revoked and signature_fits(seal)


def signed_for(ruling: ReviewLine, entries: Iterable[ReviewLine]) -> bool:
    """Whether whoever made the ruling signed it later on with a key: a name alone may be typed by anybody."""
    later = (each.event for each in entries if each.seq > ruling.seq)
    return any(isinstance(e, ReviewSigned) and e.by == ruling.event.by and bool(e.public_key) for e in later)


def answered_by(bolt: Bolt, ordered: datetime, others: Iterable[Other]) -> str:
    """Name of the first session, begun after the ruling and sealed, in which the bolt got its last pass; else ''."""
    for each in others:
        later = each.opened is not None and each.opened >= ordered
        if later and each.believed and each.closed is not None and bolt in last_torques(each.passes):
            return each.name
    return ""


# ----------------------------------------------------------------------------------------------- comparing readings
def last_torques(passes: Iterable[PassDone]) -> dict[Bolt, Torque]:
    """Each bolt's last torque at the full value of its group, on the wrench's scale; a click counts at its setting.

    Of a group whose target is not reached by torque, its last reading by that method.
    """
    full: dict[str, Torque] = {}
    torque: dict[str, bool] = {}
    for each in passes:
        if each.setting is None:
            continue
        first = each.group not in full or (torque[each.group] and bool(each.measures))
        if first or (torque[each.group] == (not each.measures) and each.setting.value >= full[each.group].value):
            full[each.group], torque[each.group] = each.setting, not each.measures
    found: dict[Bolt, Torque] = {}
    for each in passes:
        for bolt in each.bolts:
            if bolt.on_scale is not None and bolt.status != "open" and each.setting == full[each.group]:
                found[each.group, bolt.bolt] = bolt.on_scale
    return found


def compared(here: Mapping[Bolt, Torque], there: Mapping[Bolt, Torque]) -> tuple[Compared, ...]:
    """Bolts that have a last torque in both, with the change in percent."""
    found = []
    for (group, bolt), torque in here.items():
        again = there.get((group, bolt))
        same = None if again is None else converted(Measured(again.value, again.unit), torque.unit)
        if again is not None and same is not None and torque.value > 0:
            change = round(float(same.value / torque.value - 1) * 100, 1)
            found.append(Compared(group=group, bolt=bolt, here=torque, there=again, change_percent=change))
    return tuple(found)


def related(me: Other, others: Iterable[Other]) -> tuple[Related, ...]:
    """How the other sessions on the joint stand to this one."""
    mine = last_torques(me.passes)
    found = []
    for each in others:
        relation = (
            "followed up by"
            if each.follows_up == me.name
            else "follows up"
            if me.follows_up == each.name
            else "later session"
            if each.opened is not None and me.opened is not None and each.opened > me.opened
            else "earlier session"
        )
        found.append(
            Related(
                folder=each.name,
                relation=relation,  # type: ignore[arg-type]
                opened_utc=each.opened,
                closed_utc=each.closed,
                believed=each.believed,
                readings=compared(mine, last_torques(each.passes)),
            )
        )
    return tuple(found)


def with_results(asked: Recheck, beside: Iterable[Related]) -> Recheck:
    """The re-check with the sealed sessions on this joint that fall into its time."""
    if asked.earliest_utc is None:
        return asked
    results = []
    for each in beside:
        opened, later = each.opened_utc, each.relation in ("later session", "followed up by")
        inside = opened is not None and opened >= asked.earliest_utc and opened <= (asked.latest_utc or opened)
        if later and inside and each.believed and each.closed_utc is not None:
            lost = min((c.change_percent for c in each.readings), default=None)
            change = (
                "no bolt in both" if lost is None else f"{len(each.readings)} bolts, largest loss {min(lost, 0):g} %"
            )
            results.append(f"{each.folder}: {change}")
    return asked.model_copy(update={"results": tuple(results)})
