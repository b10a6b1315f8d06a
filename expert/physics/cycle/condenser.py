"""The condenser against the weather, and the check for non-condensables.

Sources: heat balance at constant conductance (Hundy, Trott and Welch, Refrigeration and
Air-Conditioning, example 6.1); CoolProp 8 equations of state (Bell et al. 2014); partial pressures
(Dalton).
"""

from __future__ import annotations

import math
from enum import StrEnum

from expert.made_when_used import dataclass
from expert.physics.fluids.of_context import TABLES, of, pressure_error, temperature_error
from expert.physics.fluids.saturation import Saturation
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import Kind

_BALANCE = (
    "heat balance at constant conductance "
    "(Hundy, Trott and Welch, Refrigeration and Air-Conditioning, example 6.1)"
)


class Verdict(StrEnum):
    """What a standing pressure says."""

    NON_CONDENSABLES = "non-condensables"
    TOO_CLOSE = "too close to call"
    NONE_SHOWN = "none shown"
    TOO_LOW = "too low"


@dataclass(frozen=True)
class StandingPressure:
    """Pressure of an idle condenser against its temperature: gauge pascals and pascals.

    With liquid in it a clean condenser stands between the dew and the bubble pressure, nearer
    the bubble pressure the fuller it is. `excess` is the part above the bubble pressure.
    """

    dew: float
    bubble: float
    excess: float
    uncertainty: float
    verdict: Verdict

    @property
    def text(self) -> str:
        """The verdict in a sentence."""
        hidden = (
            " Between dew and bubble pressure a blend can hide a little air."
            if self.bubble > self.dew
            else ""
        )
        return {
            Verdict.NON_CONDENSABLES: "The pressure is above the bubble pressure by more than the "
            "readings can be off: air or other non-condensables.",
            Verdict.TOO_CLOSE: "The pressure is above the bubble pressure by no more than the "
            "readings can be off: measure again with better instruments or a longer stand.",
            Verdict.NONE_SHOWN: "The pressure is what clean refrigerant has at this temperature."
            + hidden,
            Verdict.TOO_LOW: "The pressure is below the dew pressure: no liquid in the condenser, "
            "a temperature taken too warm, or another refrigerant. The check says nothing.",
        }[self.verdict]


def expected_condensing_temperature(
    context: Context,
    outdoor_temperature: float,
    design_difference: float,
    load_share: float,
    floor: float,
) -> float:
    """Condensing temperature [K] at an outdoor temperature [K], not below the floor [K].

    `design_difference` [K] is the condenser's at full design heat rejection, `load_share` the
    present heat rejection over the design. Raises `OutOfRange`.
    """
    if not 0 <= load_share <= 2:
        raise OutOfRange("The load share", load_share, 0.0, 2.0, Kind.SHARE)
    if not 0 < design_difference <= 50:
        raise OutOfRange(
            "The design difference", design_difference, 0.0, 50.0, Kind.TEMPERATURE_DIFFERENCE
        )
    return max(outdoor_temperature + design_difference * load_share, floor)


def expected_condensing_pressure(context: Context, **inputs: float) -> float:
    """Gauge pressure [Pa] of the expected condensing temperature, taken as dew."""
    return context.gauge(of(context).dew_pressure(_expected(inputs)))


def conductance(heat: float, condensing: float, air: float) -> float:
    """Heat rejected per kelvin [W/K] at a heat flow [W] between two temperatures [K]."""
    if not condensing > air:
        raise PhysicsError("The condensing temperature must be above the air temperature.")
    return heat / (condensing - air)


def pressure_above_bubble(context: Context, pressure: float, temperature: float) -> float:
    """Standing gauge pressure [Pa] less the bubble pressure at the condenser's temperature [K]."""
    return context.absolute(pressure) - of(context).bubble_pressure(temperature)


def standing_pressure(
    context: Context,
    pressure: float,
    temperature: float,
    pressure_accuracy: float,
    temperature_accuracy: float,
) -> StandingPressure:
    """Judge the standing gauge pressure [Pa] of an idle, equalised condenser at a temperature [K].

    The accuracies [Pa] and [K] are those of the instruments; the model's error is added.
    Raises `OutOfRange`, `PhysicsError`.
    """
    fluid = of(context)
    dew, bubble = fluid.dew_pressure(temperature), fluid.bubble_pressure(temperature)
    slope = fluid.bubble_slope(temperature)
    uncertainty = math.hypot(
        pressure_accuracy, slope * temperature_accuracy, slope * temperature_error(context)
    )
    standing = context.absolute(pressure)
    excess = standing - bubble
    if excess > uncertainty:
        verdict = Verdict.NON_CONDENSABLES
    elif excess > 0 and not fluid.one_line:
        verdict = Verdict.TOO_CLOSE
    elif standing < dew - uncertainty:
        verdict = Verdict.TOO_LOW
    else:
        verdict = Verdict.NONE_SHOWN
    return StandingPressure(context.gauge(dew), context.gauge(bubble), excess, uncertainty, verdict)


def _expected(values: dict[str, float]) -> float:
    return expected_condensing_temperature(Context(), **values)


_INPUTS = {
    "outdoor_temperature": Kind.TEMPERATURE,
    "design_difference": Kind.TEMPERATURE_DIFFERENCE,
    "load_share": Kind.SHARE,
    "floor": Kind.TEMPERATURE,
}
_VALID = "clean condenser, all fans running, air entering at the outdoor temperature"

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="expected_condensing_temperature",
        title="expected condensing temperature",
        inputs=_INPUTS,
        output=Kind.TEMPERATURE,
        text="outdoor temperature + design difference x share of design load, not below the floor",
        source=_BALANCE,
        compute=expected_condensing_temperature,
        basis="the basis of the design difference: dew unless its data say mid-point",
        validity=_VALID,
        exact=("floor",),
        bends=True,
    ),
    Formula(
        name="expected_condensing_pressure",
        title="expected head pressure",
        inputs=_INPUTS,
        output=Kind.GAUGE_PRESSURE,
        text="dew pressure of the expected condensing temperature",
        source=f"{_BALANCE}; {TABLES}",
        compute=expected_condensing_pressure,
        basis="dew condensing",
        validity=_VALID,
        exact=("floor",),
        needs_refrigerant=True,
        model_error_at=pressure_error(Saturation.dew_slope, lambda values: _expected(dict(values))),
        bends=True,
    ),
    Formula(
        name="pressure_above_bubble",
        title="standing pressure above the bubble pressure (non-condensables)",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "temperature": Kind.TEMPERATURE},
        output=Kind.PRESSURE_DIFFERENCE,
        text="standing pressure - bubble pressure at the temperature of the condenser",
        source=f"partial pressures (Dalton); {TABLES}",
        compute=pressure_above_bubble,
        basis="bubble",
        validity="condenser idle, shut off, with liquid in it, at one temperature throughout",
        needs_refrigerant=True,
        model_error_at=pressure_error(
            Saturation.bubble_slope, lambda values: values["temperature"]
        ),
    ),
)
