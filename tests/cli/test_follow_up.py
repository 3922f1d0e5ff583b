"""What reviews of a joint's sessions want done again, by those sessions' records; what answers it and what lifts it."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.bolting.planning.plan import plan
from assistant.cli.follow_up import Wanted, next_work, wanted
from assistant.cli.session_sources import record_of
from assistant.config.joint_file import parse_joint
from assistant.config.procedure_file import usual_procedure
from assistant.events.review import JointAccepted, RedoOrdered, ReviewBegun, ReviewSigned
from assistant.journal.keyring import Basis, KnownKey, basis_of
from assistant.journal.person_key import PersonKey
from assistant.journal.reading import read_session
from assistant.journal.review import REVIEW_NAME, append_review
from assistant.journal.seal import installation_key, public_key_of
from assistant.journal.sessions import PLAYED
from assistant.procedure.follow_up import follow_up
from assistant.procedure.work import lay_out
from assistant.replay.facts import read_facts
from assistant.replay.record_open import redos_open
from assistant.replay.related import FOLLOWS_UP, last_torques, other
from tests.replay.worked import DAY, FLANGE, START, Clock, Technician, Worked

JOINT = "Pump 2 discharge flange"
KEY = Ed25519PrivateKey.from_private_bytes(b"\2" * 32)
LEAD = PersonKey(name="lead", private=Ed25519PrivateKey.from_private_bytes(b"\3" * 32))
STRANGER = PersonKey(name="lead", private=Ed25519PrivateKey.from_private_bytes(b"\4" * 32))
REDO = {"flange bolts": (5, 2)}
ACCEPTED = (JointAccepted(by="lead", reason="seen on site"), ReviewSigned(by="lead", public_key="", signature=""))


def review(folder: Path, *events, person: PersonKey | None = None, key: Ed25519PrivateKey = KEY) -> None:
    last = read_session(folder).entries[-1]
    begun = ReviewBegun(
        by="lead", session_lines=last.seq, session_last_hash=last.sha256, as_recorded=True, product="assistant 0.1.0"
    )
    clock = Clock(START + timedelta(hours=36))
    append_review(folder, [begun, *events], key=key, product="assistant 0.1.0", clock=clock, person=person)


def redo(*bolts: int) -> list[RedoOrdered]:
    return [RedoOrdered(by="lead", group="flange bolts", bolt=bolt, reason="not believed") for bolt in bolts]


@pytest.fixture
def sessions(tmp_path) -> Path:
    Worked(tmp_path / "s").finish().seal(tmp_path / "k")
    return tmp_path / "s"


@pytest.fixture
def basis(sessions, tmp_path) -> Basis:
    """The keys of the machine that recorded, of the one that reviews, and of the lead."""
    known = basis_of([public_key_of(installation_key(tmp_path / "k")), public_key_of(KEY)])
    return Basis(keys=(*known.keys, KnownKey(public_key=LEAD.public_key, name="lead")))


def first(sessions: Path) -> Path:
    return min(sessions.iterdir())


def agreed(sessions: Path, basis: Basis) -> dict[str, tuple[int, ...]]:
    """What is wanted of the joint: the same by the guide and by the records of all its sessions."""
    asked = wanted(sessions, JOINT, basis=basis)
    records = [record_of(folder, basis=basis) for folder in sorted(sessions.iterdir())]
    assert [ruling for _, ruling in asked.redos] == [r for record in records for r in redos_open(record)]
    return asked.bolts


def test_nothing_is_wanted_without_a_review_or_sessions(sessions, basis, tmp_path):
    assert wanted(sessions, JOINT, basis=basis) == Wanted() == wanted(tmp_path / "none", JOINT, basis=basis)


def test_a_redo_is_wanted_until_a_later_session_with_that_bolts_last_pass_is_sealed(sessions, basis, tmp_path):
    review(first(sessions), *redo(5, 2))
    assert agreed(sessions, basis) == {"flange bolts": (2, 5)}
    assert wanted(sessions, "Another joint", basis=basis) == Wanted()
    record = record_of(first(sessions), basis=basis)
    assert record.verdict == "to-redo", record.distrust
    assert any("bolt 5 to be done again (not believed)" in point for point in record.open_points)

    again = Worked(
        sessions,
        start=START + timedelta(hours=48),
        work=lambda whole: follow_up(whole, {"flange bolts": (5,)}),
        settings={FOLLOWS_UP: first(sessions).name},
    )
    assert agreed(sessions, basis) == {"flange bolts": (2, 5)}  # begun is not done
    again.finish(lambda state: None if state.current_pass and state.current_pass.number == 4 else Technician()(state))
    assert last_torques(other("x", read_facts(again.store.entries)).passes).keys() == {("flange bolts", 5)}
    assert agreed(sessions, basis) == {"flange bolts": (2, 5)}  # and not closed is not done either
    name = again.finish().seal(tmp_path / "k").name
    assert agreed(sessions, basis) == {"flange bolts": (2,)}
    record = record_of(first(sessions), basis=basis)
    assert {r.bolt: r.answered_by for r in record.review.rulings if r.kind == "redo"} == {5: name, 2: ""}
    assert {r.folder: r.relation for r in record.related} == {name: "followed up by"}
    after = record_of(sessions / name, basis=basis)
    assert after.session.follows_up == first(sessions).name and after.related[0].relation == "follows up"

    Worked(sessions, start=START + timedelta(hours=90)).finish().seal(tmp_path / "k")  # the whole joint anew
    assert agreed(sessions, basis) == {}


def test_a_session_before_the_ruling_answers_nothing(sessions, basis, tmp_path):
    Worked(sessions, start=START + timedelta(hours=2)).finish().seal(tmp_path / "k")
    review(first(sessions), *redo(5))
    assert agreed(sessions, basis) == {"flange bolts": (5,)}


@pytest.mark.parametrize("played", ["rehearsal", "practice"])
def test_a_rehearsal_answers_nothing_and_wants_nothing(sessions, basis, tmp_path, played):
    review(first(sessions), *redo(5))
    later = Worked(sessions, start=START + timedelta(hours=48), settings={PLAYED: played}).finish().seal(tmp_path / "k")
    assert agreed(sessions, basis) == {"flange bolts": (5,)}
    assert record_of(first(sessions), basis=basis).related == ()
    shutil.rmtree(first(sessions))
    review(later, *redo(3))
    assert wanted(sessions, JOINT, basis=basis) == Wanted()


def test_a_session_sealed_with_an_unknown_key_answers_nothing_and_is_no_recheck(sessions, basis, tmp_path):
    review(first(sessions), *redo(5))
    forged = Worked(sessions, start=START + timedelta(hours=48)).finish().seal(tmp_path / "another key")
    assert agreed(sessions, basis) == {"flange bolts": (5,)}
    record = record_of(first(sessions), basis=basis)
    assert record.verdict == "to-redo" and not record.related[0].believed
    assert not any(forged.name in result for each in record.rechecks for result in each.results)


def test_a_session_changed_after_it_was_sealed_answers_nothing(sessions, basis, tmp_path):
    review(first(sessions), *redo(5))
    later = Worked(sessions, start=START + timedelta(hours=48)).finish().seal(tmp_path / "k")
    assert agreed(sessions, basis) == {}
    journal = later / "journal.jsonl"
    journal.write_bytes(b"".join(journal.read_bytes().splitlines(keepends=True)[:-1]))
    assert wanted(sessions, JOINT, basis=basis).bolts == {"flange bolts": (5,)}


def test_a_signed_acceptance_lifts_the_redos_before_it_and_none_after(sessions, basis):
    review(first(sessions), *redo(5), *ACCEPTED, *redo(3), person=LEAD)
    assert agreed(sessions, basis) == {"flange bolts": (3,)}
    assert record_of(first(sessions), basis=basis).review.accepted_by == ""


def test_an_acceptance_by_name_alone_lifts_nothing(sessions, basis):
    review(first(sessions), *redo(5), JointAccepted(by="lead", reason="seen on site"))
    assert agreed(sessions, basis) == {"flange bolts": (5,)}


@pytest.mark.parametrize("by", ["a person", "a machine"])
def test_an_acceptance_signed_with_an_unknown_key_lifts_nothing_and_the_doubt_is_told(sessions, basis, by):
    if by == "a person":
        review(first(sessions), *redo(5), *ACCEPTED, person=STRANGER)
    else:
        review(first(sessions), *redo(5), *ACCEPTED, person=LEAD, key=STRANGER.private)
    assert agreed(sessions, basis) == {"flange bolts": (5,)}
    asked = wanted(sessions, JOINT, basis=basis)
    assert len(asked.troubles) == 1 and "cannot be trusted" in asked.troubles[0]
    assert record_of(first(sessions), basis=basis).verdict == "untrusted"


def test_a_review_that_cannot_be_read_is_no_silence(sessions, basis):
    review(first(sessions), *redo(5))
    path = first(sessions) / REVIEW_NAME
    path.write_bytes(path.read_bytes()[:-9])
    asked = wanted(sessions, JOINT, basis=basis)
    assert asked.redos == () and len(asked.troubles) == 1 and asked.lines == asked.troubles
    record = record_of(first(sessions), basis=basis)
    assert record.review is None and any("not believed" in each for each in record.missing) and not record.complete


def test_the_next_work_is_what_is_wanted_else_the_whole_joint(sessions, basis):
    made = plan(parse_joint(FLANGE.read_bytes(), source=FLANGE.name), today=DAY)
    whole = lay_out(made, usual_procedure(made.joint.kind))
    assert next_work(Wanted(), whole).work is whole
    review(first(sessions), *redo(5))
    due = next_work(wanted(sessions, JOINT, basis=basis), whole)
    assert due.settings == {FOLLOWS_UP: first(sessions).name}
    assert due.work == follow_up(whole, {"flange bolts": (5,)})


def test_a_follow_up_is_a_joint_like_any_other_and_needs_its_questions(tmp_path, basis):
    made = Worked(tmp_path / "again", work=lambda whole: follow_up(whole, REDO), sound=True)
    assert made.state.question is not None and made.state.question.name == "review"
    folder = made.finish(Technician(moving=())).seal(tmp_path / "k")
    record = record_of(folder, basis=basis)
    assert record.complete and [(p.kind, p.number, [b.bolt for b in p.bolts]) for p in record.passes] == [
        ("pattern", 3, [5, 2]),
        *[("circular", 4, list(range(1, 9)))] * 3,  # all round, after the wait, at the re-check
    ]
