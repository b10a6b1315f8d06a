"""The vapour-compression cycle: effect, work, coefficient of performance, and what a psi costs.

Evaporating and condensing pressures are taken at the compressor; superheat is that of the suction
gas (dew basis) and counts as useful, subcooling is below the bubble temperature.

Sources: definition; CoolProp 8 equations of state (Bell et al. 2014); Carnot (1824).
"""

from __future__ import annotations

from collections.abc import Callable

from expert.made_when_used import dataclass
from expert.physics.cycle.compression import EQUATIONS, compressed
from expert.physics.fluids import single_phase
from expert.physics.fluids.of_context import DEFINITION, absolute, named
from expert.physics.fluids.saturation import saturation
from expert.physics.fluids.single_phase import SinglePhaseState
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import Kind


@dataclass(frozen=True)
class Cycle:
    """A single-stage cycle by its states before and after the compressor and before the valve."""

    suction: SinglePhaseState
    discharge: SinglePhaseState
    liquid: SinglePhaseState

    @property
    def effect(self) -> float:
        """Refrigerating effect [J/kg]."""
        return self.suction.enthalpy - self.liquid.enthalpy

    @property
    def work(self) -> float:
        """Work of compression [J/kg]."""
        return self.discharge.enthalpy - self.suction.enthalpy

    @property
    def coefficient_of_performance(self) -> float:
        """Refrigerating effect over work."""
        return self.effect / self.work

    @property
    def heat_rejected(self) -> float:
        """Heat given to the condenser [J/kg]."""
        return self.effect + self.work

    def mass_flow(self, load: float) -> float:
        """Refrigerant [kg/s] for a refrigerating load [W]."""
        return load / self.effect

    @property
    def volumetric_effect(self) -> float:
        """Refrigerating effect per volume of suction gas [J/m3]."""
        return self.effect * self.suction.density


def cycle(
    name: str,
    evaporating: float,
    condensing: float,
    superheat: float,
    subcooling: float,
    efficiency: float,
) -> Cycle:
    """The cycle between absolute pressures [Pa] with superheat and subcooling [K], efficiency 0..1.

    Raises `OutOfRange`, `PhysicsError`, `UnknownRefrigerant`, `NotAvailable`.
    """
    for what, value in (("superheat", superheat), ("subcooling", subcooling)):
        if not 0 <= value <= 100:
            raise OutOfRange(f"The {what}", value, 0.0, 100.0, Kind.TEMPERATURE_DIFFERENCE)
    fluid = saturation(name)
    start = single_phase.gas(name, evaporating, fluid.dew_temperature(evaporating) + superheat)
    end = compressed(name, start, condensing, efficiency)
    before_valve = fluid.bubble_temperature(condensing) - subcooling
    return Cycle(start, end, single_phase.liquid(name, condensing, before_valve))


def _lower(context: Context, evaporating: float, change: float) -> float:
    low = saturation(named(context)).dew_pressure_range.low
    if not context.absolute(evaporating) - change >= low:
        raise OutOfRange(
            "The change of suction", change, 0.0, context.absolute(evaporating) - low,
            Kind.PRESSURE_DIFFERENCE, "no rack runs lower",
        )  # fmt: skip
    return evaporating - change


def carnot(context: Context, evaporating: float, condensing: float) -> float:
    """Best possible coefficient of performance between two temperatures [K]."""
    if not 0 < evaporating < condensing:
        raise PhysicsError("The condensing temperature must be above the evaporating temperature.")
    return evaporating / (condensing - evaporating)


def _cycle(
    context: Context,
    evaporating_pressure: float,
    condensing_pressure: float,
    superheat: float,
    subcooling: float,
    isentropic_efficiency: float,
) -> Cycle:
    return cycle(
        named(context),
        absolute(context, evaporating_pressure, "The evaporating pressure"),
        absolute(context, condensing_pressure, "The condensing pressure"),
        superheat,
        subcooling,
        isentropic_efficiency,
    )


def _figure(read: Callable[[Cycle], float]) -> Callable[..., float]:
    def compute(context: Context, **inputs: float) -> float:
        return read(_cycle(context, **inputs))

    return compute


def refrigerant_flow(context: Context, load: float, **inputs: float) -> float:
    """Refrigerant [kg/s] that a load [W] needs."""
    return _cycle(context, **inputs).mass_flow(load)


def suction_pressure_cost(context: Context, change: float, **inputs: float) -> float:
    """Share by which power for the same load rises when suction falls by `change` [Pa]."""
    lower = {
        **inputs,
        "evaporating_pressure": _lower(context, inputs["evaporating_pressure"], change),
    }
    return _power_rise(_cycle(context, **inputs), _cycle(context, **lower))


def condensing_temperature_cost(context: Context, change: float, **inputs: float) -> float:
    """Share by which power for the same load rises when condensing (dew) rises by `change` [K]."""
    fluid = saturation(named(context))
    now = fluid.dew_temperature(context.absolute(inputs["condensing_pressure"]))
    higher = {**inputs, "condensing_pressure": context.gauge(fluid.dew_pressure(now + change))}
    return _power_rise(_cycle(context, **inputs), _cycle(context, **higher))


def suction_capacity_cost(context: Context, change: float, **inputs: float) -> float:
    """Share of compressor capacity lost when suction falls by `change` [Pa]."""
    lower = {
        **inputs,
        "evaporating_pressure": _lower(context, inputs["evaporating_pressure"], change),
    }
    now, then = _cycle(context, **inputs), _cycle(context, **lower)
    return 1 - then.volumetric_effect / now.volumetric_effect


def _power_rise(now: Cycle, then: Cycle) -> float:
    return now.coefficient_of_performance / then.coefficient_of_performance - 1


def _yearly(share: Callable[..., float]) -> Callable[..., float]:
    def compute(context: Context, yearly_energy: float, **inputs: float) -> float:
        return yearly_energy * share(context, **inputs)

    return compute


_INPUTS = {
    "evaporating_pressure": Kind.GAUGE_PRESSURE,
    "condensing_pressure": Kind.GAUGE_PRESSURE,
    "superheat": Kind.TEMPERATURE_DIFFERENCE,
    "subcooling": Kind.TEMPERATURE_DIFFERENCE,
    "isentropic_efficiency": Kind.SHARE,
}
_METER = ("kWh", "kWh")
_BASIS = "dew evaporating and condensing, superheat from dew, subcooling from bubble"
_SAME = "same load, efficiency, superheat and subcooling before and after"


def _formula(
    name: str,
    title: str,
    output: Kind,
    text: str,
    compute: Callable[..., float],
    more: dict[str, Kind] | None = None,
    validity: str = "all superheat counts as useful; pressures at the compressor",
) -> Formula:
    return Formula(
        name=name,
        title=title,
        inputs={**_INPUTS, **(more or {})},
        output=output,
        text=text,
        source=f"{DEFINITION}; {EQUATIONS}",
        compute=compute,
        basis=_BASIS,
        validity=validity,
        needs_refrigerant=True,
        usual={"yearly_energy": _METER, name: _METER} if output is Kind.ENERGY else {},
    )


_PSI = {"change": Kind.PRESSURE_DIFFERENCE}
_DEGREES = {"change": Kind.TEMPERATURE_DIFFERENCE}
_YEAR = {"yearly_energy": Kind.ENERGY}

FORMULAS: tuple[Formula, ...] = (
    _formula(
        "refrigerating_effect",
        "refrigerating effect",
        Kind.SPECIFIC_ENERGY,
        "h(suction gas) - h(liquid before the valve)",
        _figure(lambda c: c.effect),
    ),
    _formula(
        "compression_work",
        "work of compression",
        Kind.SPECIFIC_ENERGY,
        "isentropic work / isentropic efficiency",
        _figure(lambda c: c.work),
    ),
    _formula(
        "coefficient_of_performance",
        "coefficient of performance",
        Kind.RATIO,
        "refrigerating effect / work",
        _figure(lambda c: c.coefficient_of_performance),
    ),
    _formula(
        "cycle_discharge_temperature",
        "discharge temperature of the cycle",
        Kind.TEMPERATURE,
        "temperature after compression with the stated efficiency",
        _figure(lambda c: c.discharge.temperature),
    ),
    _formula(
        "refrigerant_flow",
        "refrigerant flow",
        Kind.MASS_FLOW,
        "load / refrigerating effect",
        refrigerant_flow,
        {"load": Kind.POWER},
    ),
    _formula(
        "suction_pressure_cost",
        "power cost of lower suction",
        Kind.SHARE,
        "COP now / COP at the lower suction - 1",
        suction_pressure_cost,
        _PSI,
        _SAME,
    ),
    _formula(
        "suction_capacity_cost",
        "capacity cost of lower suction",
        Kind.SHARE,
        "1 - effect per suction volume at the lower suction / now",
        suction_capacity_cost,
        _PSI,
        f"{_SAME}; the volumetric efficiency falls too, which is left out",
    ),
    _formula(
        "condensing_temperature_cost",
        "power cost of higher condensing",
        Kind.SHARE,
        "COP now / COP at the higher condensing temperature - 1",
        condensing_temperature_cost,
        _DEGREES,
        f"{_SAME}; power of the condenser fans is left out",
    ),
    _formula(
        "suction_pressure_cost_yearly",
        "yearly energy cost of lower suction",
        Kind.ENERGY,
        "yearly compressor energy x share",
        _yearly(suction_pressure_cost),
        {**_PSI, **_YEAR},
        f"{_SAME}, all year",
    ),
    _formula(
        "condensing_temperature_cost_yearly",
        "yearly energy cost of higher condensing",
        Kind.ENERGY,
        "yearly compressor energy x share",
        _yearly(condensing_temperature_cost),
        {**_DEGREES, **_YEAR},
        f"{_SAME}, all year; power of the condenser fans is left out",
    ),
    Formula(
        name="carnot_coefficient_of_performance",
        title="best possible coefficient of performance",
        inputs={"evaporating": Kind.TEMPERATURE, "condensing": Kind.TEMPERATURE},
        output=Kind.RATIO,
        text="T_evaporating / (T_condensing - T_evaporating), absolute temperatures",
        source="Carnot (1824)",
        compute=carnot,
        validity="no real plant reaches it",
    ),
)
