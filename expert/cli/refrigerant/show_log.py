"""`rackwalk refrigerant log`: every amount, the leak rate then, by whom, and what followed."""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from fractions import Fraction
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_rulebase, add_units, print_json, say
from expert.cli.frame.options import add_place, add_site, typed_day
from expert.csv_cells import safe
from expert.records.amounts import POUND
from expert.records.record_roles import ADDED
from expert.units.kinds import Kind
from expert.units.measure import Measure, as_json, format_both

if TYPE_CHECKING:
    from expert.records.ledger import LedgerLine, SystemLog
    from expert.records.movements import Movement

DESCRIPTION = """\
One line for each amount that was added or recovered, and for each full charge that was determined
again, with the leak rate of that day by the method of the site file, who did it, and after how many
days a repair, the verifications and an inspection followed. Without a full charge a rate is
unknown, never zero."""
EXAMPLES = """\
  rackwalk refrigerant log --site my-store.yaml
  rackwalk refrigerant log --site my-store.yaml --system A --since 2026-01-01
  rackwalk refrigerant log --site my-store.yaml --csv"""
COLUMNS = (
    "site", "system", "refrigerant", "day", "what", "pounds", "kilograms", "as_typed", "reason",
    "cylinder", "certificate", "who", "job", "checklist", "full_charge_lb", "method",
    "leak_rate_percent_per_year", "limit_percent_per_year", "over", "remarks", "followed",
    "corrected",
)  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser, action: str) -> None:
    """Options of the action."""
    add_site(parser, needed=True)
    parser.add_argument("--system", metavar="RACK", help="one rack (default: all)")
    parser.add_argument("--since", metavar="DAY", help="from this day on")
    parser.add_argument("--until", metavar="DAY", help="up to this day")
    parser.add_argument("--csv", action="store_true", help="a table on stdout")
    add_json(parser)
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, also for an empty log."""
    from expert.cli.refrigerant.accounts import notice, site_account, sites_asked_for, wrapped
    from expert.errors import UsageError
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    if options.csv and options.json:
        raise UsageError("Choose one of --csv and --json.")
    since, until = typed_day(options.since, "--since"), typed_day(options.until, "--until")
    with JobStore(job_place(options.jobs)) as store:
        (site,) = sites_asked_for(store, options)
        found = site_account(store, site, options, options.system)
    chosen = {
        log.system.id: [
            line for line in log.lines if _within(line.movement, since, until)
        ]
        for log in found.logs
    }  # fmt: skip
    if options.json:
        systems = [_document(log, chosen[log.system.id], options.units) for log in found.logs]
        print_json(
            {
                "site": found.site.name, "systems": systems, "notes": list(found.notes),
                "notice": notice(),
            }
        )  # fmt: skip
        return 0
    if options.csv:
        table = csv.writer(sys.stdout, lineterminator="\n")
        table.writerow(COLUMNS)
        for log in found.logs:
            for line in chosen[log.system.id]:
                table.writerows(map(safe, row) for row in _rows(log, line))
            for each in log.struck:
                if _within(each, since, until):
                    table.writerow(map(safe, _struck_row(log, each)))
        return 0
    for log in found.logs:
        struck = [each for each in log.struck if _within(each, since, until)]
        for text in wrapped(_texts(log, chosen[log.system.id], struck)):
            say(text)
    for text in wrapped((*found.notes, notice())):
        say(text)
    return 0


def _within(moved: Movement, since: date | None, until: date | None) -> bool:
    return (since is None or moved.day >= since) and (until is None or moved.day <= until)


def mass(pounds: Fraction) -> Measure:
    """Exact pounds as a measure."""
    return Measure(Kind.MASS, float(pounds * POUND))


def _texts(log: SystemLog, lines: list[LedgerLine], struck: Iterable[Movement]) -> Iterator[str]:
    system = log.system
    days = [line.movement.day for line in log.lines]
    charge = log.charge_on(max(days)) if days else None
    pounds = charge.pounds if charge else system.full_charge
    full_charge = format_both(mass(pounds)) if pounds is not None else "full charge unknown"
    refrigerant = system.refrigerant or "refrigerant not given"
    yield f"{system.id}: {system.title}, {refrigerant}, {full_charge}"
    yield from log.notes
    if not lines:
        yield "Nothing was added or recovered."
    for line in lines:
        yield from line_texts(line)
    for each in struck:
        yield f"{each.day} {each.kind}: struck, counts for nothing; job {each.job}"
        yield from corrected_texts(each)


def line_texts(line: LedgerLine) -> Iterator[str]:
    """One line of the log as sentences."""
    moved = line.movement
    parts = [f"{moved.day} {moved.kind} {format_both(mass(moved.pounds))}"]
    parts += [moved.reason] if moved.reason else []
    parts.append(f"cylinder {moved.cylinder or 'not given'}")
    parts.append(f"certificate {moved.certificate or 'not given'}")
    parts.append(moved.who or "nobody named")
    parts.append(f"job {moved.job}")
    yield "; ".join(parts)
    yield from corrected_texts(moved)
    for rate in line.rates:
        verdict = "OVER" if rate.over else "not over" if rate.programmes else "not judged by"
        yield (
            f"- {float(rate.percent):.2f} % a year, {verdict} the limit of "
            f"{float(rate.limit * 100):g} % ({rate.method.value}, {rate.days} days)"
        )
        for note in rate.notes:
            yield f"- {note}"
    for text in line.unknown:
        yield f"- {text}"
    if moved.kind == ADDED and line.followed:
        after = (f"{what} after {_days(days)}" for what, days in line.followed)
        yield f"- followed by: {'; '.join(after)}"
    elif line.over:
        yield "- nothing that follows is recorded yet"


def corrected_texts(moved: Movement) -> Iterator[str]:
    """What stood in a line before, who changed it, when and why."""
    for each in moved.corrected:
        by, before_by = (name or "by whom was not kept" for name in (each.by, each.before_by))
        yield (
            f"- corrected: '{each.before}' ({before_by}, {_when(each.before_at)}) to "
            f"'{each.after}' ({by}, {_when(each.at)}); why: {each.why}"
        )


def _when(at: datetime) -> str:
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def _corrected_document(moved: Movement) -> list[dict[str, str]]:
    return [
        {
            "step": each.step, "before": each.before, "after": each.after,
            "before_by": each.before_by, "before_at": each.before_at.isoformat(),
            "by": each.by, "at": each.at.isoformat(), "why": each.why,
        }
        for each in moved.corrected
    ]  # fmt: skip


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _document(log: SystemLog, lines: list[LedgerLine], units: str) -> dict[str, object]:
    charge = log.system.full_charge
    return {
        "system": log.system.id,
        "title": log.system.title,
        "refrigerant": log.system.refrigerant,
        "full_charge_of_site_file": None if charge is None else as_json(mass(charge), units),
        "methods": [method.value for method in log.system.methods],
        "lines": [_line_document(line, units) for line in lines],
        "struck": [
            {
                "day": str(each.day),
                "what": each.kind,
                "job": each.job,
                "corrected": _corrected_document(each),
            }
            for each in log.struck
        ],
        "notes": list(log.notes),
    }


def _line_document(line: LedgerLine, units: str) -> dict[str, object]:
    moved = line.movement
    return {
        "day": str(moved.day), "what": moved.kind, "amount": as_json(mass(moved.pounds), units),
        "as_typed": moved.written, "reason": moved.reason, "cylinder": moved.cylinder,
        "certificate": moved.certificate, "who": moved.who, "job": moved.job,
        "checklist": moved.checklist,
        "full_charge": None if line.charge is None else as_json(mass(line.charge.pounds), units),
        "full_charge_from": None if line.charge is None else line.charge.how,
        "rates": [
            {
                "method": rate.method.value,
                "rate": {"value": float(rate.percent), "unit": "% per year"},
                "limit": {"value": float(rate.limit * 100), "unit": "% per year"},
                "over": rate.over, "days": rate.days,
                "programmes": [programme.citation for programme in rate.programmes],
                "notes": list(rate.notes),
            }
            for rate in line.rates
        ],
        "rate_asked": line.asked,
        "unknown": list(line.unknown),
        "followed": [{"what": what, "days": days} for what, days in line.followed],
        "corrected": _corrected_document(moved),
    }  # fmt: skip


def _rows(log: SystemLog, line: LedgerLine) -> Iterator[list[object]]:
    moved = line.movement
    corrected = "; ".join(text.removeprefix("- ") for text in corrected_texts(moved))
    followed = "; ".join(f"{what} after {_days(days)}" for what, days in line.followed)
    head = [
        log.system.site, log.system.id, log.system.refrigerant, moved.day, moved.kind,
        _number(moved.pounds), _number(moved.pounds * POUND), moved.written, moved.reason,
        moved.cylinder, moved.certificate, moved.who, moved.job, moved.checklist,
        _number(line.charge.pounds) if line.charge else "",
    ]  # fmt: skip
    for rate in line.rates:
        notes = "; ".join((*rate.notes, *line.unknown))
        limit = _number(rate.limit * 100)
        over = "yes" if rate.over else "no"
        yield [
            *head,
            rate.method.value,
            _number(rate.percent),
            limit,
            over,
            notes,
            followed,
            corrected,
        ]
    if not line.rates:
        unknown = "unknown" if line.asked else ""
        yield [*head, "", unknown, "", unknown, "; ".join(line.unknown), followed, corrected]


def _struck_row(log: SystemLog, each: Movement) -> list[object]:
    corrected = "; ".join(text.removeprefix("- ") for text in corrected_texts(each))
    head = [log.system.site, log.system.id, log.system.refrigerant, each.day, f"struck {each.kind}"]
    found = [*head, "0", "0", each.written, each.reason, each.cylinder, each.certificate]
    found += [each.who, each.job, each.checklist]
    return [*found, *[""] * (len(COLUMNS) - len(found) - 1), corrected]


def _number(exact: Fraction) -> str:
    return f"{float(exact):.10g}"
