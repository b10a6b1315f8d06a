"""Gas and liquid states from pressure and temperature, and gas states from entropy or enthalpy.

The phase is imposed after a look at the tables: the library's own phase search takes hundreds of
times longer for blends. Enthalpy and entropy are for differences within one refrigerant only.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from expert.made_when_used import dataclass
from expert.physics.fluids.coolprop_door import library, state
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.bisection import rising_root
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange, PhysicsError
from expert.units.kinds import Kind

HOTTEST = 450.0  # K (350 F): above any discharge line, within every model
_COLDEST = 0.75  # of the critical temperature; above the ice that high pressure makes
_EDGE = 1e-3  # K, a saturated state may miss its line by the error of the table


@dataclass(frozen=True)
class SinglePhaseState:
    """Pa absolute, K, J/kg, J/(kg K), kg/m3."""

    pressure: float
    temperature: float
    enthalpy: float
    entropy: float
    density: float


def gas(name: str, pressure: float, temperature: float) -> SinglePhaseState:
    """Gas at a pressure [Pa absolute] and temperature [K], saturated vapour included.

    Raises `OutOfRange` below the dew temperature and above 350 F.
    """
    fluid = saturation(name)
    if fluid.one_line and pressure > fluid.critical_pressure:
        return dense(name, pressure, temperature)
    dew = fluid.dew_temperature(pressure)
    if not dew - _EDGE <= temperature <= HOTTEST:
        raise OutOfRange(
            "The gas temperature",
            temperature,
            dew,
            HOTTEST,
            Kind.TEMPERATURE,
            "below the dew temperature of its pressure it is not all gas",
        )
    return _state(name, library().iphase_gas, pressure, temperature)


def liquid(name: str, pressure: float, temperature: float) -> SinglePhaseState:
    """Liquid at a pressure [Pa absolute] and temperature [K], saturated liquid included.

    Raises `OutOfRange` above the bubble temperature and below the table.
    """
    fluid = saturation(name)
    bubble = fluid.bubble_temperature(pressure)
    if not fluid.bubble_range.low <= temperature <= bubble + _EDGE:
        raise OutOfRange(
            "The liquid temperature",
            temperature,
            fluid.bubble_range.low,
            bubble,
            Kind.TEMPERATURE,
            "above the bubble temperature of its pressure it is not all liquid",
        )
    return _state(name, library().iphase_liquid, pressure, temperature)


def dense(name: str, pressure: float, temperature: float) -> SinglePhaseState:
    """The fluid above its critical pressure [Pa absolute] at a temperature [K]; no blends.

    Raises `OutOfRange` above 350 F and below 0.75 of the critical temperature.
    """
    low = _COLDEST * saturation(name).critical_temperature
    if not low <= temperature <= HOTTEST:
        raise OutOfRange("The gas temperature", temperature, low, HOTTEST, Kind.TEMPERATURE)
    return _state(name, None, pressure, temperature)


def gas_of_entropy(name: str, pressure: float, entropy: float) -> SinglePhaseState:
    """Gas at a pressure [Pa absolute] with an entropy [J/(kg K)].

    Raises `PhysicsError` where it would be wet or hotter than 350 F.
    """
    return _gas_with(name, pressure, lambda found: found.entropy - entropy)


def gas_of_enthalpy(name: str, pressure: float, enthalpy: float) -> SinglePhaseState:
    """Gas at a pressure [Pa absolute] with an enthalpy [J/kg].

    Raises `PhysicsError` where it would be wet or hotter than 350 F.
    """
    return _gas_with(name, pressure, lambda found: found.enthalpy - enthalpy)


def _gas_with(
    name: str, pressure: float, miss: Callable[[SinglePhaseState], float]
) -> SinglePhaseState:
    fluid = saturation(name)
    above = fluid.one_line and pressure > fluid.critical_pressure
    dew = _COLDEST * fluid.critical_temperature if above else fluid.dew_temperature(pressure)
    phase = None if above else library().iphase_gas

    def missing(temperature: float) -> float:
        return miss(_state(name, phase, pressure, temperature))

    if missing(dew) > 1e-6 * abs(miss(_state(name, phase, pressure, HOTTEST))):
        raise PhysicsError("The gas would be wet: it would end below its dew temperature.")
    if missing(HOTTEST) < 0:
        raise PhysicsError("The gas would end hotter than 350 F: the model ends there.")
    return _state(name, phase, pressure, rising_root(missing, dew, HOTTEST))


def _state(name: str, phase: Any, pressure: float, temperature: float) -> SinglePhaseState:
    found = state(name)
    if phase is not None:
        found.specify_phase(phase)
    try:
        found.update(library().PT_INPUTS, pressure, temperature)
        values = SinglePhaseState(
            pressure, temperature, found.hmass(), found.smass(), found.rhomass()
        )
    except ValueError as error:
        raise NotAvailable(
            f"The state of {name}", "the property model finds no solution there"
        ) from error
    finally:
        found.unspecify_phase()
    return values
