"""Saturation pressure of water over liquid and over ice, both ways, in plain arithmetic.

Liquid: IAPWS R7-97(2012), equations 30 and 31. Ice: IAPWS R14-08(2011), equation 6.

Sources: IAPWS R7-97(2012) (liquid water) and IAPWS R14-08(2011) (ice).
"""

from __future__ import annotations

from math import exp

from expert.physics.frame.bisection import rising_root
from expert.physics.frame.formula import Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import Kind

TRIPLE_TEMPERATURE = 273.16  # K, IAPWS R14-08
TRIPLE_PRESSURE = 611.657  # Pa, IAPWS R14-08
MELTING = 273.15  # K, ice point at one atmosphere
COLDEST = 173.15  # K; the equation reaches 50 K, no pipe does
HOTTEST = 473.15  # K; the equation reaches 647.096 K, no service work does

_LIQUID = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)  # IAPWS R7-97 table 34
_ICE = (
    (-0.212144006e2, 0.333333333e-2),
    (0.273203819e2, 0.120666667e1),
    (-0.610598130e1, 0.170333333e1),
)  # IAPWS R14-08 table 3


def vapour_pressure(temperature: float) -> float:
    """Pressure [Pa absolute] at which water boils, or ice sublimes, at a temperature [K].

    Over ice below 273.16 K, over liquid from there on. Raises `OutOfRange` outside
    -100 to 200 C. Source: IAPWS R7-97 and R14-08.
    """
    if not COLDEST <= temperature <= HOTTEST:
        raise OutOfRange(
            "The water temperature",
            temperature,
            COLDEST,
            HOTTEST,
            Kind.TEMPERATURE,
            "no service reading lies beyond",
        )
    if temperature < TRIPLE_TEMPERATURE:
        return ice_vapour_pressure(temperature)
    return liquid_vapour_pressure(temperature)


def liquid_vapour_pressure(temperature: float) -> float:
    """Pressure [Pa absolute] over liquid water, IAPWS R7-97 equation 30, from 273.15 K [K]."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _LIQUID
    theta = temperature + n9 / (temperature - n10)
    a = theta**2 + n1 * theta + n2
    b = n3 * theta**2 + n4 * theta + n5
    c = n6 * theta**2 + n7 * theta + n8
    root: float = 2 * c / (-b + (b * b - 4 * a * c) ** 0.5)
    return root**4 * 1e6


def ice_vapour_pressure(temperature: float) -> float:
    """Pressure [Pa absolute] over ice, IAPWS R14-08 equation 6, 50 to 273.16 K [K]."""
    theta = temperature / TRIPLE_TEMPERATURE
    total: float = sum(a * theta**b for a, b in _ICE)
    return TRIPLE_PRESSURE * exp(total / theta)


def boiling_temperature(pressure: float) -> float:
    """Temperature [K] at which water boils or ice sublimes at a pressure [Pa absolute].

    Raises `OutOfRange` for a pressure whose answer would lie outside -100 to 200 C.
    """
    low, high = vapour_pressure(COLDEST), vapour_pressure(HOTTEST)
    if not low <= pressure <= high:
        raise OutOfRange(
            "The vapour pressure of water",
            pressure,
            low,
            high,
            Kind.ABSOLUTE_PRESSURE,
            "a vacuum is an absolute pressure above zero, a micron gauge reads from about 1 micron",
        )
    return rising_root(lambda t: vapour_pressure(t) - pressure, COLDEST, HOTTEST)


_SOURCE = "published: IAPWS R7-97(2012) (liquid water) and IAPWS R14-08(2011) (ice)"

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="water_boiling_temperature",
        title="temperature at which water boils or ice sublimes in a vacuum",
        inputs={"vacuum": Kind.ABSOLUTE_PRESSURE},
        output=Kind.TEMPERATURE,
        text="saturation temperature of water at the vacuum; over ice below 4,588 microns",
        source=_SOURCE,
        compute=lambda context, vacuum: boiling_temperature(vacuum),
        validity="-148 to 392 F",
        usual={"vacuum": ("micron", "micron"), "water_vapour_pressure": ("micron", "micron")},
    ),
    Formula(
        name="water_vapour_pressure",
        title="vacuum below which water boils or ice sublimes at a pipe temperature",
        inputs={"temperature": Kind.TEMPERATURE},
        output=Kind.ABSOLUTE_PRESSURE,
        text="saturation pressure of water at the temperature; over ice below 32 F",
        source=_SOURCE,
        compute=lambda context, temperature: vapour_pressure(temperature),
        validity="-148 to 392 F",
        usual={"vacuum": ("micron", "micron"), "water_vapour_pressure": ("micron", "micron")},
    ),
    Formula(
        name="vacuum_margin_to_boiling",
        title="pipe temperature above the boiling temperature of water at the vacuum",
        inputs={"pipe_temperature": Kind.TEMPERATURE, "vacuum": Kind.ABSOLUTE_PRESSURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="coldest pipe temperature - boiling temperature of water at the vacuum; below zero "
        "the water stays",
        source=_SOURCE,
        compute=lambda context, pipe_temperature, vacuum: (
            pipe_temperature - boiling_temperature(vacuum)
        ),
        validity="-148 to 392 F",
        usual={"vacuum": ("micron", "micron"), "water_vapour_pressure": ("micron", "micron")},
    ),
)
