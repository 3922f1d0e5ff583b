"""Parts that fail in mid-joint, on the real works: a replaced bolt, a disturbed pass, a disturbed gasket."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import BoltReplaced, Pass, PassesRestarted, QuestionAnswered
from assistant.procedure.state import State
from tests.procedure.demo_walks import DEMO_JOINTS, at_bolt, demo_work, step, walk_on
from tests.procedure.small_works import THREADS, said, snug, torqued, work
from tests.procedure.talk import Talk, command, value


def confirmed(state: State, name: str, **more: object) -> tuple[list, State]:
    """A command and the yes to the question that it is."""
    asked, state = step(state, said(name, command(name, **more)))
    assert [e.kind for e in asked if e.kind != "utterance-heard"] == ["reading-doubted"]
    done, state = step(state, said("yes", command("yes")))
    return list(done), state


@st.composite
def places(draw):
    """A demo joint, a pass of it, how many bolts of the pass are done, and one of its bolts."""
    laid_out = demo_work(draw(st.sampled_from(DEMO_JOINTS)))
    stage = draw(st.sampled_from([n for n, item in enumerate(laid_out.items, start=1) if isinstance(item, Pass)]))
    item = laid_out.items[stage - 1]
    return laid_out, stage, draw(st.integers(0, len(item.bolts) - 1)), draw(st.sampled_from(item.bolts))


@settings(max_examples=30)
@given(places())
def test_a_replaced_bolt_is_brought_up_alone_and_the_others_keep_their_entries(place):
    laid_out, stage, visited, bolt = place
    item = laid_out.items[stage - 1]
    before = at_bolt(laid_out, stage, visited)
    events, after = confirmed(before, "replaced", bolt=bolt)
    (replaced,) = [e for e in events if isinstance(e, BoltReplaced)]
    own = [n for n, each in enumerate(laid_out.items, start=1) if isinstance(each, Pass) and each.group == item.group]
    assert replaced.stage == own[0] and (replaced.group, replaced.bolt) == (item.group, bolt)
    for entry in before.entries:
        its_own = entry.stage in own and entry.bolt == bolt
        of_the_round = item.goes_round and entry.stage == stage
        assert (entry.number in replaced.taken_back) == (entry.valid and (its_own or of_the_round))
    happened, back = walk_on(after, lambda s: s.stage == stage and s.dialogue == "guiding")
    asked = [e for e in (*events, *happened) if e.kind == "item-announced" and e.stage < stage and e.bolt is not None]
    assert [e.stage for e in asked] == [n for n in own if n < stage] and {e.bolt for e in asked} <= {bolt}
    assert back.round == 1 and (not item.goes_round or not back.done(stage, 1))


@settings(max_examples=20)
@given(places())
def test_a_disturbed_pass_is_done_over_from_its_first_bolt(place):
    laid_out, stage, visited, _ = place
    before = at_bolt(laid_out, stage, visited)
    events, after = confirmed(before, "restart pass")
    (over,) = [e for e in events if isinstance(e, PassesRestarted)]
    assert (over.reason, over.stage) == ("pass", stage)
    assert after.bolt == laid_out.items[stage - 1].bolts[0] and not after.done(stage, 1)
    assert [e.valid for e in after.entries if e.stage < stage] == [e.valid for e in before.entries if e.stage < stage]


@settings(max_examples=20)
@given(places())
def test_after_a_disturbed_gasket_everything_from_assembly_on_is_done_over(place):
    laid_out, stage, visited, _ = place
    before = at_bolt(laid_out, stage, visited)
    events, after = confirmed(before, "gasket disturbed")
    (over,) = [e for e in events if isinstance(e, PassesRestarted)]
    phases = [item.phase for item in laid_out.items]
    assert over.reason == "gasket" and over.stage == phases.index("assemble") + 1
    assert {e.stage for e in after.entries if e.valid} == set(range(1, over.stage))
    assert not [w for w in after.waits if w >= over.stage]


def test_a_no_leaves_everything_as_it_was():
    talk = Talk.begun(work(snug(1, 2), torqued(1, 2)))
    for _ in range(2):
        talk.hear(command("snug"))
    entries = talk.state.entries
    for name in ("replaced", "restart pass", "gasket disturbed"):
        talk.hear(command(name, bolt=1 if name == "replaced" else None))
        talk.hear(command("no"))
        assert talk.state.entries == entries and talk.state.stage == 2


def brought_up() -> Talk:
    """Bolt one was replaced in the second pass: its snug is due, bolt two has all its entries."""
    talk = Talk.begun(work(THREADS, snug(1, 2), torqued(1, 2), torqued(2, 1, number=2)))
    talk.hear(command("anti seize"))
    for _ in range(2):
        talk.hear(command("snug"))
    for _ in range(3):
        talk.hear(value("90"))
    talk.hear(command("replaced", bolt=1))
    talk.hear(command("yes"))
    assert (talk.state.stage, talk.state.bolt) == (2, 1)
    return talk


def test_a_correction_while_a_new_bolt_is_brought_up_jumps_over_nothing():
    talk = brought_up()
    talk.hear(command("correction"))  # the last entry that counts is bolt two's in the second pass
    assert (talk.state.stage, talk.state.bolt) == (2, 1)
    talk.hear(command("snug"))
    talk.hear(value("90"))
    assert (talk.state.stage, talk.state.bolt) == (4, 2)


def test_a_gasket_disturbed_while_a_new_bolt_is_brought_up_spoils_the_later_passes_too():
    talk = brought_up()
    talk.hear(command("gasket disturbed"))
    talk.hear(command("yes"))
    assert talk.state.stage == 1 and not any(e.valid for e in talk.state.entries)


def test_a_second_bolt_can_be_replaced_while_the_first_is_brought_up():
    talk = brought_up()
    talk.hear(command("replaced", bolt=2))
    talk.hear(command("yes"))
    assert [e.event for e in talk.state.entries if e.valid] == [QuestionAnswered]


def test_a_new_bolt_does_not_inherit_that_the_old_one_held():
    talk = Talk.begun(work(snug(1, 2), torqued(1, 2, kind="circular"), torqued(1, 2, number=2)))
    for said_ in ("snug", "snug", "did not move", "did not move"):
        talk.hear(command(said_))
    talk.hear(command("replaced", bolt=2))
    talk.hear(command("yes"))
    talk.hear(command("snug"))
    assert (talk.state.stage, talk.state.bolt) == (2, 2)


def test_only_a_bolt_of_this_pass_can_be_replaced_and_it_must_be_named():
    talk = Talk.begun(work(snug(1, 2)))
    assert talk.kinds(talk.hear(command("replaced"))) == ["told"] and talk.said.startswith("Which one?")
    assert talk.kinds(talk.hear(command("replaced", bolt=7))) == ["other-bolt-named"]
