"""Promise 1: one sequence, each line bound to the one before and true to itself."""

import hashlib
import json

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
)
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


def test_a_line_is_bound_to_the_one_before():
    raw, first = a_line()
    _, second = a_line(first.link)
    assert (second.seq, second.previous) == (2, line_sha256(raw))
    assert broken_link(START, first) is None and broken_link(first.link, second) is None


def test_a_line_after_another_or_out_of_number_does_not_fit():
    _, first = a_line()
    _, second = a_line(first.link)
    assert "number 2, expected was 1" in broken_link(START, second)
    assert "another line" in broken_link(Link(1, "1" * 64), second)


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
        ({"seq": 0}, "seq is 0"),
        ({"seq": True}, "seq is True"),
        ({"seq": "1"}, "seq is 1"),
        ({"seq": 1.0}, "seq is 1.0"),
        ({"sample": -1}, "sample is -1"),
        ({"version": 0}, "version is 0"),
        ({"kind": 5}, "kind is not text"),
        ({"payload": []}, "payload is not an object"),
        ({"previous": "0" * 63}, "previous is not"),
        ({"previous": "G" * 64}, "previous is not"),
        ({"utc": "yesterday"}, "time is 'yesterday'"),
        ({"extra": 1}, "keys are not"),
    ],
)
def test_a_forged_line_of_the_wrong_form_is_damage(changes, says):
    with pytest.raises(DamagedLine, match=says):
        read_line(forged(**changes))


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
