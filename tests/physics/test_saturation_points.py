"""Every published saturation point against the tables, within the tolerance stated beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from expert.physics.fluids import single_phase
from expert.physics.fluids.coolprop_door import library, state
from expert.physics.fluids.saturation import Saturation, saturation
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import FAHRENHEIT, FAHRENHEIT_ZERO, PSI

TEXT = Path(__file__).with_name("data").joinpath("saturation_points.yaml").read_text("utf-8")
DATA: dict[str, Any] = yaml.load(TEXT, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
POINTS: list[dict[str, Any]] = DATA["points"]

# Printed figure -> what gives it from a temperature [K], with the factor to its unit.
AT_TEMPERATURE: dict[str, tuple[Callable[[Saturation, float], float], float]] = {
    "p_dew_kPa": (Saturation.dew_pressure, 1e-3),
    "p_bubble_kPa": (Saturation.bubble_pressure, 1e-3),
    "rho_liq_kg_m3": (Saturation.liquid_density, 1.0),
    "rho_liq_bubble_kg_m3": (Saturation.liquid_density, 1.0),
    "rho_vap_kg_m3": (Saturation.vapour_density, 1.0),
    "rho_vap_dew_kg_m3": (Saturation.vapour_density, 1.0),
}
AT_PRESSURE: dict[str, Callable[[Saturation, float], float]] = {
    "T_dew_C": Saturation.dew_temperature,
    "T_bubble_C": Saturation.bubble_temperature,
    "T_sat_C": Saturation.dew_temperature,
}
OTHER = {"T_critical_C", "h_kJ_kg", "rho_mol_m3", "h_dew_kJ_kg", "p_critical_kPa"}


def kelvin(point: dict[str, Any]) -> float:
    return float(point["T_C"]) + 273.15


def cases(kinds: Any, given: str) -> list[tuple[dict[str, Any], str]]:
    return [
        (point, name)
        for point in POINTS
        for name in kinds
        if name in point and given in point and not OTHER & point.keys()
    ]


BY_TEMPERATURE = cases(AT_TEMPERATURE, "T_C")
BY_PRESSURE = cases(AT_PRESSURE, "p_kPa")
GLIDES = [p for p in POINTS if "T_dew_C" in p and "T_bubble_C" in p and "p_kPa" not in p]
CRITICAL = [p for p in POINTS if "p_critical_kPa" in p]
SINGLE_PHASE = [p for p in POINTS if "rho_mol_m3" in p]


def refused(fluid: Saturation, temperature: float) -> bool:
    """Whether a published point lies outside what the program answers for."""
    inside = fluid.dew_range.low <= temperature <= fluid.dew_range.high
    return not inside


@pytest.mark.parametrize("of", sorted({point["refrigerant"] for point, _ in BY_TEMPERATURE}))
def test_a_published_value_at_a_temperature_is_met_or_the_point_is_refused(of: str) -> None:
    fluid = saturation(of)
    for point, name in BY_TEMPERATURE:
        compute, factor = AT_TEMPERATURE[name]
        if point["refrigerant"] != of:
            continue
        if refused(fluid, kelvin(point)):
            with pytest.raises(OutOfRange):
                compute(fluid, kelvin(point))
            continue
        value = compute(fluid, kelvin(point)) * factor
        assert value == pytest.approx(point[name], rel=point["tolerance_rel"]), (name, point)


@pytest.mark.parametrize("of", sorted({point["refrigerant"] for point, _ in BY_PRESSURE}))
def test_a_published_temperature_at_a_pressure_is_met(of: str) -> None:
    for point, name in BY_PRESSURE:
        if point["refrigerant"] == of:
            value = AT_PRESSURE[name](saturation(of), point["p_kPa"] * 1e3) - 273.15
            within = pytest.approx(point[name], abs=point["tolerance_F"] * FAHRENHEIT)
            assert value == within, (name, point)


@pytest.mark.parametrize("point", GLIDES, ids=str)
def test_a_published_glide_is_met(point: dict[str, Any]) -> None:
    fluid = saturation(point["refrigerant"])
    pressure = fluid.dew_pressure(point["T_dew_C"] + 273.15)
    bubble = fluid.bubble_temperature(pressure) - 273.15
    assert bubble == pytest.approx(point["T_bubble_C"], abs=point["tolerance_F"] * FAHRENHEIT)


@pytest.mark.parametrize("point", CRITICAL, ids=str)
def test_a_published_critical_point_is_that_of_the_table(point: dict[str, Any]) -> None:
    fluid = saturation(point["refrigerant"])
    assert fluid.critical_temperature - 273.15 == pytest.approx(point["T_critical_C"], abs=0.05)
    assert fluid.critical_pressure / 1e3 == pytest.approx(point["p_critical_kPa"], rel=1e-3)


@pytest.mark.parametrize("point", SINGLE_PHASE, ids=str)
def test_a_published_check_value_of_an_equation_of_state_is_met(point: dict[str, Any]) -> None:
    found = state(point["refrigerant"])
    found.update(library().DmolarT_INPUTS, point["rho_mol_m3"], kelvin(point))
    assert found.p() / 1e3 == pytest.approx(point["p_kPa"], rel=point["tolerance_rel"])


def test_the_published_dew_state_of_r407c_is_met_from_liquid_at_0_c() -> None:
    point = next(p for p in POINTS if "h_dew_kJ_kg" in p)
    name, fluid = point["refrigerant"], saturation(point["refrigerant"])
    temperature = kelvin(point)
    vapour = single_phase.gas(name, fluid.dew_pressure(temperature), temperature)
    liquid = single_phase.liquid(name, fluid.bubble_pressure(273.15), 273.15)
    difference = (vapour.enthalpy - liquid.enthalpy) / 1e3
    assert fluid.dew_pressure(temperature) / 1e3 == pytest.approx(point["p_dew_kPa"], rel=2e-3)
    assert difference == pytest.approx(point["h_dew_kJ_kg"] - 200, rel=2e-3)


def test_the_published_two_phase_state_of_r407f_is_met() -> None:
    point = next(p for p in POINTS if "Q_vapour_MOLAR" in p)
    found = state(point["refrigerant"])
    found.update(library().PQ_INPUTS, point["p_kPa"] * 1e3, point["Q_vapour_MOLAR"])
    assert found.hmass() / 1e3 == pytest.approx(point["h_kJ_kg"], rel=1e-3)


def test_every_point_of_the_file_is_used_by_a_test() -> None:
    used = {id(point) for point, _ in BY_TEMPERATURE + BY_PRESSURE}
    used |= {id(p) for p in GLIDES + CRITICAL + SINGLE_PHASE}
    used |= {id(p) for p in POINTS if "h_dew_kJ_kg" in p or "Q_vapour_MOLAR" in p}
    left = [p for p in POINTS if id(p) not in used]
    assert not left


def test_few_published_points_are_outside_the_range() -> None:
    outside = [
        point
        for point, _ in BY_TEMPERATURE
        if refused(saturation(point["refrigerant"]), kelvin(point))
    ]
    assert {p["refrigerant"] for p in outside} <= {"R-744", "R-134a", "R-22", "R-717"}
    assert len(outside) < 0.05 * len(BY_TEMPERATURE)


@pytest.mark.parametrize("table", DATA["second_solver"], ids=lambda t: t["refrigerant"])
def test_the_independent_solver_agrees_on_both_lines(table: dict[str, Any]) -> None:
    fluid = saturation(table["refrigerant"])
    # 0.022 % is what a pseudo-pure equation may differ from the mixture model.
    tolerance = 2.5e-4 if table["refrigerant"] in PSEUDO_PURE else 1e-5
    for row in table["rows"]:
        temperature = row["T_F"] * FAHRENHEIT + FAHRENHEIT_ZERO
        dew, bubble = fluid.dew_pressure(temperature), fluid.bubble_pressure(temperature)
        assert dew / PSI == pytest.approx(row["p_dew_psia"], rel=tolerance), row
        assert bubble / PSI == pytest.approx(row["p_bubble_psia"], rel=tolerance), row


PSEUDO_PURE = {"R-404A", "R-507A", "R-407C", "R-410A"}
