"""The barometer at an altitude."""

from __future__ import annotations

from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import ATMOSPHERE, Kind

LOWEST, HIGHEST = -5000.0, 11000.0  # m, the range that ASHRAE states for the formula


def barometer(altitude: float) -> float:
    """Standard barometric pressure [Pa] at an altitude [m] from -5000 to 11000 m.

    Source: U.S. Standard Atmosphere 1976 as given in ASHRAE Handbook Fundamentals, chapter 1.
    Weather moves the real barometer by a few per cent. Raises `OutOfRange`.
    """
    if not LOWEST <= altitude <= HIGHEST:
        raise OutOfRange(
            "The altitude",
            altitude,
            LOWEST,
            HIGHEST,
            Kind.LENGTH,
            "the standard atmosphere formula holds for the troposphere only",
        )
    return ATMOSPHERE * float((1 - 2.25577e-5 * altitude) ** 5.2559)
