"""`rackwalk calc`: what a technician takes from a chart or a pocket calculator."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from expert.cli.calc import charts as calc_charts
from expert.cli.calc import cycle_and_defrost as calc_charge
from expert.cli.calc import leak_rate as calc_leak
from expert.cli.calc import saturation as calc_saturation
from expert.cli.calc import suction_group as calc_group
from expert.cli.calc import verdicts as calc_verdicts
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
SPECIAL = (
    calc_saturation,
    calc_charts,
    calc_group,
    calc_verdicts,
    calc_charge,
    calc_leak,
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One sub-command a formula, and the tables and verdicts."""
    formulas = parser.add_subparsers(dest="formula", metavar="FORMULA", required=True)
    formulas.add_parser("list", help="all formulas and their inputs").set_defaults(does=_list)
    for module in SPECIAL:
        module.add(formulas)
    for name, formula in CATALOG.items():
        sub = formulas.add_parser(name, description=f"{formula.title}.\n{formula.text}")
        sub.set_defaults(does=_formula)
        if formula.needs_refrigerant:
            sub.add_argument("refrigerant", metavar="REFRIGERANT")
        for key, kind in formula.inputs.items():
            if kind is Kind.CHOICE:
                words = formula.choices[key]
                sub.add_argument(option(key), required=True, choices=words, help=" or ".join(words))
            else:
                add_measure(sub, key, kind)
        add_common(sub)
    for name, sub in formulas.choices.items():
        sub.epilog = epilog(name, _SHOWN.get(name) or example(sub))


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
