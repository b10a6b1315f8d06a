"""`rackwalk calc non-condensables` and `standing-vacuum`: checks that end in a verdict."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable

from expert.cli.calc.results import Asked, CalcResult, add_common, air_of, shown_example, tell
from expert.errors import ReadingError
from expert.physics.cycle.condenser import standing_pressure
from expert.physics.fluids.of_context import TABLES
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.formula import Context
from expert.physics.tightness.vacuum import VacuumLimits, standing_vacuum
from expert.units.kinds import Kind
from expert.units.measure import Measure
from expert.units.parse import parse_measure

DESCRIPTION = (
    "The verdict holds as far as the instruments can be off; else it is too close to call."
)
EXAMPLES = shown_example
_PRESSURE = Asked("pressure", Kind.GAUGE_PRESSURE)
_TEMPERATURE = Asked("temperature", Kind.TEMPERATURE)
_PIPE = Asked("warmest_pipe", Kind.TEMPERATURE)
_MICRON = ("micron", "micron")
_LIMITS = (  # usual figures; a company gives its own
    Asked("highest", Kind.ABSOLUTE_PRESSURE, _MICRON, "700 micron", reading=False),
    Asked("wait", Kind.DURATION, default="30 min"),
    Asked("steady", Kind.ABSOLUTE_PRESSURE, _MICRON, "50 micron", reading=False),
    Asked("levelling", Kind.SHARE, default="35 %"),
)
_TIMED = re.compile(r"^(?P<value>.+?)\s+(?:at|@)\s+(?P<time>.+)$")


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """Those of the one verdict or of the other."""
    if name == "non-condensables":
        parser.set_defaults(does=_non_condensables)
        parser.add_argument("refrigerant", metavar="REFRIGERANT")
        for one in (_PRESSURE, _TEMPERATURE):
            one.add(parser)
        add_common(parser, refrigerant=True)
        return
    parser.set_defaults(does=_standing_vacuum)
    parser.add_argument(
        "readings", nargs="+", metavar="READING",
        help="'300 at 0' (micron at minute) and so on, 3 or more",
    )  # fmt: skip
    parser.add_argument(
        "--gauge-accuracy", metavar="A", default="10%",
        help="plus/minus of the vacuum gauge, of its reading (default 10%%)",
    )  # fmt: skip
    for one in (_PIPE, *_LIMITS):
        one.add(parser)
    add_common(parser)


def run(options: argparse.Namespace) -> int:
    """One of the two verdicts."""
    does: Callable[[argparse.Namespace], int] = options.does
    return does(options)


def _non_condensables(options: argparse.Namespace) -> int:
    air = air_of(options)
    fluid = refrigerant(options.refrigerant).designation
    pressure, usual_pressure = _PRESSURE.take(options, air, {})
    temperature, usual_temperature = _TEMPERATURE.take(options, air, {})
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
            validity="condenser idle, shut off, with liquid in it, at one temperature throughout",
            assumed=tuple(
                name
                for name, usual in (
                    ("pressure", usual_pressure),
                    ("temperature", usual_temperature),
                )
                if usual
            ),
            refrigerant=fluid,
            warning=found.text,
        ),
        options,
    )
    return 0


def _standing_vacuum(options: argparse.Namespace) -> int:
    air = air_of(options)
    readings = [_reading(text, air) for text in options.readings]
    limits = VacuumLimits(*(one.take(options, air, {})[0].value for one in _LIMITS))
    pipe, usual = _PIPE.take(options, air, {})
    try:
        off = parse_measure(options.gauge_accuracy, Kind.SHARE, signed=True)
    except ReadingError as error:
        raise ReadingError(f"--gauge-accuracy: {error}") from None
    if not 0 <= off.value < 1:
        raise ReadingError("--gauge-accuracy: a gauge is off by 0 to 99 % of its reading.")
    found = standing_vacuum(readings, pipe.value, limits, off.value, pipe.plus_minus or 0.0)
    spread = off.value * max(level for _, level in readings)
    inputs: dict[str, Measure | str] = {"warmest_pipe": pipe, "gauge_accuracy": off}
    inputs |= {f"reading {n}": text for n, text in enumerate(options.readings, 1)}
    tell(
        CalcResult(
            title="Standing vacuum",
            results={
                "verdict": found.verdict.value,
                "reason": found.reason,
                "rise": Measure(Kind.PRESSURE_DIFFERENCE, found.rise, spread or None),
                "water_can_hold": Measure(Kind.ABSOLUTE_PRESSURE, found.water_pressure),
            },
            inputs=inputs,
            formula="level and shape of the rise against the vapour pressure of water",
            source="IAPWS R7-97 and R14-08 for water; levels common practice, set by the options",
            validity="the section is shut off from the pump, and its gauge is not at the pump",
            assumed=("warmest_pipe",) if usual else (),
            units={"rise": "micron", "water_can_hold": "micron"},
        ),
        options,
    )
    return 0


def _reading(text: str, air: float) -> tuple[float, float]:
    try:
        match = _TIMED.match(text.strip())
        if match is None:
            raise ReadingError("it lacks its time: write '300 micron at 0 min'.")
        level = parse_measure(match["value"], Kind.ABSOLUTE_PRESSURE, barometer=air, unit="micron")
        return parse_measure(match["time"], Kind.DURATION).value, level.value
    except ReadingError as error:
        raise ReadingError(f"'{text}': {error}") from None
