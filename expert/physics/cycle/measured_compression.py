"""What a discharge temperature that was read says of the compressor: efficiency, work, performance.

Taken as adiabatic: heat that the body loses makes the compressor look better than it is, a hot
motor in the suction gas worse.

Sources: definition; CoolProp 8 equations of state (Bell et al. 2014).
"""

from __future__ import annotations

from expert.physics.cycle.compression import EQUATIONS, isentropic_end
from expert.physics.fluids import single_phase
from expert.physics.fluids.of_context import (
    DEFINITION,
    absolute,
    liquid_below_bubble,
    named,
)
from expert.physics.fluids.single_phase import SinglePhaseState
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import Kind

WORST = 0.2  # isentropic efficiency; no compressor that runs is worse


def compression_states(
    context: Context,
    suction: float,
    suction_temperature: float,
    discharge: float,
    discharge_temperature: float,
) -> tuple[SinglePhaseState, SinglePhaseState, SinglePhaseState]:
    """Suction gas, discharge gas as read, and discharge gas of an ideal compression.

    Gauge pressures [Pa], temperatures [K]. Raises `OutOfRange` where the gas left colder than
    ideal compression makes it, or so hot that no compressor would run.
    """
    name = named(context)
    low = absolute(context, suction, "The suction pressure")
    high = absolute(context, discharge, "The discharge pressure")
    start = single_phase.gas(name, low, suction_temperature)
    ideal = isentropic_end(name, start, high)
    if discharge_temperature < ideal.temperature:
        raise OutOfRange(
            "The discharge temperature", discharge_temperature, ideal.temperature,
            single_phase.HOTTEST, Kind.TEMPERATURE,
            "colder than ideal compression leaves it: liquid in the suction gas, heat lost "
            "before the sensor, or a reading is wrong",
        )  # fmt: skip
    end = single_phase.gas(name, high, discharge_temperature)
    share = (ideal.enthalpy - start.enthalpy) / (end.enthalpy - start.enthalpy)
    if share < WORST:
        raise OutOfRange(
            "The isentropic efficiency", share, WORST, 1.0, Kind.SHARE,
            "no compressor that runs is worse: a reading is wrong",
        )  # fmt: skip
    return start, end, ideal


def efficiency_from_discharge(context: Context, **inputs: float) -> float:
    """Isentropic efficiency [share]; inputs as in `compression_states`."""
    start, end, ideal = compression_states(context, **inputs)
    return (ideal.enthalpy - start.enthalpy) / (end.enthalpy - start.enthalpy)


def work_from_discharge(context: Context, **inputs: float) -> float:
    """Work [J/kg] that the gas took up; inputs as in `compression_states`."""
    start, end, _ = compression_states(context, **inputs)
    return end.enthalpy - start.enthalpy


def performance_from_discharge(
    context: Context, liquid_temperature: float, **inputs: float
) -> float:
    """Refrigerating effect over work, with the liquid temperature [K] before the valve."""
    start, end, _ = compression_states(context, **inputs)
    liquid = liquid_below_bubble(context, end.pressure, liquid_temperature)
    before_valve = single_phase.liquid(named(context), end.pressure, liquid)
    return (start.enthalpy - before_valve.enthalpy) / (end.enthalpy - start.enthalpy)


_READ = {
    "suction": Kind.GAUGE_PRESSURE,
    "suction_temperature": Kind.TEMPERATURE,
    "discharge": Kind.GAUGE_PRESSURE,
    "discharge_temperature": Kind.TEMPERATURE,
}
_VALID = (
    "all four read at the compressor, running steadily; no heat lost or gained by its body, no "
    "liquid injection"
)

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="efficiency_from_discharge",
        title="isentropic efficiency from a read discharge temperature",
        inputs=_READ,
        output=Kind.SHARE,
        text="(h_isentropic - h_suction) / (h_discharge - h_suction)",
        source=f"{DEFINITION}; {EQUATIONS}",
        compute=efficiency_from_discharge,
        validity=_VALID,
        needs_refrigerant=True,
    ),
    Formula(
        name="work_from_discharge",
        title="work of compression from a read discharge temperature",
        inputs=_READ,
        output=Kind.SPECIFIC_ENERGY,
        text="h(discharge) - h(suction)",
        source=f"{DEFINITION}; {EQUATIONS}",
        compute=work_from_discharge,
        validity=_VALID,
        needs_refrigerant=True,
    ),
    Formula(
        name="performance_from_discharge",
        title="coefficient of performance from a read discharge temperature",
        inputs={**_READ, "liquid_temperature": Kind.TEMPERATURE},
        output=Kind.RATIO,
        text="(h_suction - h_liquid) / (h_discharge - h_suction)",
        source=f"{DEFINITION}; {EQUATIONS}",
        compute=performance_from_discharge,
        basis="all superheat of the suction gas counts as useful",
        validity=f"{_VALID}; motor losses outside the gas are not in it",
        needs_refrigerant=True,
    ),
)
