"""The nitrogen standing test: what temperature alone explains, and what leak the rest means.

Volume is taken as constant (a copper pipe grows 0.005 % by volume per kelvin: left out).
`FORMULAS` holds those of vacuum and water too.

Sources: Span, Lemmon, Jacobsen, Wagner and Yokozeki (2000), J. Phys. Chem. Ref. Data 29, 1361
(nitrogen as a real gas); ideal gas law; use the real gas above about 300 psig.
"""

from __future__ import annotations

import math

from expert.physics.air import water
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.frame.refusals import above_zero
from expert.physics.tightness import nitrogen, vacuum
from expert.units.kinds import Kind


def expected_pressure(start_pressure: float, start: float, end: float) -> float:
    """Pressure [Pa absolute] at the end temperature [K] of a tight section.

    Real nitrogen at constant density (Span and others 2000). Start pressure [Pa absolute],
    start temperature [K]. Raises `OutOfRange` outside -40 to 158 F or above 2,900 psia.
    """
    return nitrogen.pressure(nitrogen.density(start_pressure, start), end)


def expected_pressure_ideal(start_pressure: float, start: float, end: float) -> float:
    """The same by the ideal gas law, p2 = p1 T2 / T1, as a pocket calculator does it.

    Off by 0.8 psi at 300 psig and 3 psi at 600 psig for a change of 30 F.
    """
    for temperature in (start, end):
        if not nitrogen.COLDEST <= temperature <= nitrogen.HOTTEST:
            raise OutOfRange(
                "The nitrogen temperature",
                temperature,
                nitrogen.COLDEST,
                nitrogen.HOTTEST,
                Kind.TEMPERATURE,
            )
    if not 0 < start_pressure <= nitrogen.HIGHEST:
        raise OutOfRange(
            "The nitrogen pressure", start_pressure, 0.0, nitrogen.HIGHEST, Kind.ABSOLUTE_PRESSURE
        )
    return start_pressure * end / start


def unexplained_fall(start_pressure: float, start: float, end_pressure: float, end: float) -> float:
    """Fall of pressure [Pa] that temperature does not explain; below zero for a rise."""
    return expected_pressure(start_pressure, start, end) - _positive(end_pressure)


def nitrogen_lost(
    volume: float, start_pressure: float, start: float, end_pressure: float, end: float
) -> float:
    """Nitrogen [kg] that left a section of this volume [m3]; below zero if some came in.

    Pressures [Pa absolute], temperatures [K]. Raises `OutOfRange`.
    """
    above_zero("The volume of the section", volume, Kind.VOLUME)
    before = nitrogen.density(start_pressure, start)
    return volume * (before - nitrogen.density(_positive(end_pressure), end))


def leak_flow(lost: float, duration: float) -> float:
    """Average leak [kg/s] of a mass lost [kg] in a duration [s]. Raises `OutOfRange`."""
    above_zero("The test time", duration, Kind.DURATION)
    return lost / duration


def _positive(pressure: float) -> float:
    if not 0 < pressure <= nitrogen.HIGHEST:
        raise OutOfRange(
            "The nitrogen pressure", pressure, 0.0, nitrogen.HIGHEST, Kind.ABSOLUTE_PRESSURE
        )
    return pressure


_SPAN = (
    "published: Span, Lemmon, Jacobsen, Wagner and Yokozeki (2000), J. Phys. Chem. Ref. Data 29, "
    "1361 (nitrogen as a real gas)"
)
_READINGS = {
    "start_pressure": Kind.GAUGE_PRESSURE,
    "start_temperature": Kind.TEMPERATURE,
    "end_pressure": Kind.GAUGE_PRESSURE,
    "end_temperature": Kind.TEMPERATURE,
}
_START = {
    "start_pressure": Kind.GAUGE_PRESSURE,
    "start_temperature": Kind.TEMPERATURE,
    "end_temperature": Kind.TEMPERATURE,
}
_VALIDITY = "-40 to 158 F, up to 2,900 psia; nitrogen only, constant volume, one temperature"


def _expected(
    context: Context, start_pressure: float, start_temperature: float, end_temperature: float
) -> float:
    start = _tested(context, start_pressure)
    return context.gauge(expected_pressure(start, start_temperature, end_temperature))


def _expected_ideal(
    context: Context, start_pressure: float, start_temperature: float, end_temperature: float
) -> float:
    start = _tested(context, start_pressure)
    return context.gauge(expected_pressure_ideal(start, start_temperature, end_temperature))


def _fall(
    context: Context,
    start_pressure: float,
    start_temperature: float,
    end_pressure: float,
    end_temperature: float,
) -> float:
    return unexplained_fall(
        _tested(context, start_pressure),
        start_temperature,
        context.absolute(end_pressure),
        end_temperature,
    )


def _share(
    context: Context,
    start_pressure: float,
    start_temperature: float,
    end_pressure: float,
    end_temperature: float,
) -> float:
    fall = _fall(context, start_pressure, start_temperature, end_pressure, end_temperature)
    return fall / context.absolute(start_pressure)


def _leak(
    context: Context,
    volume: float,
    duration: float,
    start_pressure: float,
    start_temperature: float,
    end_pressure: float,
    end_temperature: float,
) -> float:
    lost = nitrogen_lost(
        volume,
        _tested(context, start_pressure),
        start_temperature,
        context.absolute(end_pressure),
        end_temperature,
    )
    if lost < 0:
        raise PhysicsError(
            "The pressure rose by more than temperature explains: no leak, or a reading is wrong."
        )
    return leak_flow(lost, duration)


def _tested(context: Context, start_pressure: float) -> float:
    """The start pressure [Pa absolute] of a test, which stands above the barometer."""
    if not start_pressure > 0:
        raise OutOfRange(
            "The test pressure", start_pressure, 0.0, math.inf, Kind.GAUGE_PRESSURE,
            "a pressure test stands above the barometer",
        )  # fmt: skip
    return context.absolute(start_pressure)


_FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="nitrogen_expected_pressure",
        title="nitrogen pressure expected from temperature alone",
        inputs=_START,
        output=Kind.GAUGE_PRESSURE,
        text="pressure of real nitrogen at the density of the start and the temperature of the end",
        source=_SPAN,
        compute=_expected,
        validity=_VALIDITY,
    ),
    Formula(
        name="nitrogen_expected_pressure_ideal",
        title="nitrogen pressure expected from temperature alone, ideal gas",
        inputs=_START,
        output=Kind.GAUGE_PRESSURE,
        text="absolute start pressure x absolute end temperature / absolute start temperature",
        source="computed: ideal gas law; use the real gas above about 300 psig",
        compute=_expected_ideal,
        validity=_VALIDITY,
    ),
    Formula(
        name="nitrogen_unexplained_fall",
        title="fall of nitrogen pressure that temperature does not explain",
        inputs=_READINGS,
        output=Kind.PRESSURE_DIFFERENCE,
        text="expected pressure - end pressure; below zero the pressure rose",
        source=_SPAN,
        compute=_fall,
        validity=_VALIDITY,
    ),
    Formula(
        name="nitrogen_unexplained_share",
        title="unexplained fall as a share of the absolute start pressure",
        inputs=_READINGS,
        output=Kind.SHARE,
        text="(expected pressure - end pressure) / absolute start pressure",
        source=_SPAN,
        compute=_share,
        validity=_VALIDITY,
    ),
    Formula(
        name="nitrogen_leak_flow",
        title="nitrogen leak that the fall means, averaged over the test",
        inputs={"volume": Kind.VOLUME, "duration": Kind.DURATION, **_READINGS},
        output=Kind.MASS_FLOW,
        text="volume x (density at the start - density at the end) / test time; nitrogen at test "
        "pressure, not refrigerant at working pressure",
        source=_SPAN,
        compute=_leak,
        validity=_VALIDITY,
    ),
)

FORMULAS: tuple[Formula, ...] = (*_FORMULAS, *vacuum.FORMULAS, *water.FORMULAS)
