"""`rackwalk refrigerant due`: what is due, by when, as a list or for a calendar."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_rulebase, print_json, say
from expert.cli.frame.options import add_place, typed_day
from expert.cli.frame.page_by_page import add_pages, page
from expert.errors import NotWritten

if TYPE_CHECKING:
    from expert.records.due import Duty

DESCRIPTION = """\
Repairs, verifications, leak inspections, plans and chronic leaker reports that the log makes due,
and systems whose leak rate cannot be worked out. Days are calendar days. --calendar writes a file
that calendar programs take in; taken in again it moves what has moved and takes out what was
done. Without --site, the site file of each site's newest job counts. What was done on a later
visit is answered in its job: rackwalk resume JOB."""
EXAMPLES = """\
  rackwalk refrigerant due
  rackwalk refrigerant due --site my-store.yaml --until 2026-12-31
  rackwalk refrigerant due --calendar due.ics"""


TOLD_LATE = 366  # days after its last day, what was done late is still told (own choice)


def add_arguments(parser: argparse.ArgumentParser, action: str) -> None:
    """Options of the action."""
    parser.add_argument(
        "--site", type=Path, metavar="FILE", help="one site (default: every site with jobs)"
    )
    parser.add_argument("--system", metavar="RACK", help="one rack of the site")
    parser.add_argument("--until", metavar="DAY", help="only what is due up to this day")
    parser.add_argument("--on", metavar="DAY", help="as of another day (default: today)")
    parser.add_argument("--calendar", type=Path, metavar="FILE", help="an iCalendar file")
    add_pages(parser)
    add_json(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, whether or not anything is due."""
    from expert.cli.refrigerant.accounts import (
        notice,
        site_account,
        sites_asked_for,
        today,
        wrapped,
    )
    from expert.errors import UsageError
    from expert.records.due import duties, open_until
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    on = typed_day(options.on, "--on") or today()
    until = typed_day(options.until, "--until")
    if options.system and options.site is None:
        raise UsageError("--system needs --site: racks of several sites have the same names.")
    with JobStore(job_place(options.jobs)) as store:
        accounts = [
            site_account(store, site, options, options.system)
            for site in sites_asked_for(store, options)
        ]
    found = [duty for each in accounts for log in each.logs for duty in duties(log, on)]
    found.sort(key=lambda each: (each.due, each.site, each.system, each.what))
    notes = [
        f"{log.system.site}, {log.system.id}: {note}"
        for each in accounts
        for log in each.logs
        if log.lines
        for note in log.notes
    ]
    due = open_until(found, until)
    late = [each for each in found if each.late and (on - each.due).days <= TOLD_LATE]
    if options.calendar:
        from expert.records.calendar import to_calendar

        kept = [each for each in found if each.done or until is None or each.due <= until]
        _write(options.calendar, to_calendar(kept, notice(), datetime.now(UTC)))
    if options.json:
        print_json(
            {
                "on": str(on), "due": [_document(each, on) for each in due], "notes": notes,
                "late": [{**_document(each, on), "done": str(each.done)} for each in late],
                "notice": notice(),
            }
        )  # fmt: skip
        return 0
    shown, more = page([*_texts(due, on), *_late_texts(late), *notes], options)
    for text in wrapped((*shown, *filter(None, [more]), notice())):
        say(text)
    if options.calendar:
        say(f"Calendar: {options.calendar}")
    return 0


def _texts(due: list[Duty], on: date) -> Iterator[str]:
    if not due:
        yield "Nothing is due that the log knows of."
    for duty in due:
        late = f" OVERDUE by {(on - duty.due).days} days" if duty.overdue(on) else ""
        yield (
            f"{duty.due}{late}: {duty.what}; {duty.site}, {duty.system}; "
            f"clock started {duty.since}. {duty.note}".rstrip()
        )


def _late_texts(late: list[Duty]) -> Iterator[str]:
    for duty in late:
        assert duty.done is not None
        yield (
            f"{duty.done} came {duty.late} days LATE: {duty.what}; {duty.site}, {duty.system}; "
            f"was due {duty.due}, clock started {duty.since}."
        )


def _document(duty: Duty, on: date) -> dict[str, object]:
    return {
        "site": duty.site, "system": duty.system, "what": duty.what, "due": str(duty.due),
        "since": str(duty.since), "overdue": duty.overdue(on), "note": duty.note, "uid": duty.uid,
    }  # fmt: skip


def _write(path: Path, data: bytes) -> None:
    from expert.whole_file import write_whole

    try:
        write_whole(path, data, mode=0o666)
    except OSError as error:
        raise NotWritten(f"Cannot write the calendar to {path}: {error.strerror}.") from None
