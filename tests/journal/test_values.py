"""Promise 10: a field comes back equal, and what is not of its type is refused with its path."""

import dataclasses
import enum
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Literal, Optional

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.events import Measured
from assistant.journal.values import Misfit, codec_for


@dataclasses.dataclass(frozen=True)
class Inner:
    number: Decimal
    words: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Outer:
    inners: tuple[Inner, ...]
    by_bolt: dict[int, Inner | None]


@dataclasses.dataclass(frozen=True)
class Picky:
    number: int

    def __post_init__(self):
        if self.number < 0:
            raise ValueError("number is below zero")


def there_and_back(declared, value):
    codec = codec_for(declared)
    return codec.decode(codec.encode(value))


@pytest.mark.parametrize(
    ("declared", "value"),
    [
        (str, "drei\u2028hundert\ud800"),
        (bool, True),
        (int, -5),
        (float, 0.1),
        (Decimal, Decimal("310.50")),
        (Decimal, Decimal("-0")),
        (Decimal, Decimal("1E+5")),
        (int | None, None),
        (Optional[int], 7),  # noqa: UP045 - the older spelling must work too
        (Literal["low", "high"], "low"),
        (tuple[int, ...], ()),
        (tuple[int, str], (1, "a")),
        (dict[str, int], {"": 1}),
        (Mapping[str, tuple[int, ...]], {"a": (1, 2)}),
        (dict[int, str], {-3: "a", 12: "b"}),
        (Any, {"a": [1, 2.5, None, {"b": "c"}]}),
        (Outer, Outer(inners=(Inner(Decimal("1"), ("a",)),), by_bolt={5: Inner(Decimal("2.0")), 9: None})),
    ],
)
def test_every_kind_of_field_comes_back_equal_and_of_the_same_type(declared, value):
    back = there_and_back(declared, value)
    assert back == value and type(back) is type(value) and repr(back) == repr(value)


@given(st.decimals(allow_nan=False, allow_infinity=False))
def test_a_decimal_comes_back_figure_by_figure_or_is_refused_when_written(value):
    try:
        written = codec_for(Decimal).encode(value)
    except Misfit:
        parts = value.as_tuple()
        assert len(parts.digits) > 64 or abs(parts.exponent) > 64
        return
    assert codec_for(Decimal).decode(written).as_tuple() == value.as_tuple()


@pytest.mark.parametrize("text", ["NaN", "sNaN", "Infinity", "-Infinity", "1e5", "+5", " 5", "5 ", "5_0", "٣١٠", "",
                                  "0x5", "1,5", "1E+9999999999999999999", "9" * 65, "1E+65", "١", "５", "00310",
                                  ])  # fmt: skip
def test_only_the_spelling_that_we_write_is_a_decimal(text):
    with pytest.raises(Misfit):
        codec_for(Decimal).decode(text)


@pytest.mark.parametrize(
    ("declared", "value"),
    [
        (str, 5),
        (bool, 1),
        (bool, "true"),
        (int, True),
        (int, 1.0),
        (int, "1"),
        (int, 2**63),
        (float, "1"),
        (float, True),
        (float, 10**400),
        (Decimal, 310),
        (Decimal, 310.5),
        (int | None, "x"),
        (Literal["low", "high"], "middle"),
        (Literal[1], True),
        (tuple[int, ...], {"a": 1}),
        (tuple[int, ...], "12"),
        (tuple[int, str], [1]),
        (tuple[int, str], [1, "a", 2]),
        (dict[str, int], [1]),
        (dict[int, str], {"05": "a"}),
        (dict[int, str], {"x": "a"}),
        (dict[int, str], {"٥": "a"}),
        (Measured, {"value": "310"}),
        (Measured, {"value": "310", "unit": "N*m", "extra": 1}),
        (Measured, ["310", "N*m"]),
        (Picky, {"number": -1}),
    ],
)
def test_a_value_of_another_type_is_refused_when_read(declared, value):
    with pytest.raises(Misfit):
        codec_for(declared).decode(value)


@pytest.mark.parametrize(
    ("declared", "value"),
    [
        (str, b"a"),
        (bool, 1),
        (int, True),
        (int, 1.5),
        (int, 2**63),
        (float, float("nan")),
        (float, float("inf")),
        (float, 10**400),
        (float, "1"),
        (Decimal, 310),
        (Decimal, Decimal("NaN")),
        (Decimal, Decimal("Infinity")),
        (tuple[int, ...], [1]),
        (dict[str, int], {1: 1}),
        (Any, (1, 2)),
        (Any, {1: 2}),
        (Any, Decimal("1")),
        (Any, float("inf")),
        (Measured, Inner(Decimal("1"))),
        (Measured, {"value": "1", "unit": "N*m"}),
    ],
)
def test_a_value_of_another_type_is_refused_when_written(declared, value):
    with pytest.raises(Misfit):
        codec_for(declared).encode(value)


def test_the_path_leads_to_the_field():
    with pytest.raises(Misfit) as caught:
        codec_for(Outer).decode({"inners": [{"number": "1", "words": ["a", 5]}], "by_bolt": {}})
    assert caught.value.path == ".inners[0].words[1]"
    with pytest.raises(Misfit) as caught:
        codec_for(Outer).decode({"inners": [], "by_bolt": {"5": {"number": "one", "words": []}}})
    assert caught.value.path == ".by_bolt['5'].number"


def test_numbers_of_numpy_are_written_as_plain_ones():
    assert repr(codec_for(int).encode(np.int64(5))) == "5"
    assert repr(codec_for(float).encode(np.float32(0.5))) == "0.5"
    assert repr(codec_for(float).encode(np.float64(0.1))) == "0.1"
    assert codec_for(bool).encode(np.bool_(True)) is True
    with pytest.raises(Misfit):
        codec_for(int).encode(np.float64(5))


def test_a_text_enum_is_written_as_its_text():
    class Side(str, enum.Enum):
        LOW = "low"

    assert codec_for(str).encode(Side.LOW) == "low"


def test_nesting_without_end_is_refused():
    deep: Any = []
    for _ in range(500):
        deep = [deep]
    with pytest.raises(Misfit, match="deep"):
        codec_for(Any).encode(deep)
    with pytest.raises(Misfit, match="deep"):
        codec_for(Any).decode(deep)


@dataclasses.dataclass
class Thawed:
    number: int


@pytest.mark.parametrize("declared", [set[int], int | str, bytes, list[int], complex, Thawed, tuple[()], tuple, dict,
                                      dict[float, int], Measured | Inner | None])  # fmt: skip
def test_a_type_that_a_journal_cannot_keep_is_found_when_the_codec_is_made(declared):
    with pytest.raises(TypeError):
        codec_for(declared)
