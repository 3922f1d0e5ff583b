"""What a review wants and who answers it; sessions on one joint beside each other."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.events.review import JointAccepted, RedoOrdered, ReviewBegun, ReviewSigned
from assistant.journal.person_key import PersonKey
from assistant.journal.reading import read_session
from assistant.journal.review import REVIEW_NAME, append_review
from assistant.journal.sessions import slug_of
from assistant.procedure.follow_up import follow_up
from assistant.replay.facts import read_facts
from assistant.replay.record_open import redos_open
from assistant.replay.related import FOLLOWS_UP, last_torques, other, wanted
from tests.replay.telling import record_of
from tests.replay.worked import START, Clock, Technician, Worked

SLUG = slug_of("Pump 2 discharge flange")
KEY = Ed25519PrivateKey.from_private_bytes(b"\2" * 32)
REDO = {"flange bolts": (5, 2)}


def review(folder: Path, *events, hours: float = 12, person: PersonKey | None = None) -> None:
    last = read_session(folder).entries[-1]
    begun = ReviewBegun(
        by="lead", session_lines=last.seq, session_last_hash=last.sha256, as_recorded=True, product="assistant 0.1.0"
    )
    clock = Clock(START + timedelta(hours=hours))
    append_review(folder, [begun, *events], key=KEY, product="assistant 0.1.0", clock=clock, person=person)


def redo(*bolts: int) -> list[RedoOrdered]:
    return [RedoOrdered(by="lead", group="flange bolts", bolt=bolt, reason="not believed") for bolt in bolts]


@pytest.fixture
def sessions(tmp_path) -> Path:
    Worked(tmp_path / "s").finish().seal(tmp_path / "k")
    return tmp_path / "s"


def first(sessions: Path) -> Path:
    return min(sessions.iterdir())


def test_nothing_is_wanted_without_a_review_or_sessions(sessions, tmp_path):
    assert wanted(sessions, slug=SLUG).redos == () and wanted(tmp_path / "none", slug=SLUG).redos == ()


def test_a_redo_is_wanted_until_a_later_session_with_that_bolts_last_pass_is_closed(sessions, tmp_path):
    review(first(sessions), *redo(5, 2))
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (2, 5)}
    assert wanted(sessions, slug="another-joint").redos == ()
    record = record_of(first(sessions))
    assert not record.complete and len(redos_open(record)) == 2
    assert any("bolt 5 to be done again (not believed)" in point for point in record.open_points)

    again = Worked(
        sessions,
        start=START + timedelta(hours=24),
        work=lambda whole: follow_up(whole, {"flange bolts": (5,)}),
        settings={FOLLOWS_UP: first(sessions).name},
    )
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (2, 5)}  # begun is not done
    again.finish(lambda state: None if state.current_pass and state.current_pass.number == 4 else Technician()(state))
    assert last_torques(other("x", read_facts(again.store.entries)).passes).keys() == {("flange bolts", 5)}
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (2, 5)}  # and not closed is not done either
    name = again.finish().seal(tmp_path / "k").name
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (2,)}
    record = record_of(first(sessions))
    assert {r.bolt: r.answered_by for r in record.review.rulings if r.kind == "redo"} == {5: name, 2: ""}
    assert {r.folder: r.relation for r in record.related} == {name: "followed up by"}
    after = record_of(sessions / name)
    assert after.session.follows_up == first(sessions).name and after.related[0].relation == "follows up"

    Worked(sessions, start=START + timedelta(hours=30)).finish().seal(tmp_path / "k")  # the whole joint anew
    assert wanted(sessions, slug=SLUG).redos == ()
    assert not redos_open(record_of(first(sessions))), record_of(first(sessions)).distrust


def test_a_session_before_the_ruling_answers_nothing(sessions, tmp_path):
    Worked(sessions, start=START + timedelta(hours=2)).finish().seal(tmp_path / "k")
    review(first(sessions), *redo(5))
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (5,)}


def test_a_signed_acceptance_lifts_the_redos_before_it_and_none_after(sessions):
    accepted = (JointAccepted(by="lead", reason="seen on site"), ReviewSigned(by="lead", public_key="", signature=""))
    person = PersonKey(name="lead", private=Ed25519PrivateKey.generate())
    review(first(sessions), *redo(5), *accepted, *redo(3), person=person)
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (3,)}
    record = record_of(first(sessions))
    assert [r.bolt for r in redos_open(record)] == [3] and record.review.accepted_by == ""


def test_an_acceptance_by_name_alone_lifts_nothing(sessions):
    review(first(sessions), *redo(5), JointAccepted(by="lead", reason="seen on site"))
    assert wanted(sessions, slug=SLUG).bolts == {"flange bolts": (5,)}
    assert [r.bolt for r in redos_open(record_of(first(sessions)))] == [5]


def test_a_review_that_cannot_be_read_is_no_silence(sessions):
    review(first(sessions), *redo(5))
    path = first(sessions) / REVIEW_NAME
    path.write_bytes(path.read_bytes()[:-9])
    found = wanted(sessions, slug=SLUG)
    assert found.redos == () and len(found.troubles) == 1
    record = record_of(first(sessions))
    assert record.review is None and any("not believed" in each for each in record.missing) and not record.complete


def test_last_torques_are_those_of_the_full_value(done_session, demo_sessions):
    passes = record_of(done_session).passes
    found = last_torques(passes)
    assert {bolt for _, bolt in found} == set(range(1, 9))
    assert {key: value.value for key, value in found.items()} == {
        ("flange bolts", b.bolt): b.on_scale.value for b in passes[3].bolts
    }
    assert last_torques(passes[:3]).keys() == found.keys()  # then pass 2 is the highest that there was
    clamp = last_torques(record_of(demo_sessions["north-sluice-conveying-pipe-coupling"]).passes)
    assert {key[0] for key in clamp} == {"joint bolts", "split bolts"} and clamp["joint bolts", 1].value == 150


def test_a_follow_up_is_a_joint_like_any_other_and_needs_its_questions(tmp_path):
    made = Worked(tmp_path / "s", work=lambda whole: follow_up(whole, REDO), sound=True)
    assert made.state.question is not None and made.state.question.name == "review"
    folder = made.finish(Technician(moving=())).seal(tmp_path / "k")
    record = record_of(folder)
    assert record.complete and [(p.kind, p.number, [b.bolt for b in p.bolts]) for p in record.passes] == [
        ("pattern", 3, [5, 2]),
        *[("circular", 4, list(range(1, 9)))] * 3,  # all round, after the wait, at the re-check
    ]
