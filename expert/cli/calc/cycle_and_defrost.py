"""`rackwalk calc cycle` and `defrost-energy`: several figures side by side."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable

from expert.cli.calc.any_formula import asked_of
from expert.cli.calc.results import Asked, CalcResult, add_common, air_of, shown_example, tell
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.uncertainty import propagate
from expert.physics.frost import defrost_energy
from expert.units.kinds import Kind
from expert.units.measure import Measure

CYCLE = (
    "refrigerating_effect", "compression_work", "coefficient_of_performance",
    "cycle_discharge_temperature",
)  # fmt: skip
_FIRST = CATALOG[CYCLE[0]]
CYCLE_INPUTS = asked_of(_FIRST)

DESCRIPTION = "Several figures from the same inputs."
EXAMPLES = shown_example


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """The inputs of the cycle, or of the three kinds of defrost."""
    cycle = name == "cycle"
    if cycle:
        parser.add_argument("refrigerant", metavar="REFRIGERANT")
    parser.set_defaults(does=_cycle if cycle else _defrost_energy)
    for one in CYCLE_INPUTS if cycle else ENERGY:
        one.add(parser)
    add_common(parser, refrigerant=cycle)


def run(options: argparse.Namespace) -> int:
    """One of the two."""
    does: Callable[[argparse.Namespace], int] = options.does
    return does(options)


ENERGY = (
    Asked("frost_heat", Kind.ENERGY),
    Asked("coil_heat", Kind.ENERGY),
    Asked("gas_useful_share", Kind.SHARE),
    Asked("heater_useful_share", Kind.SHARE),
    Asked("performance", Kind.RATIO),
    Asked("fan_power", Kind.POWER, ("W", "W")),
    Asked("off_cycle_time", Kind.DURATION),
)


def _cycle(options: argparse.Namespace) -> int:
    air = air_of(options)
    fluid = refrigerant(options.refrigerant).designation
    taken = {one.name: one.take(options, air, {}) for one in CYCLE_INPUTS}
    inputs = {name: measure for name, (measure, _) in taken.items()}
    values = {name: measure.value for name, measure in inputs.items()}
    errors = {name: measure.plus_minus or 0.0 for name, measure in inputs.items()}
    results: dict[str, Measure | str] = {}
    for name in CYCLE:
        formula = CATALOG[name]
        value, spread = propagate(formula, Context(fluid, air), values, errors)
        known = 0 < spread < math.inf
        results[name] = Measure(formula.output, value, spread if known else None)
    tell(
        CalcResult(
            title="Cycle",
            results=results,
            inputs=dict(inputs),
            formula="; ".join(f"{name.replace('_', ' ')}: {CATALOG[name].text}" for name in CYCLE),
            source=_FIRST.source,
            basis=_FIRST.basis,
            validity=_FIRST.validity,
            assumed=tuple(name for name, (_, usual) in taken.items() if usual),
            refrigerant=fluid,
        ),
        options,
    )
    return 0


def _defrost_energy(options: argparse.Namespace) -> int:
    air = air_of(options)
    inputs = {one.name: one.take(options, air, {})[0] for one in ENERGY}
    frost, coil, gas_share, heater_share, performance, fans, time = (
        measure.value for measure in inputs.values()
    )
    found = {
        "hot_gas": defrost_energy.hot_gas(frost, coil, gas_share, performance),
        "electric": defrost_energy.electric(frost, coil, heater_share, performance),
        "off_cycle": defrost_energy.off_cycle(fans, time),
    }
    tell(
        CalcResult(
            title="Energy of a defrost",
            results={name: Measure(Kind.ENERGY, energy.total) for name, energy in found.items()},
            inputs=dict(inputs),
            formula="; ".join(
                f"{name.replace('_', ' ')}: {CATALOG[f'{name}_defrost_energy'].text}"
                for name in found
            ),
            source=CATALOG["hot_gas_defrost_energy"].source,
            validity=CATALOG["hot_gas_defrost_energy"].validity,
            basis="electric energy at the meter, pull-down after the defrost included",
        ),
        options,
    )
    return 0
