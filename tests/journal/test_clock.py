"""Promise 13: one clock, one spelling."""

from datetime import datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.journal.clock import utc_now, utc_read, utc_text


@given(st.datetimes(timezones=st.sampled_from([timezone.utc, timezone(timedelta(hours=5, minutes=30))]),
                    min_value=datetime(1900, 1, 2), max_value=datetime(2999, 1, 1)))  # fmt: skip
def test_a_moment_comes_back_to_the_microsecond(moment):
    assert utc_read(utc_text(moment)) == moment
    assert utc_text(moment).endswith("Z")


def test_the_clock_is_aware():
    assert utc_now().utcoffset() == timedelta(0)


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="aware"):
        utc_text(datetime(2026, 11, 25))


@pytest.mark.parametrize("text", [None, 5, "", "2026-11-25", "2026-11-25T10:15:00Z", "2026-11-25T10:15:00.000000+00:00",
                                  "2026-13-25T10:15:00.000000Z", "2026-02-30T10:15:00.000000Z",
                                  "2026-11-25T24:15:00.000000Z", "٢026-11-25T10:15:00.000000Z",
                                  "2026-11-25T10:15:00.000000Z\n"])  # fmt: skip
def test_another_spelling_of_a_time_is_refused(text):
    with pytest.raises(ValueError):
        utc_read(text)
