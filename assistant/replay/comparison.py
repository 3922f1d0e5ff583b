"""Two joint records side by side: first tightening against re-check, or two joints of one design. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from statistics import fmean
from typing import Literal

from assistant.events import Measured
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import last_rounds, name_of
from assistant.replay.record_recheck import measured_words
from assistant.replay.record_steps import converted
from assistant.replay.record_work import Bolt, Part, PassDone, Torque
from assistant.replay.related import last_torques
from assistant.replay.titles import clock, length_words


class Line(Part):
    """One fact of both sessions."""

    name: str
    first: str
    second: str
    same: bool


class BoltLine(Part):
    """One bolt in both sessions; torques on each wrench's own scale."""

    group: str
    bolt: int
    first: Torque | None
    second: Torque | None
    change_percent: float | None
    """Of the second from the first; None where one is missing or the units do not convert."""
    remark: str = ""


class PassLines(Part):
    """One pass in both sessions, or in one of them."""

    group: str
    first: str
    """What it is called in the first session; '' where it has none."""
    second: str
    bolts: tuple[BoltLine, ...]


class Summary(Part):
    """The last torques of all bolts in a few figures; changes in percent of the first session's."""

    in_both: int
    only_first: int
    only_second: int
    mean_change_percent: float | None
    largest_loss_percent: float | None
    """The most negative change; above 0 where no bolt lost anything."""
    largest_loss_at: str
    largest_gain_percent: float | None


class Comparison(Part):
    """Both sessions: facts, last torque of each bolt, and each pass."""

    format: Literal["comparison 1"] = "comparison 1"
    first: str
    """Session folder."""
    second: str
    languages: tuple[str, ...]
    """Of what is said in both sessions."""
    same_joint_file: bool
    facts: tuple[Line, ...]
    summary: Summary
    last: tuple[BoltLine, ...]
    """The last torque of each bolt at the full value of its group."""
    passes: tuple[PassLines, ...]


def compare(first: JointRecord, second: JointRecord) -> Comparison:
    """Set two records beside each other; bolts belong together by group name and number."""
    last = _last(first, second)
    digests = (first.session.joint_sha256, second.session.joint_sha256)
    return Comparison(
        first=first.session.folder,
        second=second.session.folder,
        languages=(first.session.language, second.session.language),
        same_joint_file=digests[0] == digests[1] != "",
        facts=tuple(_facts(first, second)),
        summary=_summary(last),
        last=last,
        passes=tuple(_passes(first, second)),
    )


def recheck_beside(record: JointRecord) -> Comparison:
    """The re-check of one session beside the first tightening in it; bolts that were only looked at say so.

    A re-check mostly reports whether each nut moved and reads no torque: then the bolt has no figure of it, and the
    remark says what it did. Where a torque was read, it stands beside the last one of the tightening.
    """
    first = record.model_copy(update={"passes": tuple(p for p in record.passes if p.phase != "re-check")})
    again = record.model_copy(update={"passes": tuple(p for p in record.passes if p.phase == "re-check")})
    here, there = last_torques(first.passes), last_torques(again.passes)
    moved = {(p.group, b.bolt): p.round for p in again.passes for b in p.bolts if b.movement == "moved"}
    seen = {(p.group, b.bolt): b for p in again.passes for b in p.bolts if b.status != "open"}
    last = tuple(
        _line(*bolt, here.get(bolt), there.get(bolt), _rechecked(bolt, moved, seen))
        for bolt in dict.fromkeys([*sorted(here), *sorted(seen)])
    )
    name = record.session.folder
    return Comparison(
        first=f"{name}: first tightening",
        second=f"{name}: re-check",
        languages=(record.session.language,),
        same_joint_file=True,
        facts=tuple(_recheck_facts(record)),
        summary=_summary(last),
        last=last,
        passes=(),
    )


def _rechecked(bolt: tuple[str, int], moved: dict[tuple[str, int], int], seen: dict[tuple[str, int], Bolt]) -> str:
    if bolt in moved:
        return f"moved in round {moved[bolt]}"
    return (seen[bolt].movement or "done") if bolt in seen else "not re-checked"


def _recheck_facts(record: JointRecord) -> Iterable[Line]:
    first = [p for p in record.passes if p.phase != "re-check" and p.last_utc is not None]
    ended = max((p.last_utc for p in first if p.last_utc), default=None)
    begun = min((r.begun_utc for r in record.recheck_results if r.begun_utc), default=None)
    between = "" if ended is None or begun is None else length_words((begun - ended).total_seconds())
    found = "; ".join(f"{r.group}: {r.words}" for r in record.recheck_results) or "no re-check was begun"
    told = (
        ("Verdict", record.verdict_words, ""),
        ("Last bolt, first re-checked bolt (UTC)", clock(ended) if ended else "", clock(begun) if begun else ""),
        ("Between them", "", between),
        ("Found", "", found),
    )
    for name, one, two in told:
        if one or two:
            yield Line(name=name, first=one, second=two, same=True)


def _facts(first: JointRecord, second: JointRecord) -> Iterable[Line]:
    for (name, one), (_, two) in zip(_told(first), _told(second), strict=True):
        if one or two:
            yield Line(name=name, first=one, second=two, same=one == two)


def _told(record: JointRecord) -> list[tuple[str, str]]:
    joint, session = record.joint, record.session
    rounds = [
        f"{name_of(p).split(', round')[0]}: {p.round}" + ("" if p.still else " (not still)")
        for p in last_rounds(record.passes)
        if p.goes_round and p.first_utc is not None
    ]
    measured = [f"{m.name} ({m.phase}): {measured_words(m)}" for m in record.measurements if m.value is not None]
    waits = [f"{w.name}: {length_words(w.waited_s)} ({w.state})" for w in record.waited if w.waited_s is not None]
    bolts = [bolt for each in record.passes for bolt in each.bolts]
    return [
        ("Joint", joint.name),
        ("Tag", joint.tag),
        ("Instruction", f"{joint.instruction}, revision {joint.revision}" if joint.instruction else ""),
        ("Joint file", session.joint_sha256[:16]),
        ("Verdict", record.verdict_words),
        ("State", session.state),
        ("Begun (UTC)", "" if session.opened_utc is None else clock(session.opened_utc)),
        ("Closed (UTC)", "" if session.closed_utc is None else clock(session.closed_utc)),
        ("Tools", "; ".join(f"{t.name} {t.serial}".strip() for t in record.tools if t.groups)),
        ("Threads", "; ".join(f"{g.name}: {g.condition}" for g in record.groups)),
        ("Rounds until still", "; ".join(rounds)),
        ("Waits", "; ".join(waits)),
        ("Measured", "; ".join(measured)),
        ("Bolts replaced, passes done over", str(len(record.done_over))),
        ("Kept outside window", str(sum(bolt.status == "kept outside window" for bolt in bolts))),
        ("Open bolts", str(sum(bolt.status == "open" for each in last_rounds(record.passes) for bolt in each.bolts))),
        ("Corrections", str(len(record.corrections))),
        ("Deviations", str(len(record.deviations))),
        ("Questions about bolts", str(sum(bolt.asked for bolt in bolts))),
    ]


def _last(first: JointRecord, second: JointRecord) -> tuple[BoltLine, ...]:
    here, there = last_torques(first.passes), last_torques(second.passes)
    return tuple(
        _line(group, bolt, here.get((group, bolt)), there.get((group, bolt)))
        for group, bolt in dict.fromkeys([*sorted(here), *sorted(there)])
    )


def _line(group: str, bolt: int, first: Torque | None, second: Torque | None, remark: str = "") -> BoltLine:
    same = None if first is None or second is None else converted(Measured(second.value, second.unit), first.unit)
    change = None
    if first is not None and same is not None and first.value > 0:
        change = round(float(same.value / first.value - 1) * 100, 1)
    return BoltLine(group=group, bolt=bolt, first=first, second=second, change_percent=change, remark=remark)


def _summary(last: tuple[BoltLine, ...]) -> Summary:
    both = [line for line in last if line.change_percent is not None]
    changes = [line.change_percent for line in both if line.change_percent is not None]
    worst = min(both, key=lambda line: line.change_percent or 0.0, default=None)
    return Summary(
        in_both=len(both),
        only_first=sum(line.second is None for line in last),
        only_second=sum(line.first is None for line in last),
        mean_change_percent=round(fmean(changes), 1) if changes else None,
        largest_loss_percent=min(changes, default=None),
        largest_loss_at="" if worst is None else f"{worst.group}, bolt {worst.bolt}",
        largest_gain_percent=max(changes, default=None),
    )


_Key = tuple[str, str, int, str, bool]


def _passes(first: JointRecord, second: JointRecord) -> Iterable[PassLines]:
    """Each pass that either has; a circular one by its last round. Snug passes hold no figures and are left out."""
    one, two = (
        {(p.group, p.kind, p.number, p.phase, p.after_wait): p for p in last_rounds(r.passes) if p.kind != "snug"}
        for r in (first, second)
    )
    for key in dict.fromkeys([*one, *two]):
        here, there = one.get(key), two.get(key)
        yield PassLines(
            group=key[0],
            first=name_of(here) if here is not None else "",
            second=name_of(there) if there is not None else "",
            bolts=tuple(_bolts(key, here, there)),
        )


def _bolts(key: _Key, here: PassDone | None, there: PassDone | None) -> Iterable[BoltLine]:
    one = {bolt.bolt: bolt for bolt in here.bolts} if here is not None else {}
    two = {bolt.bolt: bolt for bolt in there.bolts} if there is not None else {}
    for bolt in sorted({*one, *two}):
        a, b = one.get(bolt), two.get(bolt)
        remark = "; ".join(f"{which}: {word}" for which, word in (("first", _word(a)), ("second", _word(b))) if word)
        yield _line(key[0], bolt, a.on_scale if a else None, b.on_scale if b else None, remark)


def _word(bolt: Bolt | None) -> str:
    if bolt is None:
        return "not in this pass"
    if bolt.status == "open":
        return "open"
    words = [bolt.movement, "kept outside window" if bolt.status == "kept outside window" else ""]
    words.append("clicked" if bolt.how == "clicked at setting" else "")
    return ", ".join(word for word in words if word)
