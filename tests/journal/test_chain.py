"""Promise 1: one sequence, each line bound to the one before and true to itself."""

import hashlib
import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.journal.chain import (
    FIRST_PREVIOUS,
    START,
    DamagedLine,
    Link,
    broken_link,
    line_sha256,
    make_line,
    read_line,
    split_lines,
    synced_lines,
)
from assistant.journal.clock import Uptime
from assistant.journal.strict_json import canonical
from tests.journal import short_record


def a_line(after=START, **changes):
    fields = {"sample": 160, "kind": "paused", "version": 1, "payload": {"reason": "radio"}, **changes}
    return make_line(after, short_record.START, **fields)


def test_a_line_holds_what_the_design_says():
    raw, record = a_line()
    line = json.loads(raw)
    check = line.pop("check")
    assert line == {
        "seq": 1,
        "utc": "2026-11-25T10:15:00.000000Z",
        "sample": 160,
        "kind": "paused",
        "version": 1,
        "payload": {"reason": "radio"},
        "previous": "0" * 64,
    }
    plain = json.dumps(line, sort_keys=True, separators=(",", ":")).encode()
    assert check == hashlib.sha256(plain).hexdigest()[:16]
    assert record.sha256 == hashlib.sha256(raw).hexdigest()
    assert FIRST_PREVIOUS == "0" * 64


def test_a_line_holds_the_machines_running_time_and_its_batch_where_they_are_known():
    running = Uptime(boot="0123456789abcdef", ms=61_000)
    raw, record = a_line(Link(4, "1" * 64), uptime=running, part_of=(4, 3))
    line = json.loads(raw)
    assert (line["uptime"], line["part_of"]) == ({"boot": "0123456789abcdef", "ms": 61_000}, [4, 3])
    assert (record.seq, record.uptime, record.part_of) == (5, running, (4, 3))


def test_a_line_that_stands_alone_is_its_own_batch_and_does_not_say_so():
    raw, record = a_line(Link(4, "1" * 64), part_of=(5, 1))
    assert not {"uptime", "part_of"} & json.loads(raw).keys()
    assert (record.uptime, record.part_of) == (None, (5, 1))


def test_a_line_holds_the_first_sample_and_the_last_that_a_record_can_count():
    assert a_line(sample=0)[1].sample == 0
    assert a_line(sample=2**63 - 1)[1].sample == 2**63 - 1
    with pytest.raises(ValueError, match=rf"^at_sample is {2**63}, not a count from the session's start$"):
        a_line(sample=2**63)


def test_a_line_is_bound_to_the_one_before():
    raw, first = a_line()
    _, second = a_line(first.link)
    assert (second.seq, second.previous) == (2, line_sha256(raw))
    assert broken_link(START, first) is None and broken_link(first.link, second) is None


def test_a_line_after_another_or_out_of_number_does_not_fit():
    _, first = a_line()
    _, second = a_line(first.link)
    assert broken_link(START, second) == "it is number 2, expected was 1"
    assert broken_link(Link(1, "1" * 64), second) == (
        "it was written after another line than the one that stands before it"
    )


def test_every_changed_bit_of_a_line_is_damage():
    raw, _ = a_line(payload={"reason": "radio", "number": 1.5, "text": '\u2028 ä \\ "'})
    for at in range(len(raw)):
        for bit in range(8):
            changed = bytearray(raw)
            changed[at] ^= 1 << bit
            with pytest.raises(DamagedLine):
                read_line(bytes(changed))


@settings(max_examples=300)
@given(st.data())
def test_bytes_cut_out_put_in_or_doubled_are_damage(data):
    raw, _ = a_line()
    at = data.draw(st.integers(0, len(raw) - 1))
    to = data.draw(st.integers(at + 1, len(raw)))
    changed = data.draw(st.sampled_from([raw[:at] + raw[to:], raw[:to] + raw[at:], raw[:at] + b" " + raw[at:]]))
    with pytest.raises(DamagedLine):
        read_line(changed)


def forged(**changes):
    """A line whose check fits, but whose content no writer makes."""
    line = json.loads(a_line()[0])
    del line["check"]
    line.update(changes)
    line["check"] = hashlib.sha256(canonical(line)).hexdigest()[:16]
    return canonical(line)


def test_a_forged_line_is_read_when_its_form_is_right():
    assert read_line(forged(seq=7)).seq == 7


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"seq": 0}, "seq is 0, not a whole number from 1"),
        ({"seq": "1" * 50}, "seq is " + "1" * 40 + ", not a whole number from 1"),
        ({"seq": True}, "seq is True, not a whole number from 1"),
        ({"seq": "1"}, "seq is 1, not a whole number from 1"),
        ({"seq": 1.0}, "seq is 1.0, not a whole number from 1"),
        ({"sample": -1}, "sample is -1, not a whole number from 0"),
        ({"version": 0}, "version is 0, not a whole number from 1"),
        ({"kind": 5}, "kind is not text, or payload is not an object"),
        ({"payload": []}, "kind is not text, or payload is not an object"),
        ({"previous": 5}, "previous is not a SHA-256"),
        ({"previous": "0" * 63}, "previous is not a SHA-256"),
        ({"previous": "G" * 64}, "previous is not a SHA-256"),
        ({"utc": "yesterday"}, "time is 'yesterday', not like 2026-11-25T10:15:00.000000Z"),
        ({"extra": 1}, "not a journal line: the keys are not those of one"),
        ({"uptime": 5}, "uptime is not a boot and milliseconds"),
        ({"uptime": {"boot": "0" * 16}}, "uptime is not a boot and milliseconds"),
        ({"uptime": {"boot": "0" * 16, "ms": 1.5}}, "uptime is not a boot and milliseconds"),
        ({"uptime": {"boot": "0" * 16, "ms": True}}, "uptime is not a boot and milliseconds"),
        ({"uptime": {"boot": "0" * 16, "ms": -1}}, "uptime is not as the assistant writes it"),
        ({"uptime": {"boot": "0" * 15, "ms": 1}}, "uptime is not as the assistant writes it"),
        ({"uptime": {"boot": 5, "ms": 1}}, "uptime is not as the assistant writes it"),
        ({"part_of": 5}, "part_of is not a first line and a number of lines"),
        ({"part_of": [1]}, "part_of is not a first line and a number of lines"),
        ({"part_of": [1, 2, 3]}, "part_of is not a first line and a number of lines"),
        ({"part_of": [1, True]}, "part_of is not a first line and a number of lines"),
        ({"part_of": [0, 2]}, "part_of is a batch that the line does not belong to"),
        ({"part_of": [2, 2]}, "part_of is a batch that the line does not belong to"),
        ({"part_of": [1, 0]}, "part_of is a batch that the line does not belong to"),
        ({"seq": 3, "part_of": [1, 2]}, "part_of is a batch that the line does not belong to"),
    ],
)
def test_a_forged_line_of_the_wrong_form_is_damage(changes, says):
    with pytest.raises(DamagedLine, match=f"^{re.escape(says)}$"):
        read_line(forged(**changes))


@pytest.mark.parametrize(
    ("changes", "part_of", "uptime"),
    [
        ({"seq": 2, "part_of": [1, 2]}, (1, 2), None),
        ({"seq": 2, "part_of": [2, 1]}, (2, 1), None),
        ({"uptime": {"boot": "0" * 16, "ms": 0}}, (1, 1), Uptime(boot="0" * 16, ms=0)),
    ],
)
def test_a_forged_line_at_the_edge_of_its_form_is_read(changes, part_of, uptime):
    record = read_line(forged(**changes))
    assert (record.part_of, record.uptime) == (part_of, uptime)


def test_a_line_whose_check_is_another_says_so():
    line = json.loads(a_line()[0])
    with pytest.raises(DamagedLine, match=r"^its check figure does not fit its content$"):
        read_line(canonical(line | {"check": "0" * 16}))


def test_a_line_nested_too_deep_is_damage():
    with pytest.raises(DamagedLine, match=r"^nested too deep$"):
        read_line(b'{"a":' * 100_000 + b"1" + b"}" * 100_000)


@pytest.mark.parametrize("raw", [b"", b"null", b"[]", b"{}", b'"text"', b"5"])
def test_another_document_is_no_line(raw):
    with pytest.raises(DamagedLine):
        read_line(raw)


def test_a_sample_before_the_session_is_our_bug():
    with pytest.raises(ValueError, match="at_sample"):
        a_line(sample=-1)


@given(st.lists(st.binary(max_size=8).filter(lambda part: b"\n" not in part)), st.binary(max_size=4))
def test_only_a_line_feed_ends_a_line(parts, rest):
    rest = rest.replace(b"\n", b"")
    raw = b"".join(part + b"\n" for part in parts) + rest
    assert split_lines(raw) == (parts, rest)
    assert split_lines(b"a\rb\x85c\x0bd\n") == ([b"a\rb\x85c\x0bd"], b"")


@pytest.mark.parametrize(
    ("raw", "lines", "count"),
    [
        (b"", [], 0),
        (b'{"n":1}\n{"n":2}\n', [b'{"n":1}', b'{"n":2}'], 16),
        (b'{"n":1}\n{"n"', [b'{"n":1}'], 8),  # cut short
        (b'{"n":1}\n\0\0\0:2}\n', [b'{"n":1}'], 8),  # a power cut: zeros where its beginning was
        (b'{"n":1}\n{"\0:2}\n', [b'{"n":1}'], 8),
        (b'{"n":1}\n{"n\0{"n":3}\n', [b'{"n":1}', b'{"n\0{"n":3}'], 20),  # two run together: for `read_line` to refuse
        (b'{\0}\n{"n":2}\n', [b"{\0}", b'{"n":2}'], 12),  # not the last line
        (b"\0\n{", [b"\0"], 2),  # what is torn is the rest, so no line is left out
    ],
)
def test_of_a_file_of_synced_lines_only_the_torn_end_is_left_out(raw, lines, count):
    assert synced_lines(raw) == (lines, count)
