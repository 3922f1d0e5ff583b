"""Sentences that hold for any dialogue."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.events import Alternative, ReadingAccepted, Stopped, event_classes
from assistant.procedure.acceptance import in_unit
from assistant.procedure.effects import effects
from assistant.procedure.evolve import evolve, fold
from assistant.procedure.state import State
from assistant.procedure.table import ANYWHERE, MEANS, OPEN, ROWS, STATES, next_state
from tests.procedure.talk import Talk, command, value, work

COMMANDS = (
    "stop pause resume status help why correction skip note done clicked snug moved yes no same keep ready figures "
    "next all target dry oiled"
).split()
COMMANDS += ["say again", "go back", "hand over", "did not move", "tighten again", "locked out and tried", "anti seize"]
COMMANDS += ["close the joint", "unclear-two-values"]
values = st.sampled_from(
    ["90", "92", "85", "95", "97", "180", "178", "189", "190", "170", "18", "900", "133", "66", "0", "1", "2"]
)
readings = st.builds(
    lambda number, p, unit, bolt, corrected: value(number, p, unit=unit, bolt=bolt, corrected=corrected),
    values,
    st.floats(0.3, 1.0),
    st.sampled_from([None, None, None, "N*m", "lbf*ft"]),
    st.sampled_from([None, None, None, 1, 2, 9]),
    st.booleans(),
)
commands = st.builds(command, st.sampled_from(COMMANDS), st.floats(0.3, 1.0))
likely = st.sampled_from(
    [
        command(c)
        for c in ("locked out and tried", "anti seize", "snug", "did not move", "close the joint", "yes", "resume")
    ]
    + [value("90"), value("180")]
)
heard = st.lists(st.one_of(readings, commands), min_size=0, max_size=2).map(tuple) | likely.map(lambda a: (a,))
dialogues = st.lists(
    st.tuples(heard, st.sampled_from(["accept", "accept", "accept", "ask", "reject"]), st.booleans()), max_size=60
)


def spoken(dialogue: list[tuple[tuple[Alternative, ...], str, bool]], clicks: bool = False) -> Talk:
    talk = Talk.begun(work(clicks=clicks))
    for alternatives, decision, while_speaking in dialogue:
        decision = decision if alternatives else "reject"
        talk.hear(*alternatives, decision=decision, while_speaking=while_speaking and len(alternatives) == 2)
    return talk


@settings(max_examples=300)
@given(dialogues, st.booleans())
def test_every_event_has_its_row_in_the_table(dialogue, clicks):
    talk = spoken(dialogue, clicks)
    state = State()
    for event in talk.events:
        assert next_state(state.dialogue, type(event)) is not None, (state.dialogue, event.kind)
        state = evolve(state, event)


@settings(max_examples=300)
@given(dialogues)
def test_no_reading_is_accepted_for_a_bolt_that_was_not_announced(dialogue):
    announced = None
    for event in spoken(dialogue).events:
        if event.kind == "item-announced":
            announced = event.bolt
        elif event.kind == "entry-taken-back":
            announced = "taken back"  # 'correction three ten' re-reads the bolt that is named in the read-back
        elif event.kind == "reading-accepted":
            assert announced in (event.bolt, "taken back")


@settings(max_examples=300)
@given(dialogues)
def test_an_accepted_reading_is_always_inside_its_window(dialogue):
    talk = spoken(dialogue)
    for event in talk.events:
        if isinstance(event, ReadingAccepted):
            due = talk.state.stages[event.stage - 1]
            assert due.low.value <= Decimal(f"{in_unit(event.achieved, 'N*m'):.6f}") <= due.high.value


@settings(max_examples=300)
@given(dialogues)
def test_no_value_is_recorded_from_a_rejected_or_unconfirmed_hearing(dialogue):
    talk = spoken(dialogue)
    decisions = {e.utterance: e.decision for e in talk.events if e.kind == "utterance-heard"}
    for event in talk.events:
        if isinstance(event, ReadingAccepted) and not event.confirmed_by:
            assert decisions[event.utterance] == "accept"


@settings(max_examples=200)
@given(dialogues)
def test_replaying_the_events_gives_the_live_state(dialogue):
    talk = spoken(dialogue)
    assert fold(State(), talk.events) == talk.state


@settings(max_examples=300)
@given(dialogues)
def test_a_joint_never_closes_with_an_open_item(dialogue):
    talk = spoken(dialogue)
    if not talk.state.closed:
        return
    for number, stage in enumerate(talk.state.stages, start=1):
        done = {e.bolt for e in talk.state.entries if e.valid and e.stage == number}
        assert done == set(getattr(stage, "bolts", (None,)))


@settings(max_examples=200)
@given(dialogues)
def test_stop_works_from_everywhere(dialogue):
    talk = spoken(dialogue)
    if talk.state.closed:
        return
    talk.hear(command("stop", 0.5), decision="ask")  # the listeners agree
    assert talk.state.dialogue == "stopped"


@settings(max_examples=200)
@given(dialogues)
def test_prompts_can_be_made_for_everything_that_happens(dialogue):
    talk = spoken(dialogue)
    state = State()
    for event in talk.events:
        assert effects(state, (event,)).say is not None
        state = evolve(state, event)


def test_the_table_says_of_every_event_where_it_may_happen_and_what_it_means():
    events = set(event_classes().values())
    assert {row.event for row in ROWS} | ANYWHERE == events and not {row.event for row in ROWS} & ANYWHERE
    assert set(MEANS) == events


def test_the_table_has_no_double_rows_and_reaches_every_state():
    seen = [(row.event, source) for row in ROWS for source in row.sources]
    assert len(seen) == len(set(seen))
    reached, todo = {"opening"}, ["opening"]
    while todo:
        here = todo.pop()
        for row in ROWS:
            if here in row.sources and row.target and row.target not in reached:
                reached.add(row.target)
                todo.append(row.target)
    assert reached == set(STATES)
    assert all(next_state(state, Stopped) == "stopped" for state in (*OPEN, "paused"))
