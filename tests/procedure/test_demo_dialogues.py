"""Any dialogue over the real works of the demo joints: what every step keeps, and that the close stays within reach."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import NameKept, Pass, Question
from assistant.events.stages import PHASES
from assistant.journal.encoding import EVENT_FORMAT
from assistant.procedure.decide import begin
from assistant.procedure.evolve import fold
from assistant.procedure.prompts import open_request
from assistant.procedure.state import State
from assistant.speech.wording import catalogue
from tests.procedure.demo_walks import DEMO_JOINTS, begun, demo_work, right, step, walk_on
from tests.procedure.promises import PROMISES
from tests.procedure.small_works import alphabet, said
from tests.procedure.talk import command, value

AT_ODDS = 4
"""One in so many steps is something else than the right answer."""
moves = st.lists(st.one_of(*[st.none()] * (AT_ODDS - 1), st.integers(0, 10_000)), max_size=120)
works = st.tuples(st.sampled_from(DEMO_JOINTS), st.booleans())


def wandered(stem: str, apprentice: bool, drawn: list[int | None]):
    """The work, its events and the state after some right and some other answers; promises are looked at on the way."""
    work = demo_work(stem, apprentice=apprentice)
    actions = alphabet(work)
    events = [work, *begin(work, fold(State(), (work,)))]
    state = begun(work)
    for each in drawn:
        if state.closed:
            break
        back = next(a for a in actions if a.name == "back again")
        action = back if state.left else right(state) if each is None else actions[each % len(actions)]
        happened, after = step(state, action)
        for promise in PROMISES:
            promise(state, action, happened, after)
        events += happened
        state = after
    return work, events, state


@settings(max_examples=40)
@given(works, moves)
def test_any_dialogue_keeps_the_promises_and_can_still_be_closed(which, drawn):
    _, _, state = wandered(*which, drawn)
    _, end = walk_on(state, lambda s: s.closed)
    for number, item in enumerate(end.stages, start=1):
        kinds = {e.bolt: e.event for e in end.entries if e.valid and e.stage == number}
        assert set(kinds) == (set(item.bolts) if isinstance(item, Pass) else {None})
        if isinstance(item, Question) and item.witness:
            assert any(e.event is NameKept and e.valid and e.stage == number and e.text for e in end.entries)


@settings(max_examples=25)
@given(works, moves)
def test_the_journal_of_any_dialogue_gives_the_live_state(which, drawn):
    _, events, state = wandered(*which, drawn)
    kept = [EVENT_FORMAT.decode(*EVENT_FORMAT.encode(event), where="test") for event in events]
    assert fold(State(), kept) == state


@pytest.mark.parametrize("apprentice", [False, True], ids=["technician", "apprentice"])
@pytest.mark.parametrize("stem", DEMO_JOINTS)
def test_right_answers_alone_close_every_demo_joint_in_the_order_of_the_plan(stem, apprentice):
    work = demo_work(stem, apprentice=apprentice)
    events, end = walk_on(begun(work), lambda s: s.closed)
    for number, item in enumerate(work.items, start=1):
        if isinstance(item, Pass):
            recorded = [e.bolt for e in end.entries if e.stage == number]
            assert tuple(recorded) == item.bolts
    asked = [e.stage for e in events if e.kind == "asked-back"]
    assert bool(asked) == apprentice and len(asked) == len(set(asked))


@pytest.mark.parametrize("stem", DEMO_JOINTS)
def test_what_an_apprentice_answers_wrongly_comes_back_once_in_a_later_phase(stem):
    state = begun(demo_work(stem, apprentice=True))
    asked: list[tuple[int, int]] = []  # whose question, before which stage
    for _ in range(900):
        if state.closed:
            break
        wrong = state.dialogue == "asked-back" and state.asks_of not in state.asked_back
        if state.dialogue == "asked-back":
            asked.append((state.asks_of, state.stage))
            assert ("from before" in state_prompt(state)) is not wrong
        _, state = step(state, wrongly(state) if wrong else right(state))
    first = {of: at for of, at in asked if of == at}
    later = {of: at for of, at in asked if of != at}
    assert first and state.closed and len(asked) == len(first) + len(later)
    assert set(later) == set(first) and state.comes_back == ()
    phases = [item.phase for item in state.stages]
    assert all(PHASES.index(phases[at - 1]) > PHASES.index(phases[of - 1]) for of, at in later.items())


def wrongly(state: State):
    """A wrong answer to what an apprentice is asked."""
    if state.expects.isdecimal():
        return said("wrong", value(str(int(state.expects) + 1)))
    return said("wrong", command(state.asked_item.lesson.ask_back.others[0]))


def state_prompt(state: State) -> str:
    return open_request(catalogue("en"), state)
