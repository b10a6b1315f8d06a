"""What goes into the books: refrigerant, hours, parts. Nothing is added to what was recorded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from expert.inference.evaluation_model import Finding
from expert.inference.sentences import first_up, value_text
from expert.procedure.entries import Entry
from expert.report.parts import Part
from expert.report.report_roles import ReportRoles
from expert.report.stages import clock_time


@dataclass(frozen=True)
class RefrigerantLine:
    """One line of the books: what, how much, of which refrigerant, where and when."""

    what: str
    amount: str
    refrigerant: str
    where: str
    when: str


@dataclass(frozen=True)
class Hours:
    """From the first entry to the last, and what of it lies between a stop and going on again.

    `total` leaves that out. `set_back` says that the machine's clock was turned back meanwhile;
    what then lies between two entries is not known and counts as nothing.
    """

    begun: datetime
    ended: datetime
    away: timedelta
    total: timedelta
    set_back: bool = False


@dataclass(frozen=True)
class PartLine:
    """A part that a cause names. `proven` says that the trouble no longer shows."""

    part: str
    finding: Finding
    where: str
    proven: bool


def refrigerant_moved(parts: Iterable[Part], roles: ReportRoles) -> tuple[RefrigerantLine, ...]:
    """Every amount that was moved. A log of refrigerant, once there is one, adds its lines here."""
    return tuple(_lines(parts, roles.refrigerant_moved))


def refrigerant_figures(parts: Iterable[Part], roles: ReportRoles) -> tuple[RefrigerantLine, ...]:
    """What else was read or worked out for the books of refrigerant."""
    return tuple(_lines(parts, roles.refrigerant_figures))


def _lines(parts: Iterable[Part], names: Sequence[str]) -> Iterator[RefrigerantLine]:
    seen: set[tuple[str, ...]] = set()
    for part in parts:
        for stage in part.stages:
            known = stage.evaluation.known
            for name in names:
                if name not in known or not (known[name].measured or not part.member):
                    continue
                amount = value_text(known[name].value, part.system, plus_minus=False)
                times = [r.at for r in known[name].readings if r.stage != "site" and r.at]
                when = clock_time(max(times)) if times else ""
                line = (part.subject.rack, name, amount, when)  # a circuit sees it of its rack too
                if line in seen:
                    continue
                seen.add(line)
                yield RefrigerantLine(
                    first_up(known[name].quantity.title),
                    amount,
                    part.subject.facts.get("refrigerant", ""),
                    part.subject.id,
                    when,
                )


def hours(entries: Sequence[Entry]) -> Hours | None:
    """The time that the entries span; None without entries."""
    if not entries:
        return None
    away = total = timedelta()
    set_back = False
    for before, entry in pairwise(entries):
        between = entry.at - before.at
        set_back = set_back or between < timedelta()
        between = max(between, timedelta())
        if entry.kind == "resume":
            away += between
        else:
            total += between
    return Hours(entries[0].at, entries[-1].at, away, total, set_back)


def parts_named(parts: Iterable[Part]) -> tuple[PartLine, ...]:
    """The parts that the causes name, those of open findings first."""
    found = [
        PartLine(name, finding, part.subject.id, proven)
        for part in parts
        for finding, proven in (
            *((item.finding, False) for item in part.attention),
            *((finding, True) for finding in part.put_right),
        )
        for name in finding.cause.parts
    ]
    return tuple(sorted(found, key=lambda line: line.proven))
