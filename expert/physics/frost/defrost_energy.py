"""Energy of one defrost side by side: hot gas, electric, off cycle, counted at the meter.

Heat that leaves with the water is gone; what stays in coil and case must be pulled out again by
the compressors. That is the whole comparison; drain heaters and anti-sweat heat are not in it.

Sources: energy balance (definition of the coefficient of performance).
"""

from __future__ import annotations

from expert.made_when_used import dataclass
from expert.physics.frame import refusals
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frame.refusals import above_zero, at_least_zero
from expert.units.kinds import Kind


@dataclass(frozen=True)
class MeterEnergy:
    """Electric energy [J] of one defrost: spent during it, and pulling down after it."""

    during: float
    pull_down: float

    @property
    def total(self) -> float:
        """Both together [J]."""
        return self.during + self.pull_down


def electric(
    frost_heat: float, coil_heat: float, useful_share: float, performance: float
) -> MeterEnergy:
    """Electric defrost: heaters, then pull-down of what did not leave with the water.

    `frost_heat` [J] leaves with the water, `coil_heat` [J] warms the coil, `useful_share` of the
    heaters' heat reaches both, `performance` is the refrigeration coefficient of performance.
    Raises `OutOfRange`.
    """
    given = _given(frost_heat, coil_heat, useful_share)
    _performance(performance)
    return MeterEnergy(during=given, pull_down=(given - frost_heat) / performance)


def hot_gas(
    frost_heat: float, coil_heat: float, useful_share: float, performance: float
) -> MeterEnergy:
    """Hot-gas defrost: the compressor work in the gas, then pull-down; arguments as `electric`.

    Work is heat given / (1 + coefficient of performance): an upper bound, since gas that the
    other circuits made anyway costs only what a raised head pressure costs. Raises `OutOfRange`.
    """
    given = _given(frost_heat, coil_heat, useful_share)
    _performance(performance)
    return MeterEnergy(
        during=given / (1 + performance), pull_down=(given - frost_heat) / performance
    )


def off_cycle(fan_power: float, duration: float) -> MeterEnergy:
    """Off-cycle defrost: fans [W] for a time [s]; the heat comes from air it would cool anyway.

    Only where the case air is above 32 F. Raises `OutOfRange`.
    """
    at_least_zero("The fan power", fan_power, Kind.POWER)
    above_zero("The time", duration, Kind.DURATION)
    return MeterEnergy(during=fan_power * duration, pull_down=0.0)


def _performance(value: float) -> None:
    if not 0.1 <= value <= 30:
        raise OutOfRange("The coefficient of performance", value, 0.1, 30.0, Kind.RATIO)


def _given(frost_heat: float, coil_heat: float, useful_share: float) -> float:
    at_least_zero("The heat of the frost", frost_heat, Kind.ENERGY)
    at_least_zero("The heat of the coil", coil_heat, Kind.ENERGY)
    refusals.useful_share(useful_share)
    return (frost_heat + coil_heat) / useful_share


def _electric(
    context: Context, frost_heat: float, coil_heat: float, useful_share: float, performance: float
) -> float:
    return electric(frost_heat, coil_heat, useful_share, performance).total


def _hot_gas(
    context: Context, frost_heat: float, coil_heat: float, useful_share: float, performance: float
) -> float:
    return hot_gas(frost_heat, coil_heat, useful_share, performance).total


def _off_cycle(context: Context, fan_power: float, duration: float) -> float:
    return off_cycle(fan_power, duration).total


_INPUTS = {
    "frost_heat": Kind.ENERGY,
    "coil_heat": Kind.ENERGY,
    "useful_share": Kind.SHARE,
    "performance": Kind.RATIO,
}
_SOURCE = "computed: energy balance (definition of the coefficient of performance)"
_VALID = "performance: cooling per compressor work of the rack at the case's suction"

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="electric_defrost_energy",
        title="energy of one electric defrost at the meter",
        inputs=_INPUTS,
        output=Kind.ENERGY,
        text="(frost heat + coil heat) / useful share, + what did not leave with the water / "
        "performance",
        source=_SOURCE,
        compute=_electric,
        validity=_VALID,
    ),
    Formula(
        name="hot_gas_defrost_energy",
        title="energy of one hot-gas defrost at the meter, at most",
        inputs=_INPUTS,
        output=Kind.ENERGY,
        text="(frost heat + coil heat) / useful share / (1 + performance), + what did not leave "
        "with the water / performance",
        source=_SOURCE,
        compute=_hot_gas,
        validity=f"{_VALID}; an upper bound: other circuits make the gas anyway",
    ),
    Formula(
        name="off_cycle_defrost_energy",
        title="energy of one off-cycle defrost at the meter",
        inputs={"fan_power": Kind.POWER, "duration": Kind.DURATION},
        usual={"fan_power": ("W", "W")},
        output=Kind.ENERGY,
        text="fan power x time; the melting cools air that would have to be cooled anyway",
        source=_SOURCE,
        compute=_off_cycle,
        validity="case air above 32 F",
    ),
)
