"""`rackwalk calc leak-checks`: how often to check for leaks by the law of the European Union."""

from __future__ import annotations

import argparse
from datetime import date

from expert.cli.calc.results import Asked, add_common, air_of, shown_example
from expert.cli.frame.common import print_json, say
from expert.errors import UsageError
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.leak_law.eu_checks import eu_rules, leak_check
from expert.units.kinds import Kind
from expert.units.measure import as_json, format_both

DESCRIPTION = (
    "By tonnes of CO2 equivalent (Regulation (EU) 2024/573), or kilograms where all of it is\n"
    "unsaturated. Leak rates and their clocks, as United States rules know them: leak-rate."
)
EXAMPLES = shown_example
_CHARGE = Asked("charge", Kind.MASS, reading=False)
_ANSWERS = ("yes", "no")


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """Refrigerant, charge, and what changes the interval."""
    parser.add_argument("refrigerant", metavar="REFRIGERANT")
    _CHARGE.add(parser)
    parser.add_argument(
        "--detection", choices=_ANSWERS, default="no",
        help="a leakage detection system watches it (default no)",
    )  # fmt: skip
    parser.add_argument(
        "--sealed", choices=_ANSWERS, default="no",
        help="hermetically sealed and labelled so (default no)",
    )  # fmt: skip
    parser.add_argument("--last", metavar="DAY", help="day of the last check, as 2026-02-01")
    add_common(parser, refrigerant=True)


def run(options: argparse.Namespace) -> int:
    """The interval, what it rests on, and the next day."""
    air = air_of(options)
    one = refrigerant(options.refrigerant)
    charge, _ = _CHARGE.take(options, air, {})
    found = leak_check(
        one.designation, round(charge.value, 9),
        detection=options.detection == "yes", sealed=options.sealed == "yes",
    )  # fmt: skip
    due = found.due(_day(options.last)) if options.last else None
    every = f"every {found.months} months" if found.months else "none asked for"
    required = "required" if found.detection_required else "not required"
    if options.json:
        print_json(
            {
                "refrigerant": one.designation,
                "charge": as_json(charge, options.units),
                "gwp": float(found.gwp),
                "tonnes_co2_equivalent": float(found.tonnes),
                "every_months": found.months,
                "reason": found.reason,
                "next_by": None if due is None else str(due),
                "leakage_detection_system": required,
                "law": eu_rules().regulation,
                "source": found.source,
                "notice": found.notice,
            }
        )
        return 0
    say(f"Leak checks: {every} ({found.reason})")
    if due is not None:
        say(f"  next by: {due}")
    say(f"  charge: {format_both(charge, options.units)}")
    say(f"  GWP: {float(found.gwp):.6g}; {float(found.tonnes):.4g} t of CO2 equivalent")
    say(f"  leakage detection system: {required}")
    say(f"  law: {eu_rules().regulation}")
    say(f"  source: {found.source}; {eu_rules().sources['annex_i']}")
    say(found.notice)
    return 0


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"--last: '{text}' is no date. Write it as 2026-02-01.") from None
