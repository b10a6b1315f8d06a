"""What is due as a calendar file (RFC 5545) that any calendar program takes in.

A duty keeps its UID, so that taking the file in again moves what has moved; one that was done is
sent as cancelled, which takes it out. The library `icalendar` folds, escapes and checks.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from expert.errors import UsageError
from expert.records.due import Duty

PRODUCT = "-//rackwalk//refrigerant log//EN"


def to_calendar(found: Iterable[Duty], notice: str, now: datetime) -> bytes:
    """The calendar of some duties as of `now` (with its zone). Raises UsageError without the
    library."""
    try:
        from icalendar import Calendar, Event
    except ImportError:
        raise UsageError(
            "A calendar file needs the library icalendar: pip install 'rackwalk[calendar]'."
        ) from None
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    for duty in found:
        event = Event()
        event.add("uid", duty.uid)
        event.add("dtstamp", now)
        event.add("last-modified", now)
        event.add("dtstart", duty.due)
        event.add("dtend", duty.due + timedelta(days=1))
        event.add("summary", f"{duty.system}: {duty.what} due, {duty.site}")
        sentences = [f"Clock started {duty.since}.", duty.note]
        sentences.append(f"Done {duty.done}." if duty.done else "")
        event.add("description", " ".join((*filter(None, sentences), notice)))
        event.add("status", "CANCELLED" if duty.done else "CONFIRMED")
        event.add("sequence", 1 if duty.done else 0)
        event.add("transp", "TRANSPARENT")
        event.add("categories", ["refrigerant"])
        calendar.add_component(event)
    return bytes(calendar.to_ical())
