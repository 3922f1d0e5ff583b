"""Promises 10 and 11: every event comes back equal; old records are lifted; strangers are refused by line and field."""

import copy
import dataclasses
import typing
from decimal import Decimal
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, ClassVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import BadSession
from assistant.events import EventBase, Measured, Pass, Stage, event_classes
from assistant.events.review import REVIEW_CLASSES
from assistant.journal.chain import read_line
from assistant.journal.encoding import EVENT_FORMAT, UPCASTS, EventFormat
from assistant.journal.reading import read_session
from assistant.journal.strict_json import canonical, canonical_document
from assistant.replay.rebuild import rebuild_state
from assistant.replay.transcript import sounded
from tests.journal.short_record import accepted, heard

JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip
SCALARS = {
    str: st.text(max_size=12),
    int: st.integers(-(2**62), 2**62),
    bool: st.booleans(),
    float: st.floats(allow_nan=False, allow_infinity=False),
    Decimal: st.decimals(min_value=-(10**6), max_value=10**6, places=3),
    NoneType: st.none(),
    Any: JSON,
}


def any_of(declared):
    """Values of a declared type; independent of the product's own reading of it."""
    if declared in SCALARS:
        return SCALARS[declared]
    origin, inner = typing.get_origin(declared), typing.get_args(declared)
    if origin is typing.Literal:
        return st.sampled_from(inner)
    if origin in (typing.Union, UnionType):
        return st.one_of([any_of(each) for each in inner])
    if origin is tuple and inner[-1] is Ellipsis:
        return st.lists(any_of(inner[0]), max_size=3).map(tuple)
    if origin is tuple:
        return st.tuples(*[any_of(each) for each in inner])
    if origin is dict:
        return st.dictionaries(any_of(inner[0]), any_of(inner[1]), max_size=3)
    hints = typing.get_type_hints(declared)
    if declared is Stage:  # exactly one of its four parts is there
        return st.one_of([st.builds(Stage, **{name: any_of(typing.get_args(hints[name])[0])}) for name in hints])
    return st.builds(declared, **{each.name: any_of(hints[each.name]) for each in dataclasses.fields(declared)})


EVENTS = st.one_of([any_of(cls) for cls in event_classes().values()])


def through_bytes(event):
    kind, version, payload = EVENT_FORMAT.encode(event)
    return EVENT_FORMAT.decode(kind, version, canonical_document(canonical(payload)), where="line 1")


@given(EVENTS)
def test_an_event_comes_back_equal(event):
    assert through_bytes(event) == event


@pytest.mark.parametrize("kind", sorted(event_classes()))
@settings(max_examples=15)
@given(data=st.data())
def test_every_kind_of_event_comes_back_equal(kind, data):
    cls = event_classes()[kind]
    event = data.draw(any_of(cls))
    back = through_bytes(event)
    assert back == event and type(back) is cls


@given(EVENTS, st.data())
def test_a_field_left_out_added_or_renamed_is_refused(event, data):
    kind, version, payload = EVENT_FORMAT.encode(event)
    for changed in mutilated(payload, data):
        with pytest.raises(BadSession, match=f"^line 7: {kind}"):
            EVENT_FORMAT.decode(kind, version, changed, where="line 7")


def mutilated(payload, data):
    yield {**payload, "surprise": 1}
    if payload:
        name = data.draw(st.sampled_from(sorted(payload)))
        less = {key: value for key, value in payload.items() if key != name}
        yield less
        yield {**less, name.upper() + "x": payload[name]}


def test_a_number_keeps_the_figures_that_were_said():
    back = through_bytes(accepted(1, "310.50", "0001"))
    assert str(back.achieved.value) == "310.50"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda p: p.update(agreed=1), r"utterance-heard\.agreed is 1, not bool"),
        (lambda p: p.update(utterance=None), r"utterance-heard\.utterance is None"),
        (lambda p: p["alternatives"][0].update(value="NaN"), r"utterance-heard\.alternatives\[0\]\.value is 'NaN'"),
        (lambda p: p["alternatives"][0].update(value=310), r"\.alternatives\[0\]\.value is 310"),
        (lambda p: p["alternatives"][0].pop("text"), r"\.alternatives\[0\] lacks text"),
        (lambda p: p["listeners"].update(vosk=5), r"\.listeners\['vosk'\] is 5"),
        (lambda p: p.update(alternatives={}), r"\.alternatives is \{\}, not a list"),
    ],
)
def test_a_wrong_payload_is_named_by_line_and_field(change, says):
    kind, version, payload = EVENT_FORMAT.encode(heard("0001", None))
    payload = copy.deepcopy(payload)
    change(payload)
    with pytest.raises(BadSession, match=says) as caught:
        EVENT_FORMAT.decode(kind, version, payload, where="journal.jsonl line 4")
    assert caught.value.message.startswith("journal.jsonl line 4: ")
    assert caught.value.remedy


def test_an_unknown_kind_or_version_or_payload_is_refused():
    kind, version, payload = EVENT_FORMAT.encode(heard("0001", None))
    with pytest.raises(BadSession, match="no event is called 'bolt-welded'"):
        EVENT_FORMAT.decode("bolt-welded", 1, payload, where="line 1")
    with pytest.raises(BadSession, match=f"has version {version + 1}"):
        EVENT_FORMAT.decode(kind, version + 1, payload, where="line 1")
    with pytest.raises(BadSession, match="has version 0"):
        EVENT_FORMAT.decode(kind, 0, payload, where="line 1")
    with pytest.raises(BadSession, match="not an object"):
        EVENT_FORMAT.decode(kind, version, [payload], where="line 1")


def test_an_event_that_cannot_be_kept_is_our_bug_and_names_the_field():
    with pytest.raises(ValueError, match=r"reading-accepted\.achieved\.value is Decimal\('NaN'\)"):
        EVENT_FORMAT.encode(accepted(1, "NaN", "0001"))


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class ValveTurned(EventBase):
    """An event that only this test knows; version 1 had `turns` as a number and no unit."""

    kind: ClassVar[str] = "valve-turned"
    version: ClassVar[int] = 3
    turned: Measured
    by: str


LIFT_VALVE = {
    ("valve-turned", 1): lambda old: {"turned": {"value": str(old["turns"]), "unit": "turn"}},
    ("valve-turned", 2): lambda old: {**old, "by": ""},
}


def test_an_old_record_is_lifted_step_by_step_and_left_as_it_is():
    raw = (Path(__file__).parent / "records" / "valve-turned-1.jsonl").read_bytes()
    record = read_line(raw.removesuffix(b"\n"))
    before = copy.deepcopy(record.payload)
    event_format = EventFormat({"valve-turned": ValveTurned}, LIFT_VALVE)
    event = event_format.decode(record.kind, record.version, record.payload, where="line 1")
    assert event == ValveTurned(turned=Measured(Decimal("3"), "turn"), by="")
    assert record.payload == before and record.version == 1


def test_of_a_prompt_of_version_1_nobody_knows_whether_it_sounded_whole():
    raw = (Path(__file__).parent / "records" / "prompt-spoken-1.jsonl").read_bytes()
    record = read_line(raw.removesuffix(b"\n"))
    prompt = EVENT_FORMAT.decode(record.kind, record.version, record.payload, where="line 1")
    assert record.version == 1 and prompt.text == record.payload["text"]
    assert prompt.whole is None and prompt.times == 1 and sounded(prompt) == ""


def test_a_reading_of_version_1_was_taken_without_a_lift():
    raw = (Path(__file__).parent / "records" / "reading-accepted-1.jsonl").read_bytes()
    record = read_line(raw.removesuffix(b"\n"))
    reading = EVENT_FORMAT.decode(record.kind, record.version, record.payload, where="line 1")
    assert record.version == 1 and reading.achieved == Measured(Decimal("52"), "N*m")
    assert reading.inside is None and reading.lift == 1.0


def test_work_laid_out_before_there_were_stages_is_lifted_into_one_list():
    """Version 1 had questions before and after the passes; the record is of a session of that time."""
    raw = (Path(__file__).parent / "records" / "work-laid-out-1.jsonl").read_bytes()
    record = read_line(raw.removesuffix(b"\n"))
    old = record.payload
    assert record.version == 1 and {"before", "passes", "after"} < old.keys()
    work = EVENT_FORMAT.decode(record.kind, record.version, old, where="line 1")
    names = [q["name"] for q in (*old["before"], *old["after"])]
    assert [q.name for q in work.questions] == names and [q.name for q in work.items[-2:]] == names[-2:]
    assert [(p.kind, p.number, list(p.bolts)) for p in work.passes] == [
        (p["kind"], p["number"], p["bolts"]) for p in old["passes"]
    ]
    assert [item.lesson.why for item in work.items] == [
        each["why"] for each in (*old["before"], *old["passes"], *old["after"])
    ]
    assert [p.phase for p in work.passes] == ["snug", "tighten", "tighten", "tighten", "seat"]
    assert not work.apprentice and work.cautions == tuple(old["cautions"]) and all(p.tools == 1 for p in work.passes)


def test_work_laid_out_before_other_methods_than_torque_is_all_torque():
    """Version 3 is of a session of that time."""
    raw = (Path(__file__).parent / "records" / "work-laid-out-3.jsonl").read_bytes()
    record = read_line(raw.removesuffix(b"\n"))
    work = EVENT_FORMAT.decode(record.kind, record.version, record.payload, where="line 1")
    assert record.version == 3 and [p.kind for p in work.passes] == ["snug", "pattern", "pattern", "circular"]
    assert {(p.measures, p.method) for p in work.passes} == {("", "")}


def test_a_whole_session_of_version_1_is_still_read_folded_and_told(tmp_path):
    """Its events fit today's table: every bolt of every pass is done, and nothing is left over."""
    lines = (Path(__file__).parent / "records" / "session-of-version-1.jsonl").read_bytes()
    (tmp_path / "journal.jsonl").write_bytes(lines)
    entries = read_session(tmp_path).entries
    state = rebuild_state(e.event for e in entries)
    assert state.closed and len(entries) == lines.count(b"\n")
    for stage, item in enumerate(state.stages, start=1):
        if isinstance(item, Pass):
            rounds = range(1, 1 + max(e.round for e in state.entries if e.stage == stage))
            assert all(state.done(stage, each) == set(item.bolts) for each in rounds)


def test_an_old_record_that_its_own_version_never_had_is_refused():
    event_format = EventFormat({"valve-turned": ValveTurned}, LIFT_VALVE)
    with pytest.raises(BadSession, match="line 1: valve-turned version 1 cannot be lifted"):
        event_format.decode("valve-turned", 1, {"spins": 3}, where="line 1")


def test_a_version_without_its_steps_is_found_at_once():
    with pytest.raises(TypeError, match="nothing lifts version 2"):
        EventFormat({"valve-turned": ValveTurned}, {("valve-turned", 1): dict})


def test_every_step_of_the_product_leads_to_a_known_version_and_has_an_old_record():
    for kind, version in UPCASTS:
        assert version < {**event_classes(), **REVIEW_CLASSES}[kind].version
        assert (Path(__file__).parent / "records" / f"{kind}-{version}.jsonl").exists()


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class SetKept(EventBase):
    kind: ClassVar[str] = "set-kept"
    numbers: set[int]


def test_an_event_with_a_field_that_a_journal_cannot_keep_is_found_at_once():
    with pytest.raises(TypeError, match="SetKept: the journal cannot keep"):
        EventFormat({"set-kept": SetKept})
    with pytest.raises(TypeError, match="calls itself"):
        EventFormat({"another": ValveTurned}, LIFT_VALVE)
    with pytest.raises(TypeError, match="ValveTurned is not an event"):
        EVENT_FORMAT.encode(ValveTurned(turned=Measured(Decimal(1), "turn"), by=""))
