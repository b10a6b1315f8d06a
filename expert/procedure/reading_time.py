"""When something was read: 'at 11:42', 'at 8 min', '3 min ago'."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from expert.errors import ReadingError
from expert.knowledge.how_read import split_way
from expert.knowledge.model import Quantity
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

FORMS = "Write the time as 'at 11:42', '8 min ago' or, on a running clock, 'at 8 min'."
_OF_DAY = re.compile(r"^(?P<h>[01]?\d|2[0-3]):(?P<m>[0-5]\d)(?::(?P<s>[0-5]\d))?$")
_AGO = re.compile(r"^(?P<value>.+?)\s+(?P<ago>\S+(?:\s*[a-z]+)?)\s+ago$", re.IGNORECASE)
_SLACK = timedelta(seconds=30)  # clocks of a watch and of the computer differ (own choice)
_HALF_A_DAY = timedelta(hours=12)


def without_time(text: str) -> tuple[str, str]:
    """'112 psig at 8:00' to '112 psig' and '8:00'; '' where no time stands behind the value.

    How it was read stays with the value: '112 by display'.
    """
    body, way = split_way(text)
    value, time = _time_apart(body)
    return (f"{value} by {way}", time) if way and time else (value if time else text, time)


def _time_apart(text: str) -> tuple[str, str]:
    value, at, time = text.rpartition(" at ")
    if at and time[:1].isdecimal() and value.strip():
        return value.strip(), time.strip()
    if (match := _AGO.match(text.strip())) and match["ago"][:1].isdecimal():
        return match["value"].strip(), f"{match['ago']} ago"
    return text, ""


def is_of_day(time: str) -> bool:
    """Whether a time could be one of day: '11:42'."""
    return _OF_DAY.match(time) is not None


def time_behind(
    text: str, quantity: Quantity | None, now: datetime, started: datetime | None
) -> tuple[str, datetime | None]:
    """A value and when it was read, where that stands behind it; words and durations have none.

    `started` is when the clock of a watch was. Raises ReadingError as `when_read` does.
    """
    if quantity is None or quantity.kind in (Kind.TEXT, Kind.DURATION):
        return text, None
    value, time = without_time(text)
    return (value, when_read(time, now, started)) if time else (text, None)


def when_read(time: str, now: datetime, started: datetime | None = None) -> datetime:
    """The moment that a time means; `started` is when the clock of the step was, if it has one.

    'm:ss' is the clock's where it has run so long, else a time of day. Raises ReadingError for
    what is no time, lies ahead, or could be both.
    """
    if time.endswith(" ago"):
        return now - _duration(time.removesuffix(" ago"))
    match = _OF_DAY.match(time)
    of_day = _time_of_day(match, now) if match else None
    if started is None:
        if of_day is None:
            raise ReadingError(f"'{time}' is no time of day. {FORMS}")
        return _not_ahead(of_day, time, now)
    on_clock = _on_clock(time, started)
    fits = on_clock is not None and on_clock <= now + _SLACK
    plain = match is not None and match["s"] is None
    if of_day is not None and match is not None and match["s"] is not None:
        return _not_ahead(of_day, time, now)
    if fits and plain and of_day is not None and started - _SLACK <= of_day <= now + _SLACK:
        raise ReadingError(
            f"'{time}' could be the clock or the time of day. Write '{_minutes(time)}' for the "
            f"clock, '{time}:00' for the time of day."
        )
    if on_clock is not None and (fits or of_day is None or of_day < started - _SLACK):
        return _not_ahead(on_clock, time, now)
    assert of_day is not None
    return _not_ahead(of_day, time, now)


def _on_clock(time: str, started: datetime) -> datetime | None:
    try:
        return started + _duration(time)
    except ReadingError:
        return None


def _duration(text: str) -> timedelta:
    """A duration with a unit or as m:ss. Raises ReadingError."""
    return timedelta(seconds=parse_measure(text, Kind.DURATION).value)


def _time_of_day(match: re.Match[str], now: datetime) -> datetime:
    """That time today, or yesterday where it would lie half a day ahead.

    By the clock on the wall, which is put forward or back between then and now twice a year: of
    an hour that comes twice it is the later one, unless that lies ahead.
    """
    wall = now.astimezone().replace(
        hour=int(match["h"]), minute=int(match["m"]), second=int(match["s"] or 0), microsecond=0,
        tzinfo=None,
    )  # fmt: skip
    if wall.astimezone(now.tzinfo) > now + _HALF_A_DAY:
        wall -= timedelta(days=1)
    later = wall.replace(fold=1).astimezone(now.tzinfo)
    return later if later <= now + _SLACK else wall.replace(fold=0).astimezone(now.tzinfo)


def _not_ahead(moment: datetime, time: str, now: datetime) -> datetime:
    if moment > now + _SLACK:
        raise ReadingError(f"'{time}' lies ahead. {FORMS}")
    return moment


def _minutes(time: str) -> str:
    minutes, _, seconds = time.partition(":")
    return f"{int(minutes) + int(seconds or 0) / 60:.2g} min"
