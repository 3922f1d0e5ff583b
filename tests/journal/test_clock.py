"""Promise 13: one clock, one spelling."""

import re
import time
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.journal.clock import BOOT, Uptime, running_beside, uptime_now, utc_now, utc_read, utc_text


@given(st.datetimes(timezones=st.sampled_from([timezone.utc, timezone(timedelta(hours=5, minutes=30))]),
                    min_value=datetime(1900, 1, 2), max_value=datetime(2999, 1, 1)))  # fmt: skip
def test_a_moment_comes_back_to_the_microsecond(moment):
    assert utc_read(utc_text(moment)) == moment
    assert utc_text(moment).endswith("Z")


def test_the_clock_is_aware():
    assert utc_now().utcoffset() == timedelta(0)


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match=r"^the journal's clock must give an aware time$"):
        utc_text(datetime(2026, 11, 25))


def test_a_moment_is_written_in_utc_wherever_the_machine_stands(monkeypatch):
    with monkeypatch.context() as elsewhere:
        elsewhere.setenv("TZ", "XYZ-5")
        time.tzset()
        assert utc_text(datetime(2026, 11, 25, 12, tzinfo=timezone.utc)) == "2026-11-25T12:00:00.000000Z"
    time.tzset()


def test_a_text_that_is_no_time_is_quoted_in_part():
    with pytest.raises(ValueError, match=re.escape("time is '" + "a" * 59 + ", not like 2026-11-25T10:15:00.000000Z")):
        utc_read("a" * 100)


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="the system does not tell how long it has been running")
def test_the_running_time_goes_on_from_the_same_boot():
    """Linux: /proc/uptime counts the seconds since the machine was started, sleep counted in (proc_uptime(5), read)."""
    one, two = uptime_now(), uptime_now()
    assert one.boot == two.boot and BOOT.fullmatch(one.boot)
    assert one.ms <= two.ms
    since = 1000 * float(Path("/proc/uptime").read_text("ascii").split()[0])
    assert one.ms - 20 <= since  # told in hundredths of a second
    assert since - one.ms < 600_000


class Told:
    """A made-up clock that tells how long its machine has been running."""

    def __call__(self):
        return datetime(2026, 11, 25, tzinfo=timezone.utc)

    def uptime(self):
        return Uptime(boot="a" * 16, ms=5)


def test_the_running_time_is_that_of_the_clock_that_is_asked():
    assert running_beside(utc_now) is uptime_now
    assert running_beside(Told())() == Uptime(boot="a" * 16, ms=5)
    assert running_beside(lambda: datetime(2026, 11, 25, tzinfo=timezone.utc))() is None


@pytest.mark.parametrize("text", [None, 5, "", "2026-11-25", "2026-11-25T10:15:00Z", "2026-11-25T10:15:00.000000+00:00",
                                  "2026-13-25T10:15:00.000000Z", "2026-02-30T10:15:00.000000Z",
                                  "2026-11-25T24:15:00.000000Z", "٢026-11-25T10:15:00.000000Z",
                                  "2026-11-25T10:15:00.000000Z\n"])  # fmt: skip
def test_another_spelling_of_a_time_is_refused(text):
    with pytest.raises(ValueError):
        utc_read(text)
