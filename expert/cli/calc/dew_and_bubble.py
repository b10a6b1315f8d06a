"""`rackwalk calc saturation`: dew and bubble at a temperature or a pressure."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping

from expert.cli.calc.results import Asked, add_common, air_of, shown_example, source_of
from expert.cli.frame.common import print_json, say
from expert.physics.fluids.of_context import TABLES
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import Saturation, saturation
from expert.units.kinds import Kind
from expert.units.measure import Measure, as_json, format_both, format_measure

_Curve = Callable[[float], float]
_USES = {"dew": "vapour side: superheat, evaporating", "bubble": "liquid side: subcooling"}
_TEMPERATURE = Asked("temperature", Kind.TEMPERATURE)
_PRESSURE = Asked("pressure", Kind.GAUGE_PRESSURE)
DESCRIPTION = (
    "The plus/minus is that of the property model alone; a reading adds its own, and the formulas\n"
    "(superheat, subcooling ...) carry it."
)
EXAMPLES = shown_example


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """A refrigerant, and a temperature or a pressure."""
    parser.add_argument("refrigerant", metavar="REFRIGERANT")
    one = parser.add_mutually_exclusive_group(required=True)
    one.add_argument("--temperature", metavar="T", help="F (si: C)")
    one.add_argument("--pressure", metavar="P", help="psig (si: bar), or typed as psia, bara ...")
    add_common(parser, refrigerant=True)


def run(options: argparse.Namespace) -> int:
    """Both pressures at a temperature, or both temperatures at a pressure."""
    air = air_of(options)
    fluid = saturation(options.refrigerant)
    rows = _rows(options, fluid, air)
    source = source_of(TABLES, fluid.refrigerant)
    if options.json:
        shown = {
            name: {key: as_json(measure, options.units) for key, measure in row.items()}
            for name, row in rows.items()
        }
        air_shown = as_json(Measure(Kind.ABSOLUTE_PRESSURE, air), options.units)
        print_json(
            {"refrigerant": fluid.refrigerant, **shown, "barometer": air_shown, "source": source}
        )
        return 0
    barometer = format_both(Measure(Kind.ABSOLUTE_PRESSURE, air), options.units)
    say(f"{fluid.refrigerant}, barometer {barometer}")
    for name, row in rows.items():
        say(f"{name.capitalize()} ({_USES[name]})")
        for key, measure in row.items():
            say(f"  {key.replace('_', ' ')}: {format_measure(measure, options.units)}")
    say("Plus/minus: of the property model alone; a gauge or a thermometer adds its own.")
    say(f"Source: {source}.")
    return 0


def _rows(
    options: argparse.Namespace, fluid: Saturation, air: float
) -> Mapping[str, Mapping[str, Measure]]:
    error = refrigerant(fluid.refrigerant).model_error
    lines: dict[str, tuple[_Curve, _Curve, _Curve]] = {
        "dew": (fluid.dew_pressure, fluid.dew_temperature, fluid.dew_slope),
        "bubble": (fluid.bubble_pressure, fluid.bubble_temperature, fluid.bubble_slope),
    }
    rows = {}
    for name, (pressure_at, temperature_at, slope_at) in lines.items():
        if options.temperature is not None:
            temperature = _asked(_TEMPERATURE, options, air)
            pressure = pressure_at(temperature)
            spread: tuple[float | None, float | None] = (None, slope_at(temperature) * error)
        else:
            pressure = _asked(_PRESSURE, options, air) + air
            temperature = temperature_at(pressure)
            spread = (error, None)
        rows[name] = {
            "temperature": Measure(Kind.TEMPERATURE, temperature, spread[0]),
            "pressure_gauge": Measure(Kind.GAUGE_PRESSURE, pressure - air, spread[1]),
            "pressure_absolute": Measure(Kind.ABSOLUTE_PRESSURE, pressure, spread[1]),
        }
    return rows


def _asked(one: Asked, options: argparse.Namespace, air: float) -> float:
    setattr(options, f"{one.name}_accuracy", None)  # a line of a table is no reading
    return one.take(options, air, {})[0].value
