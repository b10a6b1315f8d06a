"""A second route to saturation: the teqp library with published mixture parameters.

`second_route.json` holds its results, so that the tables are checked where teqp is not installed;
with teqp, a sample of them is computed again. Running this file writes the results again.
The numerics are independent of CoolProp's; the equations of state are the same published ones.
"""

from __future__ import annotations

import json
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from expert.physics.fluids.refrigerants import names, refrigerant
from expert.physics.fluids.saturation import saturation
from expert.units.kinds import FAHRENHEIT, FAHRENHEIT_ZERO

DATA = Path(__file__).with_name("data")
RESULTS = DATA / "second_route.json"
STEPS_F = tuple(-40 + 8.5 * i for i in range(21))  # to 130, most of them between knots
PSEUDO_PURE = {"R-404A", "R-507A", "R-407C", "R-410A"}
CHECKED_AGAIN = ("R-22", "R-744", "R-407F", "R-454B", "R-471A", "R-502")
# Blends with estimated pairs have no published parameters to go a second way with; they are held
# against their normal points (test_refrigerants).
PUBLISHED = [name for name in names() if not refrigerant(name).estimated]
CONSTITUENTS = {  # CoolProp's spelling where it is not the designation without its hyphen
    "R-744": "CarbonDioxide",
    "R-717": "Ammonia",
    "R-290": "n-Propane",
    "R-600a": "IsoButane",
    "R-1270": "Propylene",
    "R-227ea": "R227EA",
    "R-152a": "R152A",
    "R-600": "n-Butane",
}


def kelvin(fahrenheit: float) -> float:
    return fahrenheit * FAHRENHEIT + FAHRENHEIT_ZERO


@cache
def results() -> dict[str, list[dict[str, float]]]:
    found: dict[str, list[dict[str, float]]] = json.loads(RESULTS.read_text("utf-8"))["rows"]
    return found


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_tables_agree_with_the_second_route_on_both_lines(name: str) -> None:
    fluid, rows = saturation(name), results()[name]
    pressure, density = (2.5e-4, 2e-3) if name in PSEUDO_PURE else (1e-5, 1e-5)
    for row in rows:
        temperature = kelvin(row["T_F"])
        found = (
            fluid.dew_pressure(temperature),
            fluid.bubble_pressure(temperature),
            fluid.vapour_density(temperature),
            fluid.liquid_density(temperature),
        )
        assert found[:2] == pytest.approx((row["p_dew"], row["p_bubble"]), rel=pressure), row
        assert found[2:] == pytest.approx((row["rho_vap"], row["rho_liq"]), rel=density), row


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_second_route_covers_minus_40_to_130_f_as_far_as_the_tables_answer(name: str) -> None:
    fluid, rows = saturation(name), results()[name]
    wanted = [f for f in STEPS_F if kelvin(f) in fluid.dew_range]
    assert [row["T_F"] for row in rows] == wanted
    assert name == "R-744" or tuple(wanted) == STEPS_F


@pytest.mark.parametrize("name", CHECKED_AGAIN)
def test_the_stored_results_are_those_of_the_second_route(name: str) -> None:
    pytest.importorskip("teqp")
    pytest.importorskip("CoolProp")
    route = Route(name)
    for row in results()[name][::5]:
        again = route.row(row["T_F"])
        assert again == pytest.approx(row, rel=1e-6)


class Route:
    """Saturation of one refrigerant by teqp; densities of the tables are only starting values."""

    gas_constant = 8.31446261815324

    def __init__(self, name: str) -> None:
        import numpy as np

        self.np, self.name = np, name
        composition = refrigerant(name).composition
        fluids = [self._fluid(part) for part in composition]
        masses = np.array([fluid["EOS"][0]["molar_mass"] for fluid in fluids])
        moles = np.array(list(composition.values())) / masses
        self.z, self.masses = moles / moles.sum(), masses
        self.critical = [
            (f["STATES"]["critical"]["T"], f["STATES"]["critical"]["p"], f["EOS"][0]["acentric"])
            for f in fluids
        ]
        # A pure equation of state was fitted with its own gas constant.
        own = fluids[0]["EOS"][0]["gas_constant"]
        self.constant = own if len(fluids) == 1 else self.gas_constant
        self.model = self._model(fluids)

    @staticmethod
    def _fluid(part: str) -> dict[str, Any]:
        from CoolProp.CoolProp import get_fluid_param_string

        name = CONSTITUENTS.get(part, part.replace("R-", "R"))
        fluid: dict[str, Any] = json.loads(get_fluid_param_string(name, "JSON"))[0]
        return fluid

    @staticmethod
    def _model(fluids: list[dict[str, Any]]) -> Any:
        import teqp

        known = json.loads((DATA / "mixture_parameters.json").read_text("utf-8"))
        pairs = []
        for i, first in enumerate(fluids):
            for second in fluids[i + 1 :]:
                numbers = {first["INFO"]["CAS"], second["INFO"]["CAS"]}
                pair = next(p for p in known["pairs"] if {p["CAS1"], p["CAS2"]} == numbers)
                pairs.append(_reducing(dict(pair), first, second))
        model = {"components": fluids, "root": "", "BIP": pairs, "departure": known["departure"]}
        return teqp.make_model({"kind": "multifluid", "model": model})

    def row(self, fahrenheit: float) -> dict[str, float]:
        """Both lines at a temperature: Pa and kg/m3."""
        temperature = kelvin(fahrenheit)
        bubble, liquid = self._line(temperature, bubble=True)
        dew, vapour = self._line(temperature, bubble=False)
        return {
            "T_F": fahrenheit,
            "p_dew": dew,
            "p_bubble": bubble,
            "rho_vap": vapour,
            "rho_liq": liquid,
        }

    def _line(self, temperature: float, *, bubble: bool) -> tuple[float, float]:
        """Pressure and density of the phase that is the refrigerant itself."""
        fluid = saturation(self.name)
        heavy, light = fluid.liquid_density(temperature), fluid.vapour_density(temperature)
        mine, its = (heavy, light) if bubble else (light, heavy)
        if len(self.z) == 1:
            mass = float(self.masses[0])
            pair = self.model.pure_VLE_T(temperature, mine / mass, its / mass, 30)
            return self._pressure(temperature, pair[0], self.z), float(pair[0]) * mass
        return self._substitute(temperature, mine, its, bubble=bubble)

    def _substitute(
        self, temperature: float, mine: float, its: float, *, bubble: bool
    ) -> tuple[float, float]:
        """Successive substitution of the incipient phase's composition and the pressure."""
        np, z = self.np, self.z
        volatility = np.array(
            [p * np.exp(5.373 * (1 + w) * (1 - t / temperature)) for t, p, w in self.critical]
        )
        other = z * volatility if bubble else z / volatility
        other /= other.sum()
        fluid = saturation(self.name)
        line = fluid.bubble_pressure if bubble else fluid.dew_pressure
        pressure = 0.97 * line(temperature)
        mine, its = mine / (z * self.masses).sum(), its / (other * self.masses).sum()
        for _ in range(500):
            mine = self._density(temperature, pressure, z, mine)
            its = self._density(temperature, pressure, other, its)
            ratio = self.model.get_fugacity_coefficients(temperature, mine * z)
            ratio = ratio / self.model.get_fugacity_coefficients(temperature, its * other)
            other = z * ratio
            total = float(other.sum())
            other = other / total
            # Liquid that wants to give more vapour than there is boils at a higher pressure.
            pressure *= total if bubble else 1 / total
            if abs(total - 1) < 1e-11:
                break
        assert abs(total - 1) < 1e-10
        assert abs(mine / its - 1) > 0.1
        mine = self._density(temperature, pressure, z, mine)
        return pressure, float(mine * (z * self.masses).sum())

    def _density(self, temperature: float, pressure: float, shares: Any, start: float) -> float:
        total = start
        constant = self.constant
        for _ in range(50):
            first, second = self.model.get_Ar02n(temperature, total, shares)[1:3]
            miss = total * constant * temperature * (1 + first) - pressure
            change = miss / (constant * temperature * (1 + 2 * first + second))
            total -= change
            if abs(change) < 1e-13 * total:
                break
        return total

    def _pressure(self, temperature: float, total: float, shares: Any) -> float:
        constant = self.constant
        factor = 1 + self.model.get_Ar01(temperature, total, shares)
        return total * constant * temperature * float(factor)


def _reducing(pair: dict[str, Any], first: Any, second: Any) -> dict[str, Any]:
    """A pair given as xi and zeta (Lemmon and Jacobsen 2004) written as gammas."""
    if "xi" in pair:
        states = [fluid["EOS"][0]["STATES"]["reducing"] for fluid in (first, second)]
        (t1, v1), (t2, v2) = ((s["T"], 1 / s["rhomolar"]) for s in states)
        pair["gammaT"] = (t1 + t2 + pair.pop("xi")) / 2 / (t1 * t2) ** 0.5
        pair["gammaV"] = 4 * (v1 + v2 + pair.pop("zeta")) / (v1 ** (1 / 3) + v2 ** (1 / 3)) ** 3
        pair["betaT"] = pair["betaV"] = 1.0
    return pair


def write() -> None:
    """Compute every row and write the file of results."""
    rows = {}
    for name in PUBLISHED:
        route, fluid = Route(name), saturation(name)
        rows[name] = [
            {k: float(f"{v:.8g}") for k, v in route.row(f).items()}
            for f in STEPS_F
            if kelvin(f) in fluid.dew_range
        ]
    note = "Pa absolute and kg/m3; teqp 0.23.2 with mixture_parameters.json"
    text = json.dumps({"note": note, "rows": rows}, separators=(",", ":"))
    RESULTS.write_text(text.replace('],"R', '],\n"R') + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.exit(write())
