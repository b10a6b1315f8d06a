"""Which jobs are meant: by site, crew, checklist, equipment and day; the same for every command."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Protocol, TypeVar

from expert.cli.frame.options import typed_day
from expert.errors import UsageError, nearest

NOBODY = "nobody named"
FILTERS = ("site", "who", "checklist", "subject")


class Filtered(Protocol):
    """What a filter asks of a job."""

    @property
    def created(self) -> datetime:
        """When it was begun."""
        ...


J = TypeVar("J", bound=Filtered)


def add_filters(parser: argparse.ArgumentParser) -> None:
    """`--site`, `--who`, `--checklist`, `--subject`, `--since`, `--until`."""
    parser.add_argument("--site", metavar="NAME", help="jobs of one site")
    parser.add_argument("--who", metavar="NAME", help="jobs of one crew")
    parser.add_argument("--checklist", metavar="NAME", help="jobs of one procedure")
    parser.add_argument("--subject", metavar="ID", help="jobs on one circuit or rack")
    parser.add_argument("--since", metavar="DAY", help="begun on this day or later")
    parser.add_argument("--until", metavar="DAY", help="begun on this day or earlier")


def chosen(options: argparse.Namespace, jobs: Iterable[J]) -> list[J]:
    """The jobs that are meant, in their order. Raises UsageError for a name that none has."""
    since, until = days(options)
    found = list(jobs)
    for name in FILTERS:
        wanted: str | None = getattr(options, name, None)
        if wanted is not None:
            known = dict.fromkeys(str(getattr(job, name)) or NOBODY for job in found)
            only = meant(wanted, list(known), name)
            found = [job for job in found if (str(getattr(job, name)) or NOBODY) == only]
    if since is None and until is None:
        return found
    return [job for job in found if in_time(day_of(job), since, until)]


def days(options: argparse.Namespace) -> tuple[date | None, date | None]:
    """The first and the last day that are meant. Raises UsageError."""
    return typed_day(options.since, "--since"), typed_day(options.until, "--until")


def day_of(job: Filtered) -> date:
    """The day here on which a job was begun."""
    return job.created.astimezone().date()


def in_time(day: date, since: date | None, until: date | None) -> bool:
    """Whether a day lies between two, where they are given."""
    return (since is None or day >= since) and (until is None or day <= until)


def meant(wanted: str, known: Sequence[str], what: str) -> str:
    """The name that was meant: as it stands, or its only beginning. Raises UsageError."""
    typed = wanted.casefold()
    if same := [name for name in known if name.casefold() == typed]:
        return same[0]
    begins = [name for name in known if name.casefold().startswith(typed)]
    if len(begins) == 1:
        return begins[0]
    if begins:
        raise UsageError(f"--{what}: '{wanted}' could be {' or '.join(sorted(begins)[:6])}.")
    some = ", ".join(sorted(known)[:8])
    hint = nearest(wanted, known) or (f"There are: {some}." if known else "")
    raise UsageError(f"--{what}: no job has '{wanted}'. {hint}".rstrip())
