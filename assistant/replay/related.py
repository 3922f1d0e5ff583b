"""Sessions on one joint beside each other: which follow which, what a review still wants, how readings changed."""

from __future__ import annotations

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
from assistant.events.review import JointAccepted, RedoOrdered, ReviewSigned
from assistant.journal.beginning import honest_beginning
from assistant.journal.reading import ReviewLine
from assistant.journal.review import Reviewed, read_review
from assistant.journal.sessions import session_folders, slug_in
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
        passes: as recorded.
    """

    name: str
    opened: datetime | None
    closed: datetime | None
    follows_up: str
    passes: tuple[PassDone, ...]


def other(name: str, facts: Facts) -> Other:
    """A session by its reading."""
    asked = facts.opened.settings.get(FOLLOWS_UP) if facts.opened is not None else None
    closed = facts.first(SessionClosed)
    begun = facts.first(SessionOpened)
    return Other(
        name=name,
        opened=begun.utc if begun is not None else None,
        closed=closed.utc if closed is not None else None,
        follows_up=asked if isinstance(asked, str) else "",
        passes=passes_done(facts),
    )


def others_beside(folder: Path) -> tuple[Other, ...]:
    """The other sessions on the same joint beside this one, oldest first; unreadable ones are left out."""
    slug = slug_in(folder.resolve().name)
    if slug is None:
        return ()
    return tuple(_on_joint(folder.resolve().parent, slug, but=folder.resolve().name))


def _on_joint(sessions: Path, slug: str, *, but: str = "") -> Iterable[Other]:
    for folder in session_folders(sessions, slug=slug):
        if folder.name != but:
            try:
                yield other(folder.name, read_facts(honest_beginning(folder).entries))
            except BadSession:
                continue


# ------------------------------------------------------------------------------------------------ what is still wanted
@dataclass(frozen=True, slots=True, kw_only=True)
class Redo:
    """A bolt that a review wants done again, and nobody has yet."""

    session: str
    group: str
    bolt: int
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the reviews of a joint's sessions still want.

    Args:
        redos: in the order in which they were ordered.
        troubles: reviews that cannot be read, in words: what they want is not known.
    """

    redos: tuple[Redo, ...] = ()
    troubles: tuple[str, ...] = ()

    @property
    def bolts(self) -> dict[str, tuple[int, ...]]:
        """Group -> bolts, each once."""
        found: dict[str, dict[int, None]] = {}
        for redo in self.redos:
            found.setdefault(redo.group, {})[redo.bolt] = None
        return {group: tuple(sorted(bolts)) for group, bolts in found.items()}


def wanted(sessions: Path, *, slug: str) -> Wanted:
    """What reviews of sessions on a joint want done again and no later session has done.

    Args:
        sessions: folder of all sessions; may be missing.
        slug: of the joint's name, as `journal.sessions.slug_of` makes it.
    """
    redos: list[Redo] = []
    troubles: list[str] = []
    others: tuple[Other, ...] | None = None
    for folder in session_folders(sessions):
        if slug_in(folder.name) != slug:
            continue
        try:
            review = read_review(folder)
        except BadSession as bad:
            troubles.append(bad.message)
            continue
        for entry in in_force(review):
            others = tuple(_on_joint(sessions, slug)) if others is None else others
            event = entry.event
            if isinstance(event, RedoOrdered) and not answered_by((event.group, event.bolt), entry.utc, others):
                told = Redo(session=folder.name, group=event.group, bolt=event.bolt, by=event.by, reason=event.reason)
                redos.append(told)
    return Wanted(redos=tuple(redos), troubles=tuple(troubles))


def in_force(review: Reviewed | None) -> tuple[ReviewLine, ...]:
    """Redo rulings that no later acceptance has lifted: one that was signed."""
    found: list[ReviewLine] = []
    for entry in review.entries if review is not None else ():
        if isinstance(entry.event, JointAccepted) and review is not None:
            found = [] if signed_for(entry, review.entries) else found
        elif isinstance(entry.event, RedoOrdered):
            found.append(entry)
    return tuple(found)


def signed_for(ruling: ReviewLine, entries: Iterable[ReviewLine]) -> bool:
    """Whether whoever made the ruling signed it later on with a key: a name alone may be typed by anybody."""
    later = (each.event for each in entries if each.seq > ruling.seq)
    return any(isinstance(e, ReviewSigned) and e.by == ruling.event.by and bool(e.public_key) for e in later)


def answered_by(bolt: Bolt, ordered: datetime, others: Iterable[Other]) -> str:
    """Name of the first session, begun after the ruling and closed, in which the bolt got its last pass; else ''."""
    for each in others:
        later = each.opened is not None and each.opened >= ordered
        if later and each.closed is not None and bolt in last_torques(each.passes):
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
                readings=compared(mine, last_torques(each.passes)),
            )
        )
    return tuple(found)


def with_results(asked: Recheck, beside: Iterable[Related]) -> Recheck:
    """The re-check with the closed sessions on this joint that fall into its time."""
    if asked.earliest_utc is None:
        return asked
    results = []
    for each in beside:
        opened, later = each.opened_utc, each.relation in ("later session", "followed up by")
        inside = opened is not None and opened >= asked.earliest_utc and opened <= (asked.latest_utc or opened)
        if later and inside and each.closed_utc is not None:
            lost = min((c.change_percent for c in each.readings), default=None)
            change = (
                "no bolt in both" if lost is None else f"{len(each.readings)} bolts, largest loss {min(lost, 0):g} %"
            )
            results.append(f"{each.folder}: {change}")
    return asked.model_copy(update={"results": tuple(results)})
