"""Moist air: dew point, humidity, wet bulb, volume, enthalpy.

Perfect-gas moist air of ASHRAE Handbook Fundamentals 2017, chapter 1, with the saturation
pressure of water from IAPWS (agrees with its table 3 within 0.03 %). The enhancement factor
(0.5 % at sea level) is left out, as there.
"""

from __future__ import annotations

from expert.physics.air.water import COLDEST as COLDEST_DEW
from expert.physics.air.water import boiling_temperature, vapour_pressure
from expert.physics.frame.bisection import rising_root
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frame.refusals import above_zero
from expert.units.kinds import Kind

COLDEST, HOTTEST = 223.15, 333.15  # K: -58 to 140 F, any case, store or roof
MOLAR_RATIO = 0.621945  # water to dry air, ASHRAE Fundamentals 2017 ch. 1 eq. 20
GAS_CONSTANT = 287.042  # J/(kg K) of dry air, same, eq. 1
VAPORISATION = 2501e3  # J/kg at 0 C, same, eq. 29


def dew_point(temperature: float, humidity: float) -> float:
    """Dew point [K] of air of a temperature [K] and relative humidity [share].

    Below 32 F it is the frost point, over ice. Raises `OutOfRange`.
    """
    return boiling_temperature(_partial_pressure(temperature, humidity))


def humidity_ratio(temperature: float, humidity: float, barometer: float) -> float:
    """Water [kg per kg of dry air] of air of a temperature [K] and relative humidity [share].

    At a barometer [Pa absolute]. Raises `OutOfRange`.
    """
    return _ratio(_partial_pressure(temperature, humidity), barometer)


def saturated_ratio(temperature: float, barometer: float) -> float:
    """Water [kg per kg of dry air] of saturated air at a surface [K]. Raises `OutOfRange`."""
    return humidity_ratio(temperature, 1.0, barometer)


def relative_humidity(temperature: float, dew: float) -> float:
    """Relative humidity [share] of air of a temperature [K] and dew point [K].

    Raises `OutOfRange`.
    """
    check_temperature(temperature, "The air temperature")
    if not COLDEST_DEW <= dew <= temperature:
        raise OutOfRange(
            "The dew point",
            dew,
            COLDEST_DEW,
            temperature,
            Kind.TEMPERATURE,
            "a dew point is never above the air temperature",
        )
    return vapour_pressure(dew) / vapour_pressure(temperature)


def humidity_from_wet_bulb(temperature: float, wet_bulb: float, barometer: float) -> float:
    """Relative humidity [share] of air by its dry bulb [K], wet bulb [K] and barometer [Pa].

    ASHRAE Fundamentals 2017 ch. 1 equations 33 (water) and 35 (ice on the bulb).
    Raises `OutOfRange`, also for a wet bulb that no air of this temperature can have.
    """
    check_temperature(temperature, "The air temperature")
    driest = lowest_wet_bulb(temperature, barometer)
    if not driest <= wet_bulb <= temperature:
        raise OutOfRange(
            "The wet bulb",
            wet_bulb,
            driest,
            temperature,
            Kind.TEMPERATURE,
            "a wet bulb is not above the dry bulb and not below that of dry air",
        )
    ratio = max(0.0, _wet_bulb_ratio(temperature, wet_bulb, barometer))
    pressure = barometer * ratio / (MOLAR_RATIO + ratio)
    return min(1.0, pressure / vapour_pressure(temperature))


def lowest_wet_bulb(temperature: float, barometer: float) -> float:
    """Wet bulb [K] of perfectly dry air of a temperature [K]. Raises `OutOfRange`."""
    check_temperature(temperature, "The air temperature")
    return rising_root(
        lambda wet: _wet_bulb_ratio(temperature, wet, barometer), COLDEST - 10, temperature
    )


def specific_volume(temperature: float, ratio: float, barometer: float) -> float:
    """Volume [m3 per kg of dry air] of moist air, ASHRAE Fundamentals 2017 ch. 1 eq. 26."""
    return GAS_CONSTANT * temperature * (1 + ratio / MOLAR_RATIO) / barometer


def enthalpy(temperature: float, ratio: float) -> float:
    """Enthalpy [J per kg of dry air] of moist air over 0 C, ASHRAE 2017 ch. 1 eq. 30."""
    celsius = temperature - 273.15
    return 1006.0 * celsius + ratio * (VAPORISATION + 1860.0 * celsius)


def _partial_pressure(temperature: float, humidity: float) -> float:
    check_temperature(temperature, "The air temperature")
    if not 0.01 <= humidity <= 1:
        raise OutOfRange(
            "The relative humidity",
            humidity,
            0.01,
            1.0,
            Kind.SHARE,
            "no instrument reads drier air",
        )
    return humidity * vapour_pressure(temperature)


def _ratio(pressure: float, barometer: float) -> float:
    above_zero("The barometer", barometer, Kind.ABSOLUTE_PRESSURE)
    if not pressure < barometer:
        raise OutOfRange(
            "The vapour pressure of water",
            pressure,
            0.0,
            barometer,
            Kind.ABSOLUTE_PRESSURE,
            "at the barometer water boils",
        )
    return MOLAR_RATIO * pressure / (barometer - pressure)


def _wet_bulb_ratio(temperature: float, wet_bulb: float, barometer: float) -> float:
    dry, wet = temperature - 273.15, wet_bulb - 273.15
    saturated = _ratio(vapour_pressure(wet_bulb), barometer)
    if wet >= 0:
        return ((2501 - 2.326 * wet) * saturated - 1.006 * (dry - wet)) / (
            2501 + 1.86 * dry - 4.186 * wet
        )
    return ((2830 - 0.24 * wet) * saturated - 1.006 * (dry - wet)) / (2830 + 1.86 * dry - 2.1 * wet)


def check_temperature(temperature: float, what: str) -> None:
    """Refuses a temperature [K] outside -58 to 140 F. Raises `OutOfRange`."""
    if not COLDEST <= temperature <= HOTTEST:
        raise OutOfRange(
            what,
            temperature,
            COLDEST,
            HOTTEST,
            Kind.TEMPERATURE,
            "no case, store or roof lies beyond",
        )
