"""`rackwalk calc cycle` and `defrost-energy`: several figures side by side."""

from __future__ import annotations

import argparse
from typing import Any

from expert.cli.calc.results import CalcResult, add_common, add_measure, air_of, take, tell
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


def add(formulas: Any) -> None:
    """The sub-commands."""
    cycle = formulas.add_parser("cycle", help="effect, work, performance, discharge temperature")
    cycle.set_defaults(does=_cycle)
    cycle.add_argument("refrigerant", metavar="REFRIGERANT")
    for name, kind in _FIRST.inputs.items():
        add_measure(cycle, name, kind)
    add_common(cycle)
    energy = formulas.add_parser("defrost-energy", help="hot gas, electric, off cycle side by side")
    energy.set_defaults(does=_defrost_energy)
    for name, kind in ENERGY.items():
        add_measure(energy, name, kind)
    add_common(energy)


ENERGY = {
    "frost_heat": Kind.ENERGY,
    "coil_heat": Kind.ENERGY,
    "gas_useful_share": Kind.SHARE,
    "heater_useful_share": Kind.SHARE,
    "performance": Kind.RATIO,
    "fan_power": Kind.POWER,
    "off_cycle_time": Kind.DURATION,
}


def _cycle(options: argparse.Namespace) -> int:
    air = air_of(options)
    fluid = refrigerant(options.refrigerant).designation
    inputs = {name: take(options, name, kind, air) for name, kind in _FIRST.inputs.items()}
    values = {name: measure.value for name, measure in inputs.items()}
    errors = {name: measure.plus_minus or 0.0 for name, measure in inputs.items()}
    results: dict[str, Measure | str] = {}
    for name in CYCLE:
        formula = CATALOG[name]
        value, spread = propagate(formula, Context(fluid, air), values, errors)
        results[name] = Measure(formula.output, value, spread)
    tell(
        CalcResult(
            title="Cycle",
            results=results,
            inputs=dict(inputs),
            formula="; ".join(f"{name.replace('_', ' ')}: {CATALOG[name].text}" for name in CYCLE),
            source=_FIRST.source,
            basis=_FIRST.basis,
            refrigerant=fluid,
        ),
        options,
    )
    return 0


def _defrost_energy(options: argparse.Namespace) -> int:
    air = air_of(options)
    inputs = {name: take(options, name, kind, air) for name, kind in ENERGY.items()}
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
            basis="electric energy at the meter, pull-down after the defrost included",
        ),
        options,
    )
    return 0
