"""`rackwalk quantities`: the dictionary of what can be measured, observed or computed."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.common import add_json, add_units, print_json, rulebase, say
from expert.knowledge.model import Quantity
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure, as_json, difference_kind, format_value

DESCRIPTION = "The names that rules, checklists and files of readings use."
EXAMPLES = """\
  rackwalk quantities
  rackwalk quantities drier
  rackwalk quantities --json --units si"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("word", nargs="?", default="", help="only names or titles with this word")
    parser.add_argument("--rulebase", type=Path, metavar="FOLDER", help="another rulebase")
    add_units(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the dictionary."""
    base = rulebase(options.rulebase)
    word = options.word.lower()
    chosen = [q for q in base.quantities.values() if word in q.id or word in q.title.lower()]
    if options.json:
        print_json([_as_json(quantity, options.units) for quantity in chosen])
        return 0
    for quantity in chosen:
        say(f"{quantity.id}: {quantity.title}")
        say(f"    {_what(quantity, options.units)}")
        if quantity.where:
            say(f"    where: {quantity.where}")
    return 0


def _what(quantity: Quantity, system: str) -> str:
    if quantity.is_choice:
        return f"{quantity.subject}; one of: {', '.join(quantity.choices)}"
    parts = [quantity.subject, quantity.kind.value.replace("_", " ")]
    if quantity.kind is not Kind.TEXT and (unit := unit_for(quantity.kind, system).name):
        parts.append(f"in {unit}")
    if quantity.derivation:
        inputs = ", ".join(source.quantity for source in quantity.derivation.inputs.values())
        parts.append(f"computed from {inputs}")
    if quantity.accuracy:
        spread = format_value(difference_kind(quantity.kind), quantity.accuracy, system)
        parts.append(f"plus/minus {spread}")
    return "; ".join(parts)


def _as_json(quantity: Quantity, system: str) -> dict[str, object]:
    shown: dict[str, object] = {
        "id": quantity.id,
        "title": quantity.title,
        "subject": quantity.subject,
        "kind": quantity.kind.value,
        "source": str(quantity.source),
    }
    if quantity.is_choice:
        shown["choices"] = list(quantity.choices)
    elif quantity.kind is not Kind.TEXT:
        shown["unit"] = unit_for(quantity.kind, system).name
    if quantity.where:
        shown["where"] = quantity.where
    if quantity.instrument:
        shown["with"] = quantity.instrument
    if quantity.accuracy is not None:
        kind = difference_kind(quantity.kind)
        shown["accuracy"] = as_json(Measure(kind, quantity.accuracy), system)
    for name in ("refuse_below", "refuse_above", "unusual_below", "unusual_above"):
        if (edge := getattr(quantity, name)) is not None:
            shown[name] = as_json(Measure(quantity.kind, edge), system)
    if quantity.derivation:
        shown["function"] = quantity.derivation.function
        shown["inputs"] = {k: v.quantity for k, v in quantity.derivation.inputs.items()}
    return shown
