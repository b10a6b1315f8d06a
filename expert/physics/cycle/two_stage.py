"""A two-stage cycle with a flash chamber, for refrigerants without glide."""

from __future__ import annotations

from dataclasses import dataclass

from expert.physics.cycle.compression import isentropic_end
from expert.physics.fluids import single_phase
from expert.physics.fluids.saturation import saturation
from expert.physics.fluids.single_phase import SinglePhaseState
from expert.physics.frame.physics_errors import NotAvailable


@dataclass(frozen=True)
class TwoStage:
    """Figures per kilogram through the condenser: J/kg, shares and ratios."""

    vapour_fraction: float
    effect: float
    work: float

    @property
    def coefficient_of_performance(self) -> float:
        """Refrigerating effect over work of both stages."""
        return self.effect / self.work


def two_stage(name: str, low: float, middle: float, high: float) -> TwoStage:
    """Ideal two-stage cycle between three absolute pressures [Pa].

    Saturated vapour enters the low stage; its gas mixes with the flash gas before the high stage.
    Raises `NotAvailable` for a blend: liquid and flash gas then differ in composition.
    """
    if not saturation(name).one_line:
        raise NotAvailable(
            f"The flash chamber cycle of {name}",
            "liquid and vapour of a blend differ in composition, which this cycle leaves out",
        )
    start = _vapour(name, low)
    after_low = isentropic_end(name, start, middle)
    chamber_vapour, chamber_liquid = _vapour(name, middle), _liquid(name, middle)
    entering = _liquid(name, high)
    fraction = (entering.enthalpy - chamber_liquid.enthalpy) / (
        chamber_vapour.enthalpy - chamber_liquid.enthalpy
    )
    rest = 1 - fraction
    mixed = single_phase.gas_of_enthalpy(
        name, middle, fraction * chamber_vapour.enthalpy + rest * after_low.enthalpy
    )
    after_high = isentropic_end(name, mixed, high)
    return TwoStage(
        vapour_fraction=fraction,
        effect=rest * (start.enthalpy - chamber_liquid.enthalpy),
        work=rest * (after_low.enthalpy - start.enthalpy) + after_high.enthalpy - mixed.enthalpy,
    )


def _vapour(name: str, pressure: float) -> SinglePhaseState:
    return single_phase.gas(name, pressure, saturation(name).dew_temperature(pressure))


def _liquid(name: str, pressure: float) -> SinglePhaseState:
    return single_phase.liquid(name, pressure, saturation(name).bubble_temperature(pressure))
