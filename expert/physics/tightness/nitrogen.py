"""Nitrogen as a real gas: pressure and density at test pressures, in plain arithmetic.

The reference equation of Span, Lemmon, Jacobsen, Wagner and Yokozeki (2000), J. Phys. Chem.
Ref. Data 29, 1361-1433, residual part, table 17. Stated uncertainty of density 0.02 %. Its four
terms for the critical region vanish at these temperatures (below 1e-50) and are left out.
"""

from __future__ import annotations

from math import exp

from expert.physics.frame.bisection import rising_root
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import Kind

CRITICAL_TEMPERATURE = 126.192  # K
CRITICAL_DENSITY = 11183.901464580624 * 0.02801348  # kg/m3
GAS_CONSTANT = 8.31451 / 0.02801348  # J/(kg K)

COLDEST, HOTTEST = 233.15, 343.15  # K: -40 to 158 F, wider than any standing test
HIGHEST = 20e6  # Pa, a full cylinder
DENSEST = 300.0  # kg/m3, beyond 20 MPa at 233 K

# coefficient, density exponent, temperature exponent, exponent in exp(-density ** l)
_POWER = (
    (0.924803575275, 1, 0.25, 0),
    (-0.492448489428, 1, 0.875, 0),
    (0.661883336938, 2, 0.5, 0),
    (-1.92902649201, 2, 0.875, 0),
    (-0.0622469309629, 3, 0.375, 0),
    (0.349943957581, 3, 0.75, 0),
    (0.564857472498, 1, 0.5, 1),
    (-1.61720005987, 1, 0.75, 1),
    (-0.481395031883, 1, 2, 1),
    (0.421150636384, 3, 1.25, 1),
    (-0.0161962230825, 3, 3.5, 1),
    (0.172100994165, 4, 1, 1),
    (0.00735448924933, 6, 0.5, 1),
    (0.0168077305479, 6, 3, 1),
    (-0.00107626664179, 7, 0, 1),
    (-0.0137318088513, 7, 2.75, 1),
    (0.000635466899859, 8, 0.75, 1),
    (0.00304432279419, 8, 2.5, 1),
    (-0.0435762336045, 1, 4, 2),
    (-0.0723174889316, 2, 6, 2),
    (0.0389644315272, 3, 6, 2),
    (-0.021220136391, 4, 3, 2),
    (0.00408822981509, 5, 3, 2),
    (-5.51990017984e-05, 8, 6, 2),
    (-0.0462016716479, 4, 16, 3),
    (-0.00300311716011, 5, 11, 3),
    (0.0368825891208, 5, 15, 3),
    (-0.0025585684622, 8, 12, 3),
    (0.00896915264558, 3, 12, 4),
    (-0.0044151337035, 5, 7, 4),
    (0.00133722924858, 6, 4, 4),
    (0.000264832491957, 9, 16, 4),
)


def pressure(density: float, temperature: float) -> float:
    """Pressure [Pa absolute] of nitrogen at a density [kg/m3] and temperature [K].

    Raises `OutOfRange` outside -40 to 158 F. Uncertainty 0.02 %.
    """
    _check(temperature)
    delta = density / CRITICAL_DENSITY
    tau = CRITICAL_TEMPERATURE / temperature
    slope = 0.0
    for n, d, t, power in _POWER:
        decay = delta**power if power else 0.0
        slope += n * delta**d * tau**t * exp(-decay) * (d - power * decay)
    return density * GAS_CONSTANT * temperature * (1 + slope)


def density(absolute_pressure: float, temperature: float) -> float:
    """Density [kg/m3] of nitrogen at a pressure [Pa absolute] and temperature [K].

    Raises `OutOfRange` outside -40 to 158 F or 0 to 2,900 psia.
    """
    _check(temperature)
    if not 0 < absolute_pressure <= HIGHEST:
        raise OutOfRange(
            "The nitrogen pressure",
            absolute_pressure,
            0.0,
            HIGHEST,
            Kind.ABSOLUTE_PRESSURE,
            "a standing test stays below the pressure of a full cylinder",
        )
    return rising_root(lambda d: pressure(d, temperature) - absolute_pressure, 0.0, DENSEST)


def _check(temperature: float) -> None:
    if not COLDEST <= temperature <= HOTTEST:
        raise OutOfRange(
            "The nitrogen temperature",
            temperature,
            COLDEST,
            HOTTEST,
            Kind.TEMPERATURE,
            "no pipe in a store stands a pressure test beyond",
        )
