"""Efficiency from a read discharge temperature, heat exchange, liquid lines, the gas cooler."""

from __future__ import annotations

import math

import pytest

from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange, PhysicsError
from expert.units.kinds import ATMOSPHERE, FAHRENHEIT, FAHRENHEIT_ZERO, FOOT, POUND, PSI

CO2 = Context("R-744")
BLEND = Context("R-449A")


def kelvin(fahrenheit: float) -> float:
    return fahrenheit * FAHRENHEIT + FAHRENHEIT_ZERO


def calc(name: str, context: Context, **inputs: float) -> float:
    return CATALOG[name].compute(context, **inputs)


SUCTION = {"suction": 15 * PSI, "suction_temperature": kelvin(45), "discharge": 230 * PSI}


@pytest.mark.parametrize("efficiency", [0.5, 0.65, 0.9])
def test_the_efficiency_that_made_a_discharge_temperature_is_found_from_it(
    efficiency: float,
) -> None:
    hot = calc("expected_discharge_temperature", BLEND, **SUCTION, isentropic_efficiency=efficiency)
    read = {**SUCTION, "discharge_temperature": hot}
    assert calc("efficiency_from_discharge", BLEND, **read) == pytest.approx(efficiency, rel=1e-6)
    work = calc("isentropic_work", BLEND, **SUCTION) / efficiency
    assert calc("work_from_discharge", BLEND, **read) == pytest.approx(work, rel=1e-6)


def test_the_performance_from_readings_is_that_of_the_cycle_with_the_same_states() -> None:
    cycle = {
        "evaporating_pressure": 15 * PSI, "condensing_pressure": 230 * PSI, "superheat": 20.0,
        "subcooling": 5.0, "isentropic_efficiency": 0.65,
    }  # fmt: skip
    dew = calc("dew_temperature", BLEND, pressure=15 * PSI)
    bubble = calc("bubble_temperature", BLEND, pressure=230 * PSI)
    read = {
        "suction": 15 * PSI, "suction_temperature": dew + 20, "discharge": 230 * PSI,
        "discharge_temperature": calc("cycle_discharge_temperature", BLEND, **cycle),
        "liquid_temperature": bubble - 5,
    }  # fmt: skip
    assert calc("performance_from_discharge", BLEND, **read) == pytest.approx(
        calc("coefficient_of_performance", BLEND, **cycle), rel=1e-6
    )


def test_a_discharge_colder_than_ideal_or_hotter_than_any_machine_is_refused() -> None:
    ideal = calc("ideal_discharge_temperature", BLEND, **SUCTION)
    with pytest.raises(OutOfRange, match="colder than ideal"):
        calc("efficiency_from_discharge", BLEND, **SUCTION, discharge_temperature=ideal - 1)
    lukewarm = {**SUCTION, "discharge": 30 * PSI, "discharge_temperature": kelvin(340)}
    with pytest.raises(OutOfRange, match="no compressor that runs is worse"):
        calc("efficiency_from_discharge", BLEND, **lukewarm)


def test_the_log_mean_difference_of_a_worked_example() -> None:
    # Differences of 20 K and 8 K: 12 / ln 2.5 = 13.096 K, by hand.
    ends = {"hot_in": 310.0, "hot_out": 310.0, "cold_in": 290.0, "cold_out": 302.0}
    assert calc("log_mean_difference", Context(), **ends) == pytest.approx(13.096, abs=5e-4)
    assert calc("heat_conductance", Context(), heat=13096.0, **ends) == pytest.approx(
        1000, rel=1e-4
    )
    even = {**ends, "cold_in": 295.0, "cold_out": 295.0}
    assert calc("log_mean_difference", Context(), **even) == pytest.approx(15)
    with pytest.raises(PhysicsError, match="swapped"):
        calc("log_mean_difference", Context(), **{**ends, "cold_out": 280.0})
    with pytest.raises(PhysicsError, match="as warm as"):
        calc("log_mean_difference", Context(), **{**ends, "cold_out": 311.0})


def test_the_friction_of_a_liquid_line_is_that_of_an_explicit_formula() -> None:
    """Swamee and Jain 1976, J. Hydraulics Div. ASCE 102, 657: within 1 % of Colebrook."""
    flow, bore, length = 1800 * POUND / 3600, 0.785 * FOOT / 12, 150 * FOOT
    density = calc("liquid_density", BLEND, liquid_temperature=kelvin(85))
    speed = flow / (density * math.pi * bore**2 / 4)
    drop = calc(
        "liquid_line_drop", BLEND, mass_flow=flow, liquid_temperature=kelvin(85),
        inside_diameter=bore, equivalent_length=length,
    )  # fmt: skip
    turbulence = 4 * flow / (math.pi * bore * 1.3e-4)
    factor = 0.25 / math.log10(1.5e-6 / bore / 3.7 + 5.74 / turbulence**0.9) ** 2
    assert drop * 2 * bore / (length * density * speed**2) == pytest.approx(factor, rel=0.01)
    number = calc(
        "reynolds_number", Context(), mass_flow=flow, inside_diameter=bore, viscosity=1.3e-4
    )
    assert number == pytest.approx(4 * flow / (math.pi * bore * 1.3e-4))


@pytest.mark.parametrize(("psig", "fahrenheit"), [(1100, 90), (1250, 95), (1500, 110), (1400, 220)])
def test_the_gas_cooler_agrees_with_the_library(psig: float, fahrenheit: float) -> None:
    propssi = pytest.importorskip("CoolProp.CoolProp").PropsSI
    pressure, at = psig * PSI, kelvin(fahrenheit)
    absolute = pressure + ATMOSPHERE
    assert calc("gas_cooler_density", CO2, pressure=pressure, temperature=at) == pytest.approx(
        propssi("D", "P", absolute, "T", at, "CO2"), rel=1e-9
    )
    inlet = kelvin(250)
    taken = propssi("H", "P", absolute, "T", inlet, "CO2")
    taken -= propssi("H", "P", absolute, "T", at, "CO2")
    found = calc("gas_cooler_heat", CO2, pressure=pressure, inlet=inlet, outlet=at)
    assert found == pytest.approx(taken, rel=1e-9)


def test_the_best_gas_cooler_pressure_is_a_summit_and_near_a_published_correlation() -> None:
    """Liao, Zhao and Jakobsen 2000, Appl. Therm. Eng. 20, 831: 2.778 - 0.0157 te per kelvin of
    outlet plus 0.381 te - 9.34 bar, te in C (from memory); no superheat, 5 % apart at most.
    """
    outlet, evaporating = 35.0, -5.0
    low = calc("dew_pressure", CO2, temperature=evaporating + 273.15)
    given = {"evaporating_pressure": low, "superheat": 0.0, "outlet": outlet + 273.15}
    given["isentropic_efficiency"] = 0.7
    best = calc("gas_cooler_best_pressure", CO2, **given)
    published = (2.778 - 0.0157 * evaporating) * outlet + 0.381 * evaporating - 9.34
    assert (best + ATMOSPHERE) / 1e5 == pytest.approx(published, rel=0.05)
    top = calc("gas_cooler_performance", CO2, pressure=best, **given)
    for aside in (-2e5, 2e5):
        assert calc("gas_cooler_performance", CO2, pressure=best + aside, **given) < top


def test_a_transcritical_discharge_can_be_computed() -> None:
    hot = calc(
        "ideal_discharge_temperature", CO2, suction=400 * PSI, suction_temperature=kelvin(40),
        discharge=1300 * PSI,
    )  # fmt: skip
    assert kelvin(170) < hot < kelvin(230)


def test_the_gas_cooler_is_refused_below_the_critical_pressure_and_for_blends() -> None:
    with pytest.raises(OutOfRange, match="it condenses"):
        calc("gas_cooler_density", CO2, pressure=900 * PSI, temperature=kelvin(95))
    with pytest.raises(NotAvailable, match="without glide"):
        calc("gas_cooler_density", BLEND, pressure=900 * PSI, temperature=kelvin(250))
    with pytest.raises(OutOfRange, match="condenses at any pressure"):
        calc(
            "gas_cooler_best_pressure", CO2, evaporating_pressure=400 * PSI, superheat=5.0,
            outlet=kelvin(80), isentropic_efficiency=0.7,
        )  # fmt: skip


def test_the_load_of_a_case_follows_the_humidity_by_its_own_latent_share() -> None:
    air = {
        "air_temperature": kelvin(75), "humidity": 0.65, "rated_temperature": kelvin(75),
        "rated_humidity": 0.55, "coil_temperature": kelvin(20),
    }  # fmt: skip
    ratio = calc("moisture_load_against_rating", Context(), **air)
    for share in (0.0, 0.2, 1.0):
        load = calc("case_load_at_humidity", Context(), rated_load=1000, latent_share=share, **air)
        assert load == pytest.approx(1000 * (1 - share + share * ratio))
