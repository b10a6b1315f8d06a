"""`rackwalk quantities`: the dictionary of what can be measured, observed or computed."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from expert.cli.frame.common import add_json, add_pack, add_units, print_json, say
from expert.cli.job.load_knowledge import load_rules
from expert.inference.sentences import limit_text
from expert.knowledge.model import Limit, Quantity
from expert.knowledge.synonyms import holding, meant
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
    add_pack(parser)
    add_units(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the dictionary."""
    base = load_rules(options.rulebase)
    chosen = holding(options.word, base.quantities.values())
    if options.json:
        print_json([_as_json(quantity, base.limits, options.units) for quantity in chosen])
        return 0
    if not chosen:
        hint = meant(options.word, base.quantities)
        say(f"No quantity has '{options.word}' in its name or title. {hint}".rstrip())
    for quantity in chosen:
        say(f"{quantity.id}: {quantity.title}")
        say(f"    {_what(quantity, options.units)}")
        if quantity.also:
            say(f"    also: {', '.join(quantity.also)}")
        if quantity.where:
            say(f"    where: {quantity.where}")
        for limit in _limits(quantity, base.limits):
            say(f"    normal: {limit_text(limit, quantity, options.units)}{_for(limit)}")
    return 0


def _limits(quantity: Quantity, limits: tuple[Limit, ...]) -> Iterator[Limit]:
    return (limit for limit in limits if limit.quantity == quantity.id)


def _for(limit: Limit) -> str:
    """'; low temperature, hot gas': what a limit is for."""
    words = [" or ".join(each) for each in limit.applies.values()]
    return f"; {', '.join(words)}" if words else ""


def _what(quantity: Quantity, system: str) -> str:
    if quantity.is_choice:
        return f"{quantity.subject}; one of: {', '.join(quantity.choices)}"
    parts = [quantity.subject, quantity.kind.value.replace("_", " ")]
    if quantity.kind is not Kind.TEXT and (unit := unit_for(quantity.kind, system).name):
        parts.append(f"in {unit}")
    if quantity.derivation:
        sources = quantity.derivation.inputs.values()
        inputs = ", ".join(" or ".join(each.places) for each in sources)
        parts.append(f"computed from {inputs}")
        for name, words in quantity.derivation.kinds.items():
            parts.append(f"only where {name} is {' or '.join(words)}")
    if quantity.accuracy:
        spread = format_value(difference_kind(quantity.kind), quantity.accuracy, system)
        parts.append(f"plus/minus {spread}")
    return "; ".join(parts)


def _as_json(quantity: Quantity, limits: tuple[Limit, ...], system: str) -> dict[str, object]:
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
    if quantity.also:
        shown["also"] = list(quantity.also)
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
        if quantity.derivation.kinds:
            shown["kinds"] = {k: list(v) for k, v in quantity.derivation.kinds.items()}
    if own := [_limit_json(limit, quantity, system) for limit in _limits(quantity, limits)]:
        shown["limits"] = own
    return shown


def _limit_json(limit: Limit, quantity: Quantity, system: str) -> dict[str, object]:
    shown: dict[str, object] = {"id": limit.id, "source": str(limit.source)}
    if limit.applies:
        shown["applies"] = {key: list(words) for key, words in limit.applies.items()}
    for name in ("very_low", "low", "high", "very_high"):
        if (edge := getattr(limit, name)) is not None:
            shown[name] = as_json(Measure(quantity.kind, edge), system)
    return shown
