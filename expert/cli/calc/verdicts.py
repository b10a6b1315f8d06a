"""`rackwalk calc non-condensables` and `standing-vacuum`: checks that end in a verdict."""

from __future__ import annotations

import argparse
from typing import Any

from expert.cli.calc.results import CalcResult, add_common, add_measure, air_of, take, tell
from expert.errors import ReadingError
from expert.inference.sentences import first_up
from expert.knowledge.judge import split_time
from expert.physics.cycle.condenser import standing_pressure
from expert.physics.fluids.of_context import TABLES
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.formula import Context
from expert.physics.tightness.vacuum import VacuumLimits, standing_vacuum
from expert.units.kinds import Kind
from expert.units.measure import Measure
from expert.units.parse import parse_measure


def add(formulas: Any) -> None:
    """The sub-commands."""
    air = formulas.add_parser(
        "non-condensables", help="standing pressure of an idle, equalised condenser"
    )
    air.set_defaults(does=_non_condensables)
    air.add_argument("refrigerant", metavar="REFRIGERANT")
    add_measure(air, "pressure", Kind.GAUGE_PRESSURE)
    add_measure(air, "temperature", Kind.TEMPERATURE)
    add_common(air)
    vacuum = formulas.add_parser("standing-vacuum", help="what the rise after isolation says")
    vacuum.set_defaults(does=_standing_vacuum)
    vacuum.add_argument(
        "readings", nargs="+", metavar="READING", help="'300 micron at 0 min' and so on, 3 or more"
    )
    add_measure(vacuum, "warmest_pipe", Kind.TEMPERATURE)
    # Usual figures; a company gives its own.
    add_measure(vacuum, "highest", Kind.ABSOLUTE_PRESSURE, default="700 micron")
    add_measure(vacuum, "wait", Kind.DURATION, default="30 min")
    add_measure(vacuum, "steady", Kind.ABSOLUTE_PRESSURE, default="50 micron")
    add_measure(vacuum, "levelling", Kind.SHARE, default="35 %")
    add_common(vacuum)


def _non_condensables(options: argparse.Namespace) -> int:
    air = air_of(options)
    fluid = refrigerant(options.refrigerant).designation
    pressure = take(options, "pressure", Kind.GAUGE_PRESSURE, air)
    temperature = take(options, "temperature", Kind.TEMPERATURE, air)
    found = standing_pressure(
        Context(fluid, air),
        pressure.value,
        temperature.value,
        pressure.plus_minus or 0.0,
        temperature.plus_minus or 0.0,
    )
    tell(
        CalcResult(
            title="Standing pressure",
            results={
                "verdict": found.verdict.value,
                "pressure_above_bubble": Measure(
                    Kind.PRESSURE_DIFFERENCE, found.excess, found.uncertainty
                ),
                "dew_pressure": Measure(Kind.GAUGE_PRESSURE, found.dew),
                "bubble_pressure": Measure(Kind.GAUGE_PRESSURE, found.bubble),
            },
            inputs={"pressure": pressure, "temperature": temperature},
            formula="standing pressure - bubble pressure at the condenser's temperature",
            source=TABLES,
            basis="bubble; a clean condenser stands between dew and bubble",
            refrigerant=fluid,
            warning=found.text,
        ),
        options,
    )
    return 0


def _standing_vacuum(options: argparse.Namespace) -> int:
    air = air_of(options)
    readings = [_reading(text, air) for text in options.readings]
    limits = VacuumLimits(
        *(
            take(options, name, kind, air).value
            for name, kind in (
                ("highest", Kind.ABSOLUTE_PRESSURE),
                ("wait", Kind.DURATION),
                ("steady", Kind.ABSOLUTE_PRESSURE),
                ("levelling", Kind.SHARE),
            )
        )
    )
    pipe = take(options, "warmest_pipe", Kind.TEMPERATURE, air)
    found = standing_vacuum(readings, pipe.value, limits)
    inputs: dict[str, Measure | str] = {"warmest_pipe": pipe}
    inputs |= {f"reading {n}": text for n, text in enumerate(options.readings, 1)}
    tell(
        CalcResult(
            title="Standing vacuum",
            results={
                "verdict": found.verdict.value,
                "reason": found.reason,
                "rise": Measure(Kind.ABSOLUTE_PRESSURE, found.rise),
                "water_can_hold": Measure(Kind.ABSOLUTE_PRESSURE, found.water_pressure),
            },
            inputs=inputs,
            formula="level and shape of the rise against the vapour pressure of water",
            source="IAPWS R7-97 and R14-08 for water; levels common practice, set by the options",
        ),
        options,
    )
    return 0


def _reading(text: str, air: float) -> tuple[float, float]:
    try:
        value, seconds = split_time(text)
        if seconds is None:
            raise ReadingError("it lacks its time: write '300 micron at 0 min'.")
        return seconds, parse_measure(value, Kind.ABSOLUTE_PRESSURE, barometer=air).value
    except ReadingError as error:
        raise ReadingError(f"{first_up(text)}: {error}") from None
