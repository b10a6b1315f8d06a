"""The heat that a frosted coil takes: warming metal and frost, melting, warming the water.

Sources: IAPWS R10-06 and R7-97 (ice and water), Incropera and DeWitt table A.1 (copper, aluminium;
steel AISI 1010 not opened); mass balance.
"""

from __future__ import annotations

from collections.abc import Mapping

from expert.made_when_used import dataclass
from expert.physics.air.water import MELTING
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frame.refusals import above_zero, at_least_zero
from expert.units.kinds import Kind

COLDEST = 203.15  # K (-94 F), no coil of a rack is colder
HOTTEST = 373.15  # K, water stays liquid

# IAPWS R10-06(2009): melting at 0 C; ice mean of -30 C (1.88) to 0 C (2.10). IAPWS R7-97: water
# mean of 0 to 20 C. Metals at 300 K: Incropera and DeWitt, table A.1, as reprinted in Mechanical
# Engineers' Handbook vol. 4, heat transfer table 1; steel AISI 1010 from memory.
LATENT_HEAT = 333.4e3  # J/kg
SPECIFIC_HEAT = {
    "ice": 1.99e3,
    "water": 4.20e3,
    "copper": 385.0,
    "aluminium": 903.0,
    "steel": 434.0,
}  # J/(kg K)


@dataclass(frozen=True)
class FrostHeat:
    """Heat [J] to warm frost to 0 C, to melt it, to warm the water."""

    ice: float
    melting: float
    water: float

    @property
    def total(self) -> float:
        """All three [J]."""
        return self.ice + self.melting + self.water


def frost_heat(
    frost: float,
    start: float,
    end: float,
    specific_heat: Mapping[str, float] = SPECIFIC_HEAT,
    latent_heat: float = LATENT_HEAT,
) -> FrostHeat:
    """Heat to bring frost [kg] from a start [K] below 0 C to water of an end temperature [K].

    Specific heats [J/(kg K)] of `ice` and `water`, latent heat [J/kg]. Raises `OutOfRange`
    unless start is at or below 0 C and end at or above it.
    """
    at_least_zero("The frost", frost, Kind.MASS)
    if not COLDEST <= start <= MELTING:
        raise OutOfRange(
            "The frost temperature",
            start,
            COLDEST,
            MELTING,
            Kind.TEMPERATURE,
            "above it there is water, not frost",
        )
    if not MELTING <= end <= HOTTEST:
        raise OutOfRange(
            "The water temperature",
            end,
            MELTING,
            HOTTEST,
            Kind.TEMPERATURE,
            "below it the frost does not melt",
        )
    return FrostHeat(
        ice=frost * specific_heat["ice"] * (MELTING - start),
        melting=frost * latent_heat,
        water=frost * specific_heat["water"] * (end - MELTING),
    )


def coil_heat(metal: Mapping[str, float], start: float, end: float) -> float:
    """Heat [J] to warm coil metal from a start to an end temperature [K].

    `metal` maps copper, aluminium or steel to a mass [kg]. Raises `OutOfRange`.
    """
    if not COLDEST <= start <= end <= HOTTEST:
        raise OutOfRange(
            "The start temperature of the coil",
            start,
            COLDEST,
            min(end, HOTTEST),
            Kind.TEMPERATURE,
            "a defrost warms the coil",
        )
    for name, mass in metal.items():
        at_least_zero(f"The {name} in the coil", mass, Kind.MASS)
    return sum(mass * SPECIFIC_HEAT[name] for name, mass in metal.items()) * (end - start)


def _coil(
    context: Context,
    copper: float,
    aluminium: float,
    steel: float,
    frost: float,
    start_temperature: float,
    end_temperature: float,
) -> float:
    metal = {"copper": copper, "aluminium": aluminium, "steel": steel}
    warm = coil_heat(metal, start_temperature, end_temperature)
    return warm + frost_heat(frost, start_temperature, end_temperature).total


def _frost(
    context: Context, frost: float, start_temperature: float, end_temperature: float
) -> float:
    return frost_heat(frost, start_temperature, end_temperature).total


def _drain(context: Context, frost: float, duration: float) -> float:
    at_least_zero("The frost", frost, Kind.MASS)
    above_zero("The time", duration, Kind.DURATION)
    return frost / duration


_HEATS = (
    "published: IAPWS R10-06 and R7-97 (ice and water), Incropera and DeWitt table A.1 (copper, "
    "aluminium; steel AISI 1010 not opened)"
)
FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="frost_melting_heat",
        title="heat to warm and melt frost and warm its water",
        inputs={
            "frost": Kind.MASS,
            "start_temperature": Kind.TEMPERATURE,
            "end_temperature": Kind.TEMPERATURE,
        },
        output=Kind.ENERGY,
        text="frost x (1.99 x kelvins up to 0 C + 333.4 + 4.20 x kelvins above 0 C) kJ/kg",
        source=_HEATS,
        compute=_frost,
        validity="start at or below 32 F, end at or above it",
    ),
    Formula(
        name="coil_defrost_heat",
        title="heat to warm a coil and melt its frost",
        inputs={
            "copper": Kind.MASS,
            "aluminium": Kind.MASS,
            "steel": Kind.MASS,
            "frost": Kind.MASS,
            "start_temperature": Kind.TEMPERATURE,
            "end_temperature": Kind.TEMPERATURE,
        },
        output=Kind.ENERGY,
        text="metal masses x 0.385, 0.903, 0.434 kJ/(kg K) x rise + heat to warm and melt the "
        "frost",
        source=_HEATS,
        compute=_coil,
        validity="start at or below 32 F, end at or above it; nothing lost to air, pan or case",
    ),
    Formula(
        name="defrost_drain_flow",
        title="water to the drain, averaged over the melt",
        inputs={"frost": Kind.MASS, "duration": Kind.DURATION},
        output=Kind.MASS_FLOW,
        text="frost / time from the first drip to the last; all frost reaches the drain",
        source="computed: mass balance",
        compute=_drain,
        validity="an upper bound: some frost goes back into the air",
    ),
)
