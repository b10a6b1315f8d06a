"""When something was read: the clock, the time of day, or how long ago."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

import pytest

from expert.errors import ReadingError
from expert.procedure.reading_time import when_read, without_time

NOW = datetime(2026, 3, 14, 12, 0, tzinfo=UTC).astimezone()
STARTED = NOW - timedelta(minutes=15)


@pytest.mark.parametrize(
    ("text", "value", "time"),
    [
        ("112 psig at 8:00", "112 psig", "8:00"),
        ("still frosted at 8 min", "still frosted", "8 min"),
        ("112 2 min ago", "112", "2 min ago"),
        ("at a joint", "at a joint", ""),
        ("112 psig", "112 psig", ""),
    ],
)
def test_a_time_stands_behind_a_value(text: str, value: str, time: str) -> None:
    assert without_time(text) == (value, time)


def test_on_a_running_clock_minutes_are_the_clocks() -> None:
    assert when_read("8:00", NOW, STARTED) == STARTED + timedelta(minutes=8)
    assert when_read("8 min", NOW, STARTED) == STARTED + timedelta(minutes=8)


def test_without_a_clock_it_is_the_time_of_day() -> None:
    moment = NOW - timedelta(minutes=40)
    assert when_read(f"{moment:%H:%M}", NOW) == moment.replace(second=0)


def test_how_long_ago() -> None:
    assert when_read("3 min ago", NOW) == NOW - timedelta(minutes=3)


def test_what_lies_ahead_is_refused() -> None:
    with pytest.raises(ReadingError, match="lies ahead"):
        when_read("20 min", NOW, STARTED)


def test_what_could_be_both_is_asked() -> None:
    started = NOW.replace(hour=0, minute=5)
    now = NOW.replace(hour=0, minute=20)
    with pytest.raises(ReadingError, match="could be the clock or the time of day"):
        when_read("0:10", now, started)
    assert when_read("0:10:00", now, started) == now.replace(minute=10)


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of the process cannot be set")
@pytest.mark.parametrize(
    ("now", "typed", "read"),
    [
        # clocks go back at 2 in the morning, 9:00 UTC: half past twelve was before that
        ("2026-11-01T11:00", "0:30", "2026-11-01T07:30"),
        # of the hour that comes twice the later, or the earlier while the later lies ahead
        ("2026-11-01T09:40", "1:35", "2026-11-01T09:35"),
        ("2026-11-01T08:40", "1:35", "2026-11-01T08:35"),
        # clocks go forward at 2 in the morning, 10:00 UTC
        ("2026-03-08T11:00", "1:30", "2026-03-08T09:30"),
        # yesterday, across the change
        ("2026-03-08T10:20", "23:50", "2026-03-08T07:50"),
        ("2026-07-10T20:00", "12:30", "2026-07-10T19:30"),
    ],
)
def test_the_clock_on_the_wall_is_put_forward_and_back(
    now: str, typed: str, read: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "America/Los_Angeles")
    time.tzset()
    try:
        found = when_read(typed, datetime.fromisoformat(now).replace(tzinfo=UTC))
    finally:
        monkeypatch.undo()
        time.tzset()
    assert found == datetime.fromisoformat(read).replace(tzinfo=UTC)
