"""`rackwalk calc leak-rate`: both methods, triggers and clocks from a list of additions."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path

from expert.cli.calc.results import shown_example
from expert.cli.frame.common import add_json, add_units, print_json, say
from expert.errors import PackError
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Node, read_yaml
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.leak_law.appliance import Addition, Appliance, Reason, added_in
from expert.physics.leak_law.clocks import chronic, detection_duty, inspection, repair_clock
from expert.physics.leak_law.rate import LeakRate, Method, leak_rate
from expert.physics.leak_law.rules import leak_rules
from expert.units.kinds import POUND, Kind
from expert.units.measure import Measure, as_json, format_both

_FILE = (
    "refrigerant", "full_charge", "use", "installed", "follow_up_passed", "initial_passed",
    "evacuated", "back_in_operation", "known_since", "additions",
)  # fmt: skip
_ADDITION = ("on", "added", "reason", "same_leak", "removed", "removed_on")
_NUMBERS = 12  # digits kept of a weight typed in kilograms; pounds stay exact


@dataclass(frozen=True)
class AdditionsFile:
    """What a file of additions says."""

    unit: Appliance
    additions: tuple[Addition, ...]
    installed: date | None
    follow_up_passed: date | None
    initial_passed: date | None
    evacuated: bool
    back_in_operation: date | None
    known_since: date | None = None


DESCRIPTION = (
    "The file is YAML: refrigerant, full_charge (600 lb), use, and additions: "
    "[{on: 2026-02-01, added: 60 lb}]; beside them installed, follow_up_passed, "
    "initial_passed, evacuated, back_in_operation, known_since (the log is whole from then on)\n"
    "where known. A seasonal addition: {on, added, reason: seasonal variance, removed: 60 lb,\n"
    "removed_on: 2026-04-01}."
)
EXAMPLES = shown_example


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """The file."""
    parser.add_argument("file", type=Path, metavar="FILE")
    add_units(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the rates of the last addition, what they set off, and by when."""
    history = read_history(options.file)
    last = history.additions[-1].on
    rates, refused = [], []
    for method in Method:
        try:
            rates.append(
                leak_rate(
                    history.unit,
                    history.additions,
                    last,
                    method,
                    history.follow_up_passed,
                    known_since=history.known_since or history.installed,
                )
            )
        except PhysicsError as error:
            refused.append(f"{method.value}: {error}")
    document = _document(history, last, rates, refused, options.units)
    if options.json:
        print_json(document)
    else:
        for line in _lines(history, last, rates, refused):
            say(line)
    return 0


def read_history(path: Path) -> AdditionsFile:
    """A checked file of additions. Raises PackError with every problem found."""
    reader = Reader()
    root = reader.fields(
        read_yaml(path), "a file of additions", _FILE, ("refrigerant", "full_charge", "additions")
    )
    if root is None:
        raise PackError(reader.problems)
    got = root.fields
    additions = [
        one
        for item in reader.items(got["additions"], "additions")
        if (one := _addition(item, reader)) is not None
    ]
    if not additions:
        reader.problem("no-additions", "There is no addition to work with.", got["additions"].place)
    charge = _pounds(got["full_charge"], "full_charge", reader)
    use = reader.text(got.get("use"), "use", "commercial refrigeration")
    dates = {
        name: _date(got.get(name), name, reader)
        for name in (
            "installed",
            "follow_up_passed",
            "initial_passed",
            "back_in_operation",
            "known_since",
        )
    }
    evacuated = reader.word(got.get("evacuated"), "answer", ("yes", "no"), "no") == "yes"
    if reader.problems:
        raise PackError(reader.problems)
    additions.sort(key=lambda one: one.on)
    unit = Appliance(reader.text(got["refrigerant"], "refrigerant"), charge, use)
    leak_rules().limit(use)
    return AdditionsFile(
        unit,
        tuple(additions),
        dates["installed"],
        dates["follow_up_passed"],
        dates["initial_passed"],
        evacuated,
        dates["back_in_operation"],
        dates["known_since"],
    )


def _addition(node: Node, reader: Reader) -> Addition | None:
    fields = reader.fields(node, "an addition", _ADDITION, ("on", "added"))
    if fields is None:
        return None
    got = fields.fields
    on = _date(got["on"], "on", reader)
    pounds = _pounds(got["added"], "added", reader)
    reasons = {reason.value: reason for reason in Reason}
    reason = reader.word(got.get("reason"), "reason", tuple(reasons), Reason.LEAK.value)
    same = reader.word(got.get("same_leak"), "answer", ("yes", "no"), "no") == "yes"
    if on is None or not pounds > 0:
        if on is not None:
            reader.problem("not-above-zero", "An addition must be above zero.", got["added"].place)
        return None
    removed_on = _date(got.get("removed_on"), "removed_on", reader)
    removed = _pounds(got["removed"], "removed", reader) if "removed" in got else Fraction(0)
    if reasons[reason] is Reason.SEASONAL and (removed_on is None or not removed > 0):
        hint = "Add 'removed: 60 lb, removed_on: 2026-04-01': what it puts back, and since when."
        message = "A seasonal addition counts as one only with what was removed before."
        reader.problem("no-removal", message, node.place, hint)
        return None
    return Addition(on, pounds, reasons[reason], same, removed, removed_on)


def _pounds(node: Node, what: str, reader: Reader) -> Fraction:
    """Pounds exactly as typed; another unit to twelve digits."""
    text = reader.text(node, what)
    number, _, unit = text.partition(" ")
    if unit in ("", "lb", "lbs"):
        try:
            return Fraction(number)
        except (ValueError, ZeroDivisionError):
            pass
    mass = reader.measure(node, what, Kind.MASS)
    return Fraction(0) if mass is None else Fraction(str(round(mass / POUND, _NUMBERS)))


def _date(node: Node | None, what: str, reader: Reader) -> date | None:
    if node is None:
        return None
    text = reader.text(node, what)
    try:
        return date.fromisoformat(text)
    except ValueError:
        reader.problem("not-a-date", f"'{text}' is no date.", node.place, "Write it as 2026-02-01.")
        return None


def _clocks(history: AdditionsFile, rates: list[LeakRate]) -> dict[str, str]:
    """What a rate over the limit sets off, with dates."""
    over = [rate for rate in rates if rate.over]
    last = history.additions[-1].on
    found: dict[str, str] = {}
    if over:
        clock = repair_clock(
            last,
            initial_passed=history.initial_passed,
            evacuated=history.evacuated,
            back_in_operation=history.back_in_operation,
        )
        found["repair_by"] = str(clock.repair_by)
        found["initial_verification_by"] = str(clock.initial_verification_by)
        if clock.follow_up_by:
            found["follow_up_verification_by"] = str(clock.follow_up_by)
        found["plan_by_if_not_repaired"] = str(clock.plan_by)
        if look := inspection(history.unit, last):
            found["inspect_every"] = f"{look.how_often}, until {look.until}"
            found["first_inspection_by"] = str(look.first_by)
    year = chronic(added_in(last.year, history.additions), history.unit.full_charge, last.year)
    if year.report and year.report_by:
        found["chronic_leaker_report_by"] = str(year.report_by)
    if history.installed:
        duty = detection_duty(history.unit, history.installed)
        by = f" by {duty.by}" if duty.by else ""
        wanted = "required" if duty.required else "not required"
        found["automatic_detection"] = f"{wanted}{by}: {duty.reason}"
    return found


def _lines(
    history: AdditionsFile, last: date, rates: list[LeakRate], refused: list[str]
) -> Iterator[str]:
    charge = format_both(Measure(Kind.MASS, float(history.unit.full_charge) * POUND))
    yield f"{history.unit.refrigerant}, {history.unit.use}, full charge {charge}"
    yield f"Addition of {last}:"
    for rate in rates:
        verdict = "over the limit" if rate.over else "not over the limit"
        if not rate.settled:
            verdict = "what is known does not say whether it is over the limit"
        limit = f"{float(rate.limit) * 100:g}"
        yield f"  {rate.method.value}: {float(rate.percent):.2f} % a year; {verdict} of {limit} %"
        yield (f"    {float(rate.added):g} lb of {float(rate.full_charge):g} lb, {rate.days} days")
        for note in rate.notes:
            yield f"    note: {note}"
    for text in refused:
        yield f"  {text}"
    for name, value in _clocks(history, rates).items():
        yield f"  {name.replace('_', ' ')}: {value}"
    yield leak_rules().notice


def _document(
    history: AdditionsFile, last: date, rates: list[LeakRate], refused: list[str], system: str
) -> dict[str, object]:
    return {
        "refrigerant": history.unit.refrigerant,
        "full_charge": as_json(Measure(Kind.MASS, float(history.unit.full_charge) * POUND), system),
        "addition": str(last),
        "rates": [
            {
                "method": rate.method.value,
                "rate": {"value": float(rate.percent), "unit": "% per year"},
                "limit": {"value": float(rate.limit) * 100, "unit": "% per year"},
                "over": rate.over if rate.settled else None,
                "added": as_json(Measure(Kind.MASS, float(rate.added) * POUND), system),
                "days": rate.days,
                "programmes": [programme.citation for programme in rate.programmes],
                "notes": list(rate.notes),
            }
            for rate in rates
        ],
        "refused": refused,
        "clocks": _clocks(history, rates),
        "notice": leak_rules().notice,
    }
