"""Discharge temperature, work and volumetric efficiency of one compression.

The compressor is taken as adiabatic: heat lost by its body lowers the real discharge
temperature, and a hot motor in the suction gas raises it.

Sources: CoolProp 8 equations of state (Bell et al. 2014); definition; re-expansion of the clearance
gas; polytropic re-expansion of the clearance gas.
"""

from __future__ import annotations

from expert.physics.fluids import single_phase
from expert.physics.fluids.of_context import DEFINITION, absolute, named, temperature_error
from expert.physics.fluids.single_phase import SinglePhaseState
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import Kind

EQUATIONS = "CoolProp 8 equations of state (Bell et al. 2014)"
_GAS = "suction gas above its dew temperature, discharge below 350 F"


def isentropic_end(name: str, suction: SinglePhaseState, discharge: float) -> SinglePhaseState:
    """Gas after a compression at constant entropy to a pressure [Pa absolute].

    Raises `PhysicsError` if the discharge is not above the suction, or the end is wet or too hot.
    """
    if not discharge > suction.pressure:
        raise PhysicsError("The discharge pressure must be above the suction pressure.")
    return single_phase.gas_of_entropy(name, discharge, suction.entropy)


def compressed(
    name: str, suction: SinglePhaseState, discharge: float, efficiency: float
) -> SinglePhaseState:
    """Gas after a compression to a pressure [Pa absolute] with an isentropic efficiency (0..1]."""
    share = checked_efficiency(efficiency)
    ideal = isentropic_end(name, suction, discharge)
    enthalpy = suction.enthalpy + (ideal.enthalpy - suction.enthalpy) / share
    return single_phase.gas_of_enthalpy(name, discharge, enthalpy)


def checked_efficiency(efficiency: float) -> float:
    """The isentropic efficiency itself. Raises `OutOfRange` outside 0.2 to 1."""
    if not 0.2 <= efficiency <= 1:
        raise OutOfRange(
            "The isentropic efficiency",
            efficiency,
            0.2,
            1.0,
            Kind.SHARE,
            "no compressor that runs is worse, and none is better than ideal",
        )
    return efficiency


def ideal_discharge_temperature(
    context: Context, suction: float, suction_temperature: float, discharge: float
) -> float:
    """Temperature [K] after isentropic compression between gauge pressures [Pa]."""
    return isentropic_end(
        named(context), _suction(context, suction, suction_temperature), _end(context, discharge)
    ).temperature


def expected_discharge_temperature(
    context: Context,
    suction: float,
    suction_temperature: float,
    discharge: float,
    isentropic_efficiency: float,
) -> float:
    """Temperature [K] after compression between gauge pressures [Pa] with a stated efficiency."""
    return compressed(
        named(context),
        _suction(context, suction, suction_temperature),
        _end(context, discharge),
        isentropic_efficiency,
    ).temperature


def isentropic_work(
    context: Context, suction: float, suction_temperature: float, discharge: float
) -> float:
    """Work [J/kg] of isentropic compression between gauge pressures [Pa]."""
    start = _suction(context, suction, suction_temperature)
    return isentropic_end(named(context), start, _end(context, discharge)).enthalpy - start.enthalpy


def suction_gas_density(context: Context, suction: float, suction_temperature: float) -> float:
    """Density [kg/m3] of gas at a gauge pressure [Pa] and temperature [K]."""
    return _suction(context, suction, suction_temperature).density


def volumetric_efficiency(
    context: Context, clearance: float, specific_volume_ratio: float
) -> float:
    """Share of the swept volume that is filled: 1 + C - C v_suction / v_discharge."""
    return _filled(clearance, specific_volume_ratio)


def volumetric_efficiency_polytropic(
    context: Context, clearance: float, compression_ratio: float, exponent: float
) -> float:
    """Share of the swept volume that is filled: 1 + C - C ratio^(1/n)."""
    if not exponent >= 1:
        raise OutOfRange("The polytropic exponent", exponent, 1.0, 2.0, Kind.RATIO)
    if not compression_ratio >= 1:
        raise OutOfRange("The compression ratio", compression_ratio, 1.0, 100.0, Kind.RATIO)
    return _filled(clearance, float(compression_ratio ** (1 / exponent)))


def _filled(clearance: float, volume_ratio: float) -> float:
    if not 0 <= clearance <= 0.5:
        raise OutOfRange("The clearance", clearance, 0.0, 0.5, Kind.SHARE)
    if not 1 <= volume_ratio <= 100:
        raise OutOfRange("The specific volume ratio", volume_ratio, 1.0, 100.0, Kind.RATIO)
    return max(1 + clearance - clearance * volume_ratio, 0.0)


def _suction(context: Context, pressure: float, temperature: float) -> SinglePhaseState:
    at = absolute(context, pressure, "The suction pressure")
    return single_phase.gas(named(context), at, temperature)


def _end(context: Context, pressure: float) -> float:
    return absolute(context, pressure, "The discharge pressure")


_GAS_INPUTS = {
    "suction": Kind.GAUGE_PRESSURE,
    "suction_temperature": Kind.TEMPERATURE,
    "discharge": Kind.GAUGE_PRESSURE,
}

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="ideal_discharge_temperature",
        title="ideal discharge temperature",
        inputs=_GAS_INPUTS,
        output=Kind.TEMPERATURE,
        text="temperature at the discharge pressure with the entropy of the suction gas",
        source=EQUATIONS,
        compute=ideal_discharge_temperature,
        validity=_GAS,
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="expected_discharge_temperature",
        title="expected discharge temperature",
        inputs={**_GAS_INPUTS, "isentropic_efficiency": Kind.SHARE},
        output=Kind.TEMPERATURE,
        text="temperature at h_suction + (h_isentropic - h_suction) / efficiency",
        source=EQUATIONS,
        compute=expected_discharge_temperature,
        validity=f"{_GAS}; no heat lost or gained by the compressor body",
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="isentropic_work",
        title="isentropic work of compression",
        inputs=_GAS_INPUTS,
        output=Kind.SPECIFIC_ENERGY,
        text="h(discharge pressure, entropy of suction gas) - h(suction gas)",
        source=EQUATIONS,
        compute=isentropic_work,
        validity=_GAS,
        needs_refrigerant=True,
    ),
    Formula(
        name="suction_gas_density",
        title="density of the suction gas",
        inputs={"suction": Kind.GAUGE_PRESSURE, "suction_temperature": Kind.TEMPERATURE},
        output=Kind.DENSITY,
        text="density at the suction pressure and temperature",
        source=EQUATIONS,
        compute=suction_gas_density,
        validity="gas above its dew temperature",
        needs_refrigerant=True,
    ),
    Formula(
        name="volumetric_efficiency",
        title="clearance volumetric efficiency",
        inputs={"clearance": Kind.SHARE, "specific_volume_ratio": Kind.RATIO},
        output=Kind.SHARE,
        text="1 + C - C x (specific volume of suction / specific volume of discharge)",
        source=f"{DEFINITION}; re-expansion of the clearance gas",
        compute=volumetric_efficiency,
        validity="valve losses, leakage and heating of the suction gas are left out",
    ),
    Formula(
        name="volumetric_efficiency_polytropic",
        title="clearance volumetric efficiency from the compression ratio",
        inputs={"clearance": Kind.SHARE, "compression_ratio": Kind.RATIO, "exponent": Kind.RATIO},
        output=Kind.SHARE,
        text="1 + C - C x ratio^(1/n)",
        source=f"{DEFINITION}; polytropic re-expansion of the clearance gas",
        compute=volumetric_efficiency_polytropic,
        validity="ratio of absolute pressures; valve losses and leakage are left out",
    ),
)
