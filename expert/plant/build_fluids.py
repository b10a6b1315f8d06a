"""Writes fluids.json: enthalpy, entropy and density of each refrigerant as short polynomials.

`python -m expert.plant.build_fluids` needs CoolProp; everything else of the plant reads the file.
The saturation lines are not in it, they come from the tables of the physics package.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np

from expert.physics.fluids.saturation import saturation
from expert.physics.fluids.single_phase import HOTTEST, gas, liquid
from expert.physics.frame.physics_errors import PhysicsError
from expert.plant.fluid import FILE, X_CENTRE, X_SCALE, Y_SCALE, design_matrix

REFRIGERANTS = ("R-449A", "R-448A", "R-404A", "R-134a", "R-407A", "R-507A")
LOWEST, HIGHEST, STEP = 222.0, 334.0, 4.0  # K, -60 F to 142 F
HOTTER = (0.0, 3.0, 8.0, 15.0, 25.0, 38.0, 55.0, 75.0, 100.0, 125.0)  # K above dew
DEGREES = (5, 4)  # of dew temperature and of superheat


def fitted(name: str) -> dict[str, object]:
    """The coefficients of one refrigerant and the largest errors of the fit."""
    sat = saturation(name)
    rows, states = [], []
    for dew in np.arange(LOWEST, HIGHEST + 0.1, STEP):
        pressure = sat.dew_pressure(float(dew))
        for more in HOTTER:
            if dew + more > HOTTEST:
                continue
            try:
                found = gas(name, pressure, float(dew) + more)
            except PhysicsError:
                continue
            rows.append((dew, more))
            states.append((found.enthalpy, found.entropy, np.log(found.density)))
    dews, mores = np.array(rows).T
    matrix = design_matrix(dews, mores, DEGREES)
    told: dict[str, object] = {"degrees": DEGREES}
    for what, values in zip(
        ("enthalpy", "entropy", "log_density"), np.array(states).T, strict=True
    ):
        solved, *_ = np.linalg.lstsq(matrix, values, rcond=None)
        told[what] = [float(f"{one:.9g}") for one in solved]
        told[f"{what}_error"] = float(f"{np.abs(matrix @ solved - values).max():.3g}")
    temperatures = np.arange(LOWEST, HIGHEST + 0.1, STEP)
    values = [liquid(name, sat.bubble_pressure(float(t)), float(t)).enthalpy for t in temperatures]
    x = (temperatures - X_CENTRE) / X_SCALE
    powers = np.polynomial.polynomial.polyfit(x, values, 5)
    told["liquid_enthalpy"] = [float(f"{one:.9g}") for one in powers]
    miss = np.polynomial.polynomial.polyval(x, powers) - values
    told["liquid_enthalpy_error"] = float(f"{np.abs(miss).max():.3g}")
    return told


def main() -> int:
    """Write the file."""
    data = {
        "source": "fitted to CoolProp 8 equations of state (Bell et al. 2014)",
        "units": "J/kg, J/(kg K), ln(kg/m3); dew temperature and superheat in K",
        "scales": [X_CENTRE, X_SCALE, Y_SCALE],
        "refrigerants": {name: fitted(name) for name in REFRIGERANTS},
    }
    path = Path(__file__).parent / FILE
    path.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
