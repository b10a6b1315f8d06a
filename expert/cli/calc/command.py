"""`rackwalk calc`: what a technician takes from a chart or a pocket calculator."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

from expert.cli.calc.results import (
    CalcResult,
    add_common,
    add_measure,
    air_of,
    epilog,
    example,
    option,
    take,
    tell,
)
from expert.cli.frame.common import say
from expert.cli.frame.parser import Parser
from expert.errors import ReadingError
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.uncertainty import propagate
from expert.units.kinds import Kind
from expert.units.measure import Measure

DESCRIPTION = """\
Every formula takes its inputs as options; 'rackwalk calc FORMULA --help' lists them.
A bare number takes the unit of --units; pressures are gauge unless typed as psia or bara.
The accuracy of an input may be given beside it (--pressure-accuracy 1psi); the result then
carries it.
Tables and verdicts: saturation, refrigerants, chart, suction-group, non-condensables,
standing-vacuum, cycle, defrost-energy, leak-rate; 'rackwalk calc list' names all formulas."""
EXAMPLES = """\
  rackwalk calc list
  rackwalk calc saturation R-449A --temperature -20F
  rackwalk calc saturation R-448A --pressure 215psig --altitude 5280ft --json
  rackwalk calc superheat R-449A --pressure 12psig --line-temperature 2F
  rackwalk calc subcooling R-407A --pressure 250psig --line-temperature 95F --units si
  rackwalk calc chart R-449A --from -40F --to 120F --altitude 5280ft
  rackwalk calc suction-group --site my-store.yaml --rack A"""
_SHOWN = {
    "list": "",
    "saturation": "R-449A --temperature -20F",
    "refrigerants": "R-449A",
    "chart": "R-449A --from -40F --to 120F --altitude 5280ft",
    "suction-group": "--site my-store.yaml --rack A",
    "non-condensables": "R-449A --pressure 150psig --temperature 70F",
    "standing-vacuum": "'300 micron at 0 min' '400 micron at 10 min' '420 micron at 20 min' "
    "--warmest-pipe 70F",
    "leak-rate": "additions.yaml",
}
# Tables and verdicts: what each is for, its module, and what gives it its options.
_SPECIAL = {
    "saturation": ("dew and bubble at a temperature or pressure", "saturation", "add"),
    "refrigerants": (
        "safety class, warming potential, glide ...", "charts", "add_refrigerants",
    ),
    "chart": ("a pressure-temperature chart, text or SVG", "charts", "add_chart"),
    "suction-group": (
        "set point of a rack over all its circuits, by both routes", "suction_group", "add",
    ),
    "non-condensables": (
        "standing pressure of an idle, equalised condenser", "verdicts", "add_non_condensables",
    ),
    "standing-vacuum": (
        "what the rise after isolation says", "verdicts", "add_standing_vacuum",
    ),
    "cycle": (
        "effect, work, performance, discharge temperature", "cycle_and_defrost", "add_cycle",
    ),
    "defrost-energy": (
        "hot gas, electric, off cycle side by side", "cycle_and_defrost", "add_defrost_energy",
    ),
    "leak-rate": (
        "leak rate by both methods, triggers, chronic leakers, clocks", "leak_rate", "add",
    ),
}  # fmt: skip


class _FormulaParser(Parser):
    """Gets its options when it is used: only one of a hundred is."""

    fill: Callable[[argparse.ArgumentParser], None] | None = None

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Fills itself first; its help too is asked for in here."""
        if self.fill is not None:
            fill, self.fill = self.fill, None
            fill(self)
            name = self.prog.split()[-1]
            self.epilog = epilog(name, _SHOWN.get(name) or example(self))
        return super().parse_known_args(args, namespace)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One sub-command a formula, and the tables and verdicts."""
    formulas = parser.add_subparsers(
        dest="formula", metavar="FORMULA", required=True, parser_class=_FormulaParser
    )
    listed = formulas.add_parser("list", help="all formulas and their inputs")
    listed.set_defaults(does=_list)
    listed.fill = lambda _: None
    for name, (says, module, adds) in _SPECIAL.items():
        formulas.add_parser(name, help=says).fill = partial(_fill_special, module, adds)
    for name, formula in CATALOG.items():
        formulas.add_parser(name).fill = partial(_fill_formula, formula)


def _fill_special(module: str, adds: str, parser: argparse.ArgumentParser) -> None:
    getattr(import_module(f"expert.cli.calc.{module}"), adds)(parser)


def _fill_formula(formula: Formula, parser: argparse.ArgumentParser) -> None:
    parser.description = f"{formula.title}.\n{formula.text}"
    parser.set_defaults(does=_formula)
    if formula.needs_refrigerant:
        parser.add_argument("refrigerant", metavar="REFRIGERANT")
    for key, kind in formula.inputs.items():
        if kind is Kind.CHOICE:
            words = formula.choices[key]
            parser.add_argument(option(key), required=True, choices=words, help=" or ".join(words))
        else:
            add_measure(parser, key, kind)
    add_common(parser)


def run(options: argparse.Namespace) -> int:
    """Print the result; errors say the range."""
    does: Callable[[argparse.Namespace], int] = options.does
    return does(options)


def _list(options: argparse.Namespace) -> int:
    for formula in CATALOG.values():
        needs = "REFRIGERANT " if formula.needs_refrigerant else ""
        say(f"{formula.name}: {formula.title}")
        say(f"    {needs}{' '.join(map(option, formula.inputs))}")
    return 0


def _formula(options: argparse.Namespace) -> int:
    formula, air = CATALOG[options.formula], air_of(options)
    fluid = refrigerant(options.refrigerant).designation if formula.needs_refrigerant else ""
    inputs: dict[str, Measure | str] = {}
    for key, kind in formula.inputs.items():
        inputs[key] = (
            str(getattr(options, key)) if kind is Kind.CHOICE else take(options, key, kind, air)
        )
    value, spread = evaluate(formula, Context(fluid or None, air), inputs)
    result = Measure(formula.output, value, spread)
    tell(
        CalcResult(
            title=formula.title,
            results={formula.name: result},
            inputs=inputs,
            formula=formula.text,
            source=formula.source,
            basis=formula.basis,
            refrigerant=fluid,
            warning=formula.warn(value),
        ),
        options,
    )
    return 0


def evaluate(
    formula: Formula, context: Context, inputs: dict[str, Measure | str]
) -> tuple[float, float]:
    """Value and uncertainty of a formula over measures and choice words."""
    values = {k: v if isinstance(v, str) else v.value for k, v in inputs.items()}
    errors = {k: v.plus_minus or 0.0 for k, v in inputs.items() if isinstance(v, Measure)}
    try:
        return propagate(formula, context, values, errors)  # type: ignore[arg-type]
    except (ZeroDivisionError, OverflowError):
        raise ReadingError(f"{formula.title}: no result for these inputs.") from None
