"""Promise 10: what is not exactly one plain document is refused."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.journal.strict_json import NotStrictJson, canonical, canonical_document, strict_document

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**63) + 1, 2**63 - 1) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)  # fmt: skip


@given(PLAIN)
def test_a_document_comes_back_as_it_was_from_one_line_of_ascii(document):
    raw = canonical(document)
    assert canonical_document(raw) == document
    assert raw.isascii() and b"\n" not in raw and b"\r" not in raw
    assert len(raw.decode().splitlines()) <= 1


@given(PLAIN, st.sampled_from([b" ", b"\n", b"\t", b"\0", b"x"]))
def test_another_spelling_of_a_document_is_refused(document, extra):
    with pytest.raises(NotStrictJson):
        canonical_document(canonical(document) + extra)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b'{"a":1,"a":2}', "'a' is there twice"),
        (b'{"x":{"b":2,"a":1,"a":1}}', "'a' is there twice"),
        (b"[NaN]", "NaN is not a number"),
        (b"[Infinity]", "Infinity is not a number"),
        (b"[-Infinity]", "-Infinity is not a number"),
        (b"[1e400]", "1e400 is out of range"),
        (b"[-1e400]", "-1e400 is out of range"),
        (b"[" + b"9" * 5000 + b"]", "out of range"),
        (b"[9223372036854775808]", "out of range"),
        (b"[-9223372036854775808]", "out of range"),  # twenty letters, as many as a number may have
        (b"[" * 100_000 + b"]" * 100_000, "nested too deep"),
        (b'{"a":' * 100_000, "nested too deep"),
        (b"\xff\xfe", "not UTF-8"),
        ("{}".encode("utf-16"), "not UTF-8"),
        (b"\xef\xbb\xbf{}", "not JSON"),
        (b"", "not JSON"),
        (b"{} {}", "not JSON"),
        (b'["a\nb"]', "not JSON"),
        (b"[01]", "not JSON"),
    ],
)
def test_what_a_lenient_reader_would_let_through_is_refused(raw, says):
    with pytest.raises(NotStrictJson, match=says):
        strict_document(raw)


def test_a_deep_document_that_parses_is_still_refused_or_read_never_a_crash():
    for depth in range(100, 3000, 100):
        raw = b"[" * depth + b"]" * depth
        try:
            canonical_document(raw)
        except NotStrictJson as error:
            assert str(error) == "nested too deep"


def test_the_largest_number_that_a_record_holds_is_read():
    for number in (2**63 - 1, -(2**63) + 1):
        assert strict_document(str(number).encode()) == number


def test_another_spelling_is_named_as_such():
    with pytest.raises(NotStrictJson, match=r"^not spelled as the assistant writes it$"):
        canonical_document(b"[ ]")


def test_writing_what_no_reader_may_accept_is_an_error_at_once():
    with pytest.raises(ValueError, match="Out of range"):
        canonical([float("nan")])
    assert json.loads(canonical({"\u2028": "\x85"})) == {"\u2028": "\x85"}
