"""Kinds of quantity and the units people use for them. SI inside; units only at the edges.

Factors are those of NIST SP 811 (2008), appendix B, unless a line says otherwise.
"""

from __future__ import annotations

from enum import StrEnum

from expert.made_when_used import dataclass


class Kind(StrEnum):
    """What a number is. A temperature is not a temperature difference; gauge is not absolute."""

    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature_difference"
    GAUGE_PRESSURE = "gauge_pressure"
    ABSOLUTE_PRESSURE = "absolute_pressure"
    PRESSURE_DIFFERENCE = "pressure_difference"
    DURATION = "duration"
    SHARE = "share"
    RATIO = "ratio"
    COUNT = "count"
    LENGTH = "length"
    VOLUME = "volume"
    VOLUME_FLOW = "volume_flow"
    MASS = "mass"
    DENSITY = "density"
    HUMIDITY_RATIO = "humidity_ratio"
    MASS_FLOW = "mass_flow"
    POWER = "power"
    ENERGY = "energy"
    SPECIFIC_ENERGY = "specific_energy"
    CONDUCTANCE = "conductance"
    VISCOSITY = "viscosity"
    SPEED = "speed"
    CURRENT = "current"
    VOLTAGE = "voltage"
    PER_HOUR = "per_hour"
    PER_DAY = "per_day"
    CHOICE = "choice"
    TEXT = "text"


@dataclass(frozen=True)
class Unit:
    """SI value = number * factor + offset. `names` are what may be typed, the first is shown.

    `digits` are shown after the point; with `trim` a last digit of zero is not.
    """

    kind: Kind
    names: tuple[str, ...]
    factor: float
    offset: float = 0.0
    digits: int = 1
    trim: bool = False

    @property
    def name(self) -> str:
        """The name shown on screens and reports."""
        return self.names[0]

    def to_si(self, number: float) -> float:
        """SI value of a number in this unit."""
        return number * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """Number in this unit of an SI value."""
        return (value - self.offset) / self.factor


PSI = 6894.757293168
BAR = 1e5
INHG = 3386.389  # conventional inch of mercury, 0 C
ATMOSPHERE = 101325.0
FAHRENHEIT = 5 / 9
FAHRENHEIT_ZERO = 273.15 - 32 * FAHRENHEIT
POUND = 0.45359237
FOOT = 0.3048
BTU = 1055.05585262  # international table

K = Kind
UNITS: tuple[Unit, ...] = (
    Unit(K.TEMPERATURE, ("F", "degF", "°F", "fahrenheit"), FAHRENHEIT, FAHRENHEIT_ZERO),
    Unit(K.TEMPERATURE, ("C", "degC", "°C", "celsius"), 1.0, 273.15),
    Unit(K.TEMPERATURE, ("K", "kelvin"), 1.0),
    Unit(K.TEMPERATURE_DIFFERENCE, ("F", "degF", "°F", "fahrenheit", "R"), FAHRENHEIT),
    Unit(K.TEMPERATURE_DIFFERENCE, ("K", "kelvin", "C", "degC", "°C", "celsius"), 1.0),
    Unit(K.GAUGE_PRESSURE, ("psig", "psi", "lb", "pounds", "psi gauge"), PSI),
    Unit(K.GAUGE_PRESSURE, ("bar", "barg", "bar(g)", "bar gauge"), BAR, digits=2),
    Unit(K.GAUGE_PRESSURE, ("kPa", "kPag", "kPa gauge"), 1e3, digits=0),
    Unit(K.GAUGE_PRESSURE, ("inHg vac", "inHg vacuum", "inHg", "in Hg vac", '"Hg'), -INHG),
    Unit(K.ABSOLUTE_PRESSURE, ("psia", "psi absolute"), PSI),
    Unit(K.ABSOLUTE_PRESSURE, ("bara", "bar(a)", "bar absolute"), BAR, digits=2),
    Unit(K.ABSOLUTE_PRESSURE, ("kPaa", "kPa(a)", "kPa absolute"), 1e3, digits=0),
    Unit(K.ABSOLUTE_PRESSURE, ("micron", "microns"), 0.1333224, digits=0),
    Unit(K.ABSOLUTE_PRESSURE, ("mbar", "mbar(a)"), 100.0),
    Unit(K.ABSOLUTE_PRESSURE, ("inHga", "inHg absolute"), INHG, digits=2),
    Unit(K.PRESSURE_DIFFERENCE, ("psi", "psid", "lb", "pounds"), PSI),
    Unit(K.PRESSURE_DIFFERENCE, ("bar",), BAR, digits=2),
    Unit(K.PRESSURE_DIFFERENCE, ("kPa",), 1e3, digits=0),
    Unit(K.PRESSURE_DIFFERENCE, ("micron", "microns"), 0.1333224, digits=0),
    Unit(K.DURATION, ("min", "m", "minute", "minutes", "mins"), 60.0),
    Unit(K.DURATION, ("h", "hour", "hours", "hr"), 3600.0),
    Unit(K.DURATION, ("s", "sec", "second", "seconds"), 1.0, digits=0),
    Unit(K.DURATION, ("day", "days"), 86400.0),
    Unit(K.SHARE, ("%", "percent", "per cent", "pct"), 0.01, trim=True),
    Unit(K.RATIO, ("", "to 1", ":1"), 1.0, digits=2),
    Unit(K.COUNT, ("",), 1.0, digits=0),
    Unit(K.LENGTH, ("ft", "feet", "foot"), FOOT),
    Unit(K.LENGTH, ("in", "inch", "inches"), FOOT / 12),
    Unit(K.LENGTH, ("m", "metre", "metres", "meter", "meters"), 1.0, digits=2),
    Unit(K.LENGTH, ("mm",), 0.001, digits=0),
    Unit(K.VOLUME, ("ft3", "cu ft"), FOOT**3, digits=2),
    Unit(K.VOLUME, ("L", "litre", "litres", "liter", "liters"), 0.001, digits=2),
    Unit(K.VOLUME, ("m3",), 1.0, digits=4),
    Unit(K.VOLUME, ("gal", "gallon", "gallons"), 0.003785411784, digits=2),
    Unit(K.VOLUME_FLOW, ("cfm", "ft3/min"), FOOT**3 / 60, digits=0),
    Unit(K.VOLUME_FLOW, ("m3/h",), 1 / 3600),
    Unit(K.VOLUME_FLOW, ("L/s",), 0.001),
    Unit(K.VOLUME_FLOW, ("m3/s",), 1.0, digits=4),
    Unit(K.MASS, ("lb", "lbs", "pound", "pounds"), POUND),
    Unit(K.MASS, ("kg",), 1.0, digits=2),
    Unit(K.MASS, ("oz", "ounce", "ounces"), POUND / 16),
    Unit(K.MASS, ("tonne", "tonnes"), 1000.0, digits=2),
    Unit(K.DENSITY, ("lb/ft3",), POUND / FOOT**3, digits=2),
    Unit(K.DENSITY, ("kg/m3",), 1.0),
    Unit(K.HUMIDITY_RATIO, ("gr/lb", "grains/lb"), 1 / 7000),
    Unit(K.HUMIDITY_RATIO, ("g/kg",), 0.001),
    Unit(K.HUMIDITY_RATIO, ("lb/lb", "kg/kg"), 1.0, digits=5),
    Unit(K.MASS_FLOW, ("lb/h",), POUND / 3600),
    Unit(K.MASS_FLOW, ("kg/s",), 1.0, digits=4),
    Unit(K.MASS_FLOW, ("kg/h",), 1 / 3600),
    Unit(K.MASS_FLOW, ("oz/yr",), POUND / 16 / (365 * 86400), digits=2),
    Unit(K.MASS_FLOW, ("g/yr",), 0.001 / (365 * 86400), digits=1),
    Unit(K.POWER, ("Btu/h", "btuh"), BTU / 3600, digits=0),
    Unit(K.POWER, ("kW",), 1000.0, digits=2),
    Unit(K.POWER, ("W",), 1.0, digits=0),
    Unit(K.POWER, ("ton", "tons"), 12000 * BTU / 3600, digits=2),
    Unit(K.ENERGY, ("Btu",), BTU, digits=0),
    Unit(K.ENERGY, ("kWh",), 3.6e6, digits=2),
    Unit(K.ENERGY, ("kJ",), 1000.0, digits=0),
    Unit(K.SPECIFIC_ENERGY, ("Btu/lb",), BTU / POUND, digits=2),
    Unit(K.SPECIFIC_ENERGY, ("kJ/kg",), 1000.0, digits=2),
    Unit(K.CONDUCTANCE, ("Btu/(h F)", "Btu/h F"), BTU / 3600 / FAHRENHEIT, digits=0),
    Unit(K.CONDUCTANCE, ("W/K",), 1.0),
    Unit(K.VISCOSITY, ("cP", "centipoise", "mPa s"), 1e-3, digits=3),
    Unit(K.VISCOSITY, ("uPa s",), 1e-6, digits=1),
    Unit(K.SPEED, ("fpm", "ft/min"), FOOT / 60, digits=0),
    Unit(K.SPEED, ("m/s",), 1.0, digits=2),
    Unit(K.CURRENT, ("A", "amp", "amps"), 1.0),
    Unit(K.VOLTAGE, ("V", "volt", "volts"), 1.0),
    Unit(K.PER_HOUR, ("per hour", "/h"), 1 / 3600, digits=0),
    Unit(K.PER_DAY, ("per day", "/day"), 1 / 86400, digits=0),
)

SYSTEMS = ("us", "si")
_SI_CHOICE = {
    K.TEMPERATURE: "C",
    K.TEMPERATURE_DIFFERENCE: "K",
    K.GAUGE_PRESSURE: "bar",
    K.ABSOLUTE_PRESSURE: "bara",
    K.PRESSURE_DIFFERENCE: "bar",
    K.LENGTH: "m",
    K.VOLUME: "L",
    K.VOLUME_FLOW: "m3/h",
    K.MASS: "kg",
    K.DENSITY: "kg/m3",
    K.HUMIDITY_RATIO: "g/kg",
    K.MASS_FLOW: "kg/s",
    K.POWER: "kW",
    K.ENERGY: "kWh",
    K.SPECIFIC_ENERGY: "kJ/kg",
    K.CONDUCTANCE: "W/K",
    K.VISCOSITY: "uPa s",
    K.SPEED: "m/s",
}


def unit_for(kind: Kind, system: str = "us") -> Unit:
    """The unit shown for a kind in a unit system ('us' or 'si')."""
    wanted = _SI_CHOICE.get(kind) if system == "si" else None
    for unit in UNITS:
        if unit.kind == kind and (wanted is None or unit.name == wanted):
            return unit
    raise LookupError(f"{kind} has no units")


def units_of(kind: Kind) -> tuple[Unit, ...]:
    """Every unit that a value of this kind may be typed in."""
    return tuple(unit for unit in UNITS if unit.kind == kind)
