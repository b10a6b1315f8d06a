"""Moisture in the store's air, and what of it ends on a case coil.

Sources: ASHRAE Handbook Fundamentals 2017 ch. 1 (moist air); IAPWS R7-97 and R14-08 (water and
ice); IAPWS R10-06 (melting); the latent share is the case maker's or your own; mass balance.
"""

from __future__ import annotations

from expert.physics.air.moist_air import (
    COLDEST,
    VAPORISATION,
    check_temperature,
    dew_point,
    humidity_from_wet_bulb,
    humidity_ratio,
    relative_humidity,
    saturated_ratio,
    specific_volume,
)
from expert.physics.air.water import MELTING
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frame.refusals import above_zero, at_least_zero
from expert.physics.frost.heat import LATENT_HEAT
from expert.units.kinds import Kind


def moisture_load(
    temperature: float, humidity: float, coil: float, air_flow: float, barometer: float
) -> float:
    """Water [kg/s] that store air [m3/s, at store state] drawn into a case leaves on its coil.

    Coil surface temperature [K]; none if the coil is above the dew point. Raises `OutOfRange`.
    """
    at_least_zero("The air that enters the case", air_flow, Kind.VOLUME_FLOW)
    ratio = humidity_ratio(temperature, humidity, barometer)
    dry_air = air_flow / specific_volume(temperature, ratio, barometer)
    return dry_air * max(0.0, ratio - saturated_ratio(coil, barometer))


def moisture_heat(water: float, coil: float) -> float:
    """Cooling [W] that a moisture load [kg/s] takes: condensing, and freezing below 32 F.

    Heats of 0 C: 2,501 kJ/kg and 333.4 kJ/kg. Coil temperature [K]. Raises `OutOfRange`.
    """
    check_temperature(coil, "The coil temperature")
    at_least_zero("The moisture load", water, Kind.MASS_FLOW)
    return water * (VAPORISATION + (LATENT_HEAT if coil < MELTING else 0.0))


def moisture_load_against(
    temperature: float,
    humidity: float,
    rated_temperature: float,
    rated_humidity: float,
    coil: float,
    barometer: float,
) -> float:
    """Moisture load as a multiple of that at the rated store air, for the same air exchange.

    Raises `OutOfRange` where the rated air leaves nothing on the coil.
    """
    surface = saturated_ratio(coil, barometer)
    rated = humidity_ratio(rated_temperature, rated_humidity, barometer) - surface
    if not rated > 0:
        dew = dew_point(rated_temperature, rated_humidity)
        raise OutOfRange(
            "The coil temperature",
            coil,
            COLDEST,
            dew,
            Kind.TEMPERATURE,
            "above the dew point of the rated air there is no moisture load to compare with",
        )
    return max(0.0, humidity_ratio(temperature, humidity, barometer) - surface) / rated


def _dew_point(context: Context, air_temperature: float, humidity: float) -> float:
    return dew_point(air_temperature, humidity)


def _humidity_ratio(context: Context, air_temperature: float, humidity: float) -> float:
    return humidity_ratio(air_temperature, humidity, context.barometer)


def _from_wet_bulb(context: Context, air_temperature: float, wet_bulb: float) -> float:
    return humidity_from_wet_bulb(air_temperature, wet_bulb, context.barometer)


def _from_dew_point(context: Context, air_temperature: float, dew_point: float) -> float:
    return relative_humidity(air_temperature, dew_point)


def _sweat_margin(
    context: Context, surface_temperature: float, air_temperature: float, humidity: float
) -> float:
    return surface_temperature - dew_point(air_temperature, humidity)


def _load(
    context: Context,
    air_temperature: float,
    humidity: float,
    coil_temperature: float,
    air_flow: float,
) -> float:
    return moisture_load(air_temperature, humidity, coil_temperature, air_flow, context.barometer)


def _heat(
    context: Context,
    air_temperature: float,
    humidity: float,
    coil_temperature: float,
    air_flow: float,
) -> float:
    water = _load(context, air_temperature, humidity, coil_temperature, air_flow)
    return moisture_heat(water, coil_temperature)


def _against(
    context: Context,
    air_temperature: float,
    humidity: float,
    rated_temperature: float,
    rated_humidity: float,
    coil_temperature: float,
) -> float:
    return moisture_load_against(
        air_temperature,
        humidity,
        rated_temperature,
        rated_humidity,
        coil_temperature,
        context.barometer,
    )


def _load_at_humidity(
    context: Context,
    rated_load: float,
    latent_share: float,
    air_temperature: float,
    humidity: float,
    rated_temperature: float,
    rated_humidity: float,
    coil_temperature: float,
) -> float:
    if not 0 <= latent_share <= 1:
        raise OutOfRange("The latent share", latent_share, 0.0, 1.0, Kind.SHARE)
    ratio = _against(
        context, air_temperature, humidity, rated_temperature, rated_humidity, coil_temperature
    )
    return rated_load * (1 - latent_share + latent_share * ratio)


def _frost(context: Context, moisture_load: float, duration: float) -> float:
    at_least_zero("The moisture load", moisture_load, Kind.MASS_FLOW)
    above_zero("The time between defrosts", duration, Kind.DURATION)
    return moisture_load * duration


_AIR = {"air_temperature": Kind.TEMPERATURE, "humidity": Kind.SHARE}
_ON_COIL = {**_AIR, "coil_temperature": Kind.TEMPERATURE, "air_flow": Kind.VOLUME_FLOW}
_SOURCE = (
    "published: ASHRAE Handbook Fundamentals 2017 ch. 1 (moist air); IAPWS R7-97 and R14-08 "
    "(water and ice)"
)
_RANGE = "-58 to 140 F, 1 to 100 % relative humidity"
_COIL = f"{_RANGE}; coil surface, not air; air flow at the store's state"

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="store_dew_point",
        title="dew point of the store air",
        inputs=_AIR,
        output=Kind.TEMPERATURE,
        text="saturation temperature of (relative humidity x saturation pressure of water at the "
        "air temperature); frost point below 32 F",
        source=_SOURCE,
        compute=_dew_point,
        validity=_RANGE,
    ),
    Formula(
        name="store_humidity_ratio",
        title="water in the store air",
        inputs=_AIR,
        output=Kind.HUMIDITY_RATIO,
        text="0.621945 x vapour pressure / (barometer - vapour pressure)",
        source=_SOURCE,
        compute=_humidity_ratio,
        validity=_RANGE,
    ),
    Formula(
        name="store_humidity_from_wet_bulb",
        title="relative humidity of the store air by its wet bulb",
        inputs={"air_temperature": Kind.TEMPERATURE, "wet_bulb": Kind.TEMPERATURE},
        output=Kind.SHARE,
        text="humidity ratio from dry and wet bulb at the barometer, as a share of saturation",
        source=_SOURCE,
        compute=_from_wet_bulb,
        validity=_RANGE,
    ),
    Formula(
        name="store_humidity_from_dew_point",
        title="relative humidity of the store air by its dew point",
        inputs={"air_temperature": Kind.TEMPERATURE, "dew_point": Kind.TEMPERATURE},
        output=Kind.SHARE,
        text="saturation pressure at the dew point / saturation pressure at the air temperature",
        source=_SOURCE,
        compute=_from_dew_point,
        validity=_RANGE,
    ),
    Formula(
        name="surface_sweat_margin",
        title="surface temperature above the dew point of the store air",
        inputs={"surface_temperature": Kind.TEMPERATURE, **_AIR},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="surface temperature - dew point; at or below zero it sweats",
        source=_SOURCE,
        compute=_sweat_margin,
        validity=_RANGE,
    ),
    Formula(
        name="moisture_load",
        title="moisture that store air leaves on the case coil",
        inputs=_ON_COIL,
        output=Kind.MASS_FLOW,
        text="air flow / specific volume x (humidity ratio of the air - that of saturated air at "
        "the coil), not below zero",
        source=_SOURCE,
        compute=_load,
        validity=_COIL,
        usual={"moisture_load": ("lb/h", "kg/h")},
        bends=True,
    ),
    Formula(
        name="moisture_heat",
        title="cooling that the moisture on the case coil takes",
        inputs=_ON_COIL,
        output=Kind.POWER,
        text="moisture load x (2,501 kJ/kg, and 333.4 kJ/kg more on a coil below 32 F)",
        source=f"{_SOURCE}; IAPWS R10-06 (melting)",
        compute=_heat,
        validity=_COIL,
        bends=True,
    ),
    Formula(
        name="moisture_load_against_rating",
        title="moisture load as a multiple of that at the rated store air",
        inputs={
            **_AIR,
            "rated_temperature": Kind.TEMPERATURE,
            "rated_humidity": Kind.SHARE,
            "coil_temperature": Kind.TEMPERATURE,
        },
        output=Kind.RATIO,
        text="(humidity ratio of the air - at the coil) / (humidity ratio of the rated air - at "
        "the coil)",
        source=_SOURCE,
        compute=_against,
        validity=f"{_RANGE}; the same exchange of air; the case maker's rating air",
        exact=("rated_temperature", "rated_humidity"),
        bends=True,
    ),
    Formula(
        name="case_load_at_humidity",
        title="load of a case at another humidity than rated",
        inputs={
            "rated_load": Kind.POWER,
            "latent_share": Kind.SHARE,
            **_AIR,
            "rated_temperature": Kind.TEMPERATURE,
            "rated_humidity": Kind.SHARE,
            "coil_temperature": Kind.TEMPERATURE,
        },
        output=Kind.POWER,
        text="rated load x (1 - latent share + latent share x moisture load against rating)",
        source=f"{_SOURCE}; the latent share is the case maker's or your own",
        compute=_load_at_humidity,
        validity=f"{_RANGE}; the same exchange of air; heat of the air itself taken as rated",
        exact=("rated_temperature", "rated_humidity"),
        bends=True,
    ),
    Formula(
        name="frost_gathered",
        title="frost gathered between two defrosts",
        inputs={"moisture_load": Kind.MASS_FLOW, "duration": Kind.DURATION},
        output=Kind.MASS,
        text="moisture load x time",
        source="computed: mass balance",
        compute=_frost,
        usual={"moisture_load": ("lb/h", "kg/h"), "duration": ("h", "h")},
        validity="coil below 32 F the whole time",
    ),
)
