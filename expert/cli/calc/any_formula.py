"""`rackwalk calc FORMULA`: any formula of the catalogue."""

from __future__ import annotations

import argparse
import math

from expert.cli.calc.results import (
    Asked,
    CalcResult,
    add_common,
    air_of,
    option,
    shown_example,
    source_of,
    tell,
)
from expert.errors import ReadingError
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.uncertainty import propagate
from expert.units.kinds import Kind
from expert.units.measure import Measure

EXAMPLES = shown_example


def DESCRIPTION(name: str) -> str:  # noqa: N802  (what `run_module` asks of every command)
    """How it is computed, and what it presupposes."""
    formula = CATALOG[name]
    text = f"It is: {formula.text}."
    return f"{text}\nIt holds for: {formula.validity}." if formula.validity else text


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """One option an input."""
    formula = CATALOG[name]
    if formula.needs_refrigerant:
        parser.add_argument("refrigerant", metavar="REFRIGERANT")
    for key, kind in formula.inputs.items():
        if kind is Kind.CHOICE:
            words = formula.choices[key]
            parser.add_argument(option(key), required=True, choices=words, help=" or ".join(words))
    for asked in asked_of(formula):
        asked.add(parser)
    add_common(parser, refrigerant=formula.needs_refrigerant)
    parser.set_defaults(formula=name)


def asked_of(formula: Formula) -> tuple[Asked, ...]:
    """The inputs of a formula that are numbers."""
    return tuple(
        Asked(
            key,
            kind,
            units=formula.usual.get(key, ("", "")),
            reading=key not in formula.exact,
            also=formula.also.get(key),
        )
        for key, kind in formula.inputs.items()
        if kind is not Kind.CHOICE
    )


def run(options: argparse.Namespace) -> int:
    """Print the result; errors say the range."""
    formula, air = CATALOG[options.formula], air_of(options)
    fluid = ""
    if formula.needs_refrigerant:
        from expert.physics.fluids.refrigerants import refrigerant

        fluid = refrigerant(options.refrigerant).designation
    inputs: dict[str, Measure | str] = {
        key: getattr(options, key) for key, kind in formula.inputs.items() if kind is Kind.CHOICE
    }
    taken: dict[str, Measure] = {}
    assumed: list[str] = []
    asked = asked_of(formula)
    for one in sorted(asked, key=lambda one: one.also is not None):  # what turns needs the others
        taken[one.name], usual = one.take(options, air, {**inputs, **taken})
        assumed += [one.name] if usual else []
    inputs = {**inputs, **{one.name: taken[one.name] for one in asked}}
    result = evaluate(formula, Context(fluid or None, air), inputs)
    tell(
        CalcResult(
            title=formula.title,
            results={formula.name: result},
            inputs=inputs,
            formula=formula.text,
            source=source_of(formula.source, fluid),
            basis=formula.basis,
            validity=formula.validity,
            refrigerant=fluid,
            warning=formula.warn(result.value),
            assumed=tuple(assumed),
            units={key: formula.unit(key, options.units) for key in formula.usual},
        ),
        options,
    )
    return 0


def evaluate(formula: Formula, context: Context, inputs: dict[str, Measure | str]) -> Measure:
    """The result of a formula over measures and choice words, its plus/minus where known."""
    values = {k: v if isinstance(v, str) else v.value for k, v in inputs.items()}
    errors = {k: v.plus_minus or 0.0 for k, v in inputs.items() if isinstance(v, Measure)}
    try:
        value, spread = propagate(formula, context, values, errors)  # type: ignore[arg-type]
    except (ZeroDivisionError, OverflowError):
        raise ReadingError(f"{formula.title}: no result for these inputs.") from None
    return Measure(formula.output, value, spread if 0 < spread < math.inf else None)
