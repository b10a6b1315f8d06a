"""The gas cooler of a transcritical rack: above the critical point nothing condenses.

One refrigerant without glide (R-744). States by pressure and temperature from the library.

Sources: definition; CoolProp 8 equations of state (Bell et al. 2014).
"""

from __future__ import annotations

from collections.abc import Callable

from expert.physics.cycle.compression import EQUATIONS, checked_efficiency
from expert.physics.fluids import single_phase
from expert.physics.fluids.of_context import DEFINITION, absolute, named
from expert.physics.fluids.saturation import saturation
from expert.physics.fluids.single_phase import SinglePhaseState
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange, PhysicsError
from expert.units.kinds import Kind

HIGHEST = 14e6  # Pa, 2,030 psia: above what transcritical racks are built for
_STEPS = 60  # of a search by golden section, far below what a regulator can hold


def dense(context: Context, pressure: float, temperature: float) -> SinglePhaseState:
    """The fluid at a gauge pressure [Pa] above the critical one and a temperature [K].

    Raises `OutOfRange` below the critical pressure and above 2,030 psia, `NotAvailable` for a
    blend.
    """
    name, at = named(context), absolute(context, pressure, "The gas cooler pressure")
    fluid = saturation(name)
    if not fluid.one_line:
        raise NotAvailable(f"The gas cooler of {name}", "it is for one refrigerant without glide")
    if not fluid.critical_pressure < at <= HIGHEST:
        raise OutOfRange(
            "The gas cooler pressure", at, fluid.critical_pressure, HIGHEST,
            Kind.ABSOLUTE_PRESSURE, "below the critical pressure it condenses: use subcooling",
        )  # fmt: skip
    return single_phase.dense(name, at, temperature)


def density(context: Context, pressure: float, temperature: float) -> float:
    """Density [kg/m3] in the gas cooler."""
    return dense(context, pressure, temperature).density


def heat(context: Context, pressure: float, inlet: float, outlet: float) -> float:
    """Heat [J/kg] that the gas cooler takes from the gas between two temperatures [K]."""
    if outlet > inlet:
        raise PhysicsError("The gas cooler cools: its outlet is not warmer than its inlet.")
    return dense(context, pressure, inlet).enthalpy - dense(context, pressure, outlet).enthalpy


def flash_share(context: Context, pressure: float, outlet: float, tank_pressure: float) -> float:
    """Vapour share of the mass in the flash tank behind the high pressure valve."""
    name = named(context)
    entering = dense(context, pressure, outlet).enthalpy
    tank = absolute(context, tank_pressure, "The tank pressure")
    liquid, vapour = _saturated(name, tank)
    return min(max((entering - liquid.enthalpy) / (vapour.enthalpy - liquid.enthalpy), 0.0), 1.0)


def performance(context: Context, **inputs: float) -> float:
    """Refrigerating effect over work of the plain transcritical cycle, as `_performance`.

    Raises `PhysicsError` where no effect is left.
    """
    found = _performance(context, **inputs)
    if found <= 0:
        raise PhysicsError("At this outlet temperature the gas cooler leaves no cooling effect.")
    return found


def _performance(
    context: Context,
    evaporating_pressure: float,
    superheat: float,
    pressure: float,
    outlet: float,
    isentropic_efficiency: float,
) -> float:
    """Effect over work, below zero where the gas cooler leaves too much heat."""
    name = named(context)
    low = absolute(context, evaporating_pressure, "The evaporating pressure")
    dew = saturation(name).dew_temperature(low)
    start = single_phase.gas(name, low, dew + superheat)
    high = absolute(context, pressure, "The gas cooler pressure")
    after = dense(context, pressure, outlet)
    ideal = single_phase.gas_of_entropy(name, high, start.entropy)
    work = (ideal.enthalpy - start.enthalpy) / checked_efficiency(isentropic_efficiency)
    return (start.enthalpy - after.enthalpy) / work


def best_pressure(
    context: Context,
    evaporating_pressure: float,
    superheat: float,
    outlet: float,
    isentropic_efficiency: float,
) -> float:
    """Gauge pressure [Pa] of the gas cooler at which the performance is best.

    Raises `OutOfRange` for an outlet at or below the critical temperature: it then condenses.
    """
    fluid = saturation(named(context))
    if not outlet > fluid.critical_temperature:
        raise OutOfRange(
            "The gas cooler outlet", outlet, fluid.critical_temperature, single_phase.HOTTEST,
            Kind.TEMPERATURE, "below the critical temperature it condenses at any pressure",
        )  # fmt: skip

    def of(at: float) -> float:
        return _performance(
            context, evaporating_pressure, superheat, context.gauge(at), outlet,
            isentropic_efficiency,
        )  # fmt: skip

    return context.gauge(_highest(of, fluid.critical_pressure * 1.001, HIGHEST))


def _highest(of: Callable[[float], float], low: float, high: float) -> float:
    """Where a function with one hill between two ends is highest, by golden section."""
    golden = (5**0.5 - 1) / 2
    left, right = high - golden * (high - low), low + golden * (high - low)
    at_left, at_right = of(left), of(right)
    for _ in range(_STEPS):
        if high - low < 100.0:
            break
        if at_left < at_right:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right = of(right)
        else:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left = of(left)
    return (low + high) / 2


def _saturated(name: str, pressure: float) -> tuple[SinglePhaseState, SinglePhaseState]:
    temperature = saturation(name).dew_temperature(pressure)
    return (
        single_phase.liquid(name, pressure, temperature),
        single_phase.gas(name, pressure, temperature),
    )


_AT = {"pressure": Kind.GAUGE_PRESSURE}
_CYCLE = {
    "evaporating_pressure": Kind.GAUGE_PRESSURE,
    "superheat": Kind.TEMPERATURE_DIFFERENCE,
}
_ABOVE = "above the critical pressure (R-744: 1,070 psia), a refrigerant without glide"
_PLAIN = (
    f"{_ABOVE}; without bypass of flash gas, parallel compression or ejector, which move the best "
    "pressure little and the performance much"
)


def _formula(name: str, title: str, output: Kind, **rest: object) -> Formula:
    return Formula(
        name=name, title=title, output=output, needs_refrigerant=True,
        **({"source": f"{DEFINITION}; {EQUATIONS}", "validity": _ABOVE} | rest),  # type: ignore[arg-type]
    )  # fmt: skip


FORMULAS: tuple[Formula, ...] = (
    _formula(
        "gas_cooler_density",
        "density in the gas cooler",
        Kind.DENSITY,
        inputs={**_AT, "temperature": Kind.TEMPERATURE},
        text="density at the pressure and temperature",
        compute=density,
    ),
    _formula(
        "gas_cooler_heat",
        "heat that the gas cooler takes from each pound",
        Kind.SPECIFIC_ENERGY,
        inputs={**_AT, "inlet": Kind.TEMPERATURE, "outlet": Kind.TEMPERATURE},
        text="h(pressure, inlet) - h(pressure, outlet)",
        compute=heat,
    ),
    _formula(
        "gas_cooler_flash_gas",
        "flash gas in the tank behind the high pressure valve, by mass",
        Kind.SHARE,
        inputs={**_AT, "outlet": Kind.TEMPERATURE, "tank_pressure": Kind.GAUGE_PRESSURE},
        text="(h(pressure, outlet) - h(liquid in the tank)) / latent heat in the tank",
        compute=flash_share,
        validity=f"{_ABOVE}; no heat gained between gas cooler and tank",
    ),
    _formula(
        "gas_cooler_performance",
        "coefficient of performance of the transcritical cycle",
        Kind.RATIO,
        inputs={
            **_CYCLE,
            **_AT,
            "outlet": Kind.TEMPERATURE,
            "isentropic_efficiency": Kind.SHARE,
        },
        text="(h(suction gas) - h(pressure, outlet)) / (isentropic work / efficiency)",
        compute=performance,
        validity=_PLAIN,
    ),
    _formula(
        "gas_cooler_best_pressure",
        "gas cooler pressure at which the performance is best",
        Kind.GAUGE_PRESSURE,
        inputs={**_CYCLE, "outlet": Kind.TEMPERATURE, "isentropic_efficiency": Kind.SHARE},
        text="the pressure at which the coefficient of performance is highest for that outlet",
        compute=best_pressure,
        validity=f"{_PLAIN}; at most 2,030 psia; the plant's own limit comes first",
    ),
)
