"""Refrigerant in the receiver by its level, and what winter flooding of the condenser takes.

Sources: CoolProp 8 equations of state (Bell et al. 2014); geometry of the circular segment and the
ellipsoid (textbook); common practice: flooded share = 1 - design temperature difference / winter
temperature difference, with the load in proportion.
"""

from __future__ import annotations

from expert.made_when_used import dataclass
from expert.physics.fluids.of_context import TABLES, named, of
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frame.refusals import INFINITY, above_zero
from expert.physics.liquid.receiver import (
    AS_HEIGHT,
    CHOICES,
    SIZES,
    SOURCE,
    USUAL,
    VALIDITY,
    Receiver,
    receiver,
)
from expert.units.kinds import Kind


@dataclass(frozen=True)
class Contents:
    """What a receiver holds [kg]. The vapour is part of the charge."""

    liquid: float
    vapour: float

    @property
    def total(self) -> float:
        """Liquid and vapour together [kg]."""
        return self.liquid + self.vapour


def receiver_contents(
    vessel: Receiver,
    level: float,
    refrigerant: str,
    liquid_temperature: float,
    pressure: float | None = None,
) -> Contents:
    """Liquid and vapour in a receiver at a level [share of the inside height].

    Liquid density on the bubble line at the liquid temperature [K]; vapour density on the dew
    line, at the pressure [Pa absolute] if it was read, else at the liquid temperature. Subcooled
    liquid is taken as dense as saturated liquid of its temperature (0.4 to 0.6 % less than it is,
    5 bar above the bubble pressure).
    Raises `OutOfRange`, `UnknownRefrigerant`, `NotAvailable`.
    """
    fluid = saturation(refrigerant)
    below = vessel.volume_at(level)
    above = liquid_temperature if pressure is None else fluid.dew_temperature(pressure)
    return Contents(
        liquid=below * fluid.liquid_density(liquid_temperature),
        vapour=(vessel.volume - below) * fluid.vapour_density(above),
    )


def flooded_share(
    design_difference: float, condensing: float, outdoor: float, load: float = 1.0
) -> float:
    """Share of the condenser to flood so that it holds a condensing temperature [K].

    1 - design temperature difference [K] x load share / (condensing - outdoor [K]), not below 0.
    Raises `OutOfRange` unless condensing is above outdoor and the design difference above 0.
    """
    above_zero("The design temperature difference", design_difference, Kind.TEMPERATURE_DIFFERENCE)
    if not outdoor < condensing < INFINITY:
        raise OutOfRange(
            "The condensing temperature",
            condensing,
            outdoor,
            INFINITY,
            Kind.TEMPERATURE,
            "no air-cooled condenser condenses at or below the outdoor temperature",
        )
    if not 0 <= load <= 2:
        raise OutOfRange("The load share", load, 0.0, 2.0, Kind.SHARE)
    return max(0.0, 1 - design_difference * load / (condensing - outdoor))


def flooding_charge(
    refrigerant: str,
    share: float,
    volume: float,
    condensing: float,
    outdoor: float,
) -> float:
    """Liquid [kg] that fills a share of a condenser of an inside volume [m3].

    Liquid density at the mean of condensing and outdoor temperature [K]. The vapour that the
    liquid displaces is not taken off. Raises `OutOfRange`.
    """
    above_zero("The condenser volume", volume, Kind.VOLUME)
    return share * volume * saturation(refrigerant).liquid_density((condensing + outdoor) / 2)


def level_after_charge(
    vessel: Receiver, level: float, refrigerant: str, temperature: float, added: float
) -> float:
    """Level [share of the inside height] after liquid [kg] is added at one temperature [K].

    The vapour that the liquid displaces condenses into it. Below zero `added` is taken out.
    Raises `OutOfRange` if the receiver cannot hold it or does not have it.
    """
    fluid = saturation(refrigerant)
    gain = fluid.liquid_density(temperature) - fluid.vapour_density(temperature)
    return vessel.level_of(vessel.volume_at(level) + added / gain) / vessel.height


def _charge(
    context: Context,
    position: str,
    heads: str,
    diameter: float,
    length: float,
    level: float,
    liquid_temperature: float,
) -> float:
    vessel = receiver(position, heads, diameter, length)
    return receiver_contents(vessel, level, named(context), liquid_temperature).total


def _charge_at_pressure(
    context: Context,
    position: str,
    heads: str,
    diameter: float,
    length: float,
    level: float,
    liquid_temperature: float,
    pressure: float,
) -> float:
    vessel = receiver(position, heads, diameter, length)
    absolute = context.absolute(pressure)
    return receiver_contents(vessel, level, named(context), liquid_temperature, absolute).total


def _change(
    context: Context,
    position: str,
    heads: str,
    diameter: float,
    length: float,
    level_before: float,
    level_after: float,
    liquid_temperature: float,
) -> float:
    vessel = receiver(position, heads, diameter, length)
    before, after = (
        receiver_contents(vessel, level, named(context), liquid_temperature).total
        for level in (level_before, level_after)
    )
    return after - before


def _level_after(
    context: Context,
    position: str,
    heads: str,
    diameter: float,
    length: float,
    level: float,
    liquid_temperature: float,
    added: float,
) -> float:
    vessel = receiver(position, heads, diameter, length)
    return level_after_charge(vessel, level, named(context), liquid_temperature, added)


def _flooded(
    context: Context,
    design_difference: float,
    condensing_temperature: float,
    outdoor_temperature: float,
    load: float,
) -> float:
    return flooded_share(design_difference, condensing_temperature, outdoor_temperature, load)


def _flooding(
    context: Context,
    design_difference: float,
    condensing_temperature: float,
    outdoor_temperature: float,
    load: float,
    condenser_volume: float,
) -> float:
    share = flooded_share(design_difference, condensing_temperature, outdoor_temperature, load)
    return flooding_charge(
        named(context), share, condenser_volume, condensing_temperature, outdoor_temperature
    )


def _liquid_density(context: Context, liquid_temperature: float) -> float:
    return of(context).liquid_density(liquid_temperature)


_AT_LEVEL = {**SIZES, "level": Kind.SHARE, "liquid_temperature": Kind.TEMPERATURE}
_LEVELS = {"level": AS_HEIGHT}
_WINTER = {
    "design_difference": Kind.TEMPERATURE_DIFFERENCE,
    "condensing_temperature": Kind.TEMPERATURE,
    "outdoor_temperature": Kind.TEMPERATURE,
    "load": Kind.SHARE,
}
_RULE = (
    "common practice: flooded share = 1 - design temperature difference / winter temperature "
    "difference, with the load in proportion"
)

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="liquid_density",
        title="density of the liquid",
        inputs={"liquid_temperature": Kind.TEMPERATURE},
        output=Kind.DENSITY,
        text="density of saturated liquid at the liquid temperature",
        source=TABLES,
        compute=_liquid_density,
        basis="bubble",
        validity="saturated or little subcooled liquid: 5 bar more makes it 0.4 to 0.6 % denser",
        needs_refrigerant=True,
    ),
    Formula(
        name="receiver_charge",
        title="refrigerant in the receiver, liquid and vapour",
        inputs=_AT_LEVEL,
        usual=USUAL,
        also=_LEVELS,
        output=Kind.MASS,
        text="volume below the level x liquid density + volume above it x vapour density, both at "
        "the liquid temperature",
        source=f"{SOURCE}; {TABLES}",
        compute=_charge,
        basis="bubble for the liquid, dew for the vapour",
        validity=f"{VALIDITY}; level as a share of the inside height, at rest",
        needs_refrigerant=True,
        choices=CHOICES,
    ),
    Formula(
        name="receiver_charge_at_pressure",
        title="refrigerant in the receiver, with its pressure read",
        inputs={**_AT_LEVEL, "pressure": Kind.GAUGE_PRESSURE},
        usual=USUAL,
        also=_LEVELS,
        output=Kind.MASS,
        text="volume below the level x liquid density at the liquid temperature + volume above it "
        "x vapour density on the dew line at the pressure",
        source=f"{SOURCE}; {TABLES}",
        compute=_charge_at_pressure,
        basis="bubble for the liquid, dew for the vapour",
        validity=f"{VALIDITY}; level as a share of the inside height, at rest",
        needs_refrigerant=True,
        choices=CHOICES,
    ),
    Formula(
        name="receiver_charge_change",
        title="refrigerant that a change of receiver level means",
        inputs={
            **SIZES,
            "level_before": Kind.SHARE,
            "level_after": Kind.SHARE,
            "liquid_temperature": Kind.TEMPERATURE,
        },
        usual=USUAL,
        also={"level_before": AS_HEIGHT, "level_after": AS_HEIGHT},
        output=Kind.MASS,
        text="change of the volume below the level x (liquid density - vapour density); below zero "
        "refrigerant left the receiver",
        source=f"{SOURCE}; {TABLES}",
        compute=_change,
        basis="bubble for the liquid, dew for the vapour",
        validity=f"{VALIDITY}; the same temperature before and after",
        needs_refrigerant=True,
        choices=CHOICES,
    ),
    Formula(
        name="receiver_level_after_charge",
        title="receiver level after refrigerant is added",
        inputs={**_AT_LEVEL, "added": Kind.MASS},
        usual=USUAL,
        also=_LEVELS,
        signed=("added",),
        output=Kind.SHARE,
        text="level at which volume below it x (liquid density - vapour density) has grown by the "
        "added mass",
        source=f"{SOURCE}; {TABLES}",
        compute=_level_after,
        basis="bubble for the liquid, dew for the vapour",
        validity=f"{VALIDITY}; the receiver ceiling of the site or local code comes first",
        needs_refrigerant=True,
        choices=CHOICES,
    ),
    Formula(
        name="winter_flooded_share",
        title="share of the condenser to flood in winter",
        inputs=_WINTER,
        output=Kind.SHARE,
        text="1 - design temperature difference x load / (condensing - outdoor), not below zero",
        source=_RULE,
        compute=_flooded,
        validity="one condenser circuit, fans running; no fan cycling or splitting on top",
        exact=("condensing_temperature",),
    ),
    Formula(
        name="winter_flooding_charge",
        title="refrigerant that floods the condenser in winter",
        inputs={**_WINTER, "condenser_volume": Kind.VOLUME},
        output=Kind.MASS,
        text="flooded share x condenser inside volume x liquid density at the mean of condensing "
        "and outdoor temperature",
        source=f"{_RULE}; {TABLES}",
        compute=_flooding,
        basis="bubble",
        validity="a little high: the vapour that makes room is not taken off",
        exact=("condensing_temperature",),
        needs_refrigerant=True,
    ),
)
