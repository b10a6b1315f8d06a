"""`rackwalk calc`: what a technician takes from a chart or a pocket calculator."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping

from expert.cli.common import add_json, add_units, print_json, say
from expert.errors import ReadingError
from expert.inference.sentences import first_up
from expert.physics.air import barometer
from expert.physics.catalog import CATALOG
from expert.physics.formula import Context, Formula
from expert.physics.model import TABLES
from expert.physics.refrigerants import refrigerant
from expert.physics.saturation import Saturation, saturation
from expert.physics.uncertainty import propagate
from expert.units.kinds import Kind
from expert.units.measure import Measure, as_json, difference_kind, format_both, format_measure
from expert.units.parse import parse_measure

_Curve = Callable[[float], float]

DESCRIPTION = """\
Every formula takes its inputs as options; 'rackwalk calc FORMULA --help' lists them.
A bare number takes the unit of --units; pressures are gauge unless typed as psia or bara."""
EXAMPLES = """\
  rackwalk calc list
  rackwalk calc saturation R-449A --temperature -20F
  rackwalk calc saturation R-448A --pressure 215psig --altitude 5280ft --json
  rackwalk calc superheat R-449A --pressure 12psig --line-temperature 2F
  rackwalk calc subcooling R-407A --pressure 250psig --line-temperature 95F --units si"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One sub-command a formula, and `saturation` and `list`."""
    formulas = parser.add_subparsers(dest="formula", metavar="FORMULA", required=True)
    formulas.add_parser("list", help="all formulas and their inputs")
    both = formulas.add_parser("saturation", help="dew and bubble at a temperature or pressure")
    both.add_argument("refrigerant", metavar="REFRIGERANT")
    one = both.add_mutually_exclusive_group(required=True)
    one.add_argument("--temperature", metavar="T")
    one.add_argument("--pressure", metavar="P")
    _add_common(both)
    for name, formula in CATALOG.items():
        sub = formulas.add_parser(name, description=f"{formula.title}.\n{formula.text}")
        if formula.needs_refrigerant:
            sub.add_argument("refrigerant", metavar="REFRIGERANT")
        for key, kind in formula.inputs.items():
            what = kind.value.replace("_", " ")
            if kind is Kind.CHOICE:
                what = " or ".join(formula.choices.get(key, ()))
            sub.add_argument(_option(key), required=True, metavar=key[:1].upper(), help=what)
            if kind is not Kind.CHOICE:
                sub.add_argument(f"{_option(key)}-accuracy", metavar="A", help=argparse.SUPPRESS)
        _add_common(sub)


def _option(name: str) -> str:
    return "--" + name.replace("_", "-")


def _add_common(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--altitude", metavar="H", default="0 ft", help="of the site (default 0 ft)")
    add_units(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the result; errors say the range."""
    if options.formula == "list":
        for formula in CATALOG.values():
            needs = "REFRIGERANT " if formula.needs_refrigerant else ""
            say(f"{formula.name}: {formula.title}")
            say(f"    {needs}{' '.join(map(_option, formula.inputs))}")
        return 0
    altitude = parse_measure(options.altitude, Kind.LENGTH, system=options.units)
    air = barometer(altitude.value)
    if options.formula == "saturation":
        return _saturation(options, air)
    return _formula(options, CATALOG[options.formula], air)


def _saturation(options: argparse.Namespace, air: float) -> int:
    fluid = saturation(options.refrigerant)
    error = refrigerant(fluid.refrigerant).model_error
    rows: dict[str, dict[str, Measure]] = {}
    lines: dict[str, tuple[_Curve, _Curve, _Curve]] = {
        "dew": (fluid.dew_pressure, fluid.dew_temperature, fluid.dew_slope),
        "bubble": (fluid.bubble_pressure, fluid.bubble_temperature, fluid.bubble_slope),
    }
    for name, (pressure_at, temperature_at, slope_at) in lines.items():
        if options.temperature is not None:
            asked = parse_measure(options.temperature, Kind.TEMPERATURE, system=options.units)
            temperature, pressure = asked.value, pressure_at(asked.value)
            spread: tuple[float | None, float | None] = (None, slope_at(temperature) * error)
        else:
            asked = parse_measure(
                options.pressure, Kind.GAUGE_PRESSURE, barometer=air, system=options.units
            )
            pressure = asked.value + air
            temperature = temperature_at(pressure)
            spread = (error, None)
        rows[name] = {
            "temperature": Measure(Kind.TEMPERATURE, temperature, spread[0]),
            "pressure_gauge": Measure(Kind.GAUGE_PRESSURE, pressure - air, spread[1]),
            "pressure_absolute": Measure(Kind.ABSOLUTE_PRESSURE, pressure, spread[1]),
        }
    if options.json:
        shown = {
            name: {key: as_json(measure, options.units) for key, measure in row.items()}
            for name, row in rows.items()
        }
        print_json(
            {
                "refrigerant": fluid.refrigerant,
                **shown,
                "barometer": as_json(Measure(Kind.ABSOLUTE_PRESSURE, air), options.units),
                "source": TABLES,
            }
        )
        return 0
    _print_saturation(fluid, rows, air, options.units)
    return 0


def _print_saturation(
    fluid: Saturation, rows: Mapping[str, Mapping[str, Measure]], air: float, system: str
) -> None:
    say(f"{fluid.refrigerant}, barometer {format_both(Measure(Kind.ABSOLUTE_PRESSURE, air))}")
    uses = {"dew": "vapour side: superheat, evaporating", "bubble": "liquid side: subcooling"}
    for name, row in rows.items():
        say(f"{first_up(name)} ({uses[name]})")
        for key, measure in row.items():
            say(f"  {key.replace('_', ' ')}: {format_measure(measure, system)}")
    say(f"Source: {TABLES}.")


def _formula(options: argparse.Namespace, formula: Formula, air: float) -> int:
    fluid = None
    if formula.needs_refrigerant:
        fluid = refrigerant(options.refrigerant).designation
    context = Context(fluid, air)
    inputs: dict[str, Measure] = {}
    words: dict[str, str] = {}
    for key, kind in formula.inputs.items():
        text = getattr(options, key)
        if kind is Kind.CHOICE:
            if text not in formula.choices[key]:
                known = " or ".join(formula.choices[key])
                raise ReadingError(f"{_option(key)} '{text}': it must be {known}.")
            words[key] = text
            continue
        inputs[key] = _input(options, key, kind, air, text)
    values: dict[str, float] = {key: measure.value for key, measure in inputs.items()}
    errors = {key: measure.plus_minus or 0.0 for key, measure in inputs.items()}
    value, spread = propagate(formula, context, {**values, **words}, errors)  # type: ignore[dict-item]
    result = Measure(formula.output, value, spread)
    warning = formula.warn(value)
    if options.json:
        document: dict[str, object] = {formula.name: as_json(result, options.units)}
        if fluid:
            document["refrigerant"] = fluid
        document["inputs"] = {k: as_json(m, options.units) for k, m in inputs.items()} | words
        document |= {"formula": formula.text, "basis": formula.basis, "source": formula.source}
        if warning:
            document["warning"] = warning
        print_json(document)
        return 0
    say(f"{formula.title}: {format_measure(result, options.units)}")
    for key, measure in inputs.items():
        say(f"  {key.replace('_', ' ')}: {format_both(measure)}")
    say(f"  formula: {formula.text}")
    if formula.basis:
        say(f"  basis: {formula.basis}")
    say(f"  source: {formula.source}")
    if warning:
        say(f"Warning: {warning}")
    return 0


def _input(
    options: argparse.Namespace, key: str, kind: Kind, air: float, text: str
) -> Measure:
    try:
        measure = parse_measure(text, kind, barometer=air, system=options.units)
        accuracy = getattr(options, f"{key}_accuracy")
        if accuracy is None:
            return measure
        spread = parse_measure(accuracy, difference_kind(kind), system=options.units)
        return Measure(kind, measure.value, abs(spread.value))
    except ReadingError as error:
        raise ReadingError(f"{_option(key)}: {error}") from None
