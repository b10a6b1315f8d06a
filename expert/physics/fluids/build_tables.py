"""Builds the saturation tables that are shipped: python -m expert.physics.fluids.build_tables.

With --data it writes the data files as JSON, to be done after each change of one.

Each table holds ln p of the dew and bubble line and ln of the saturated densities at knots of
temperature, with the slopes against 1/T of the cubic spline through them. A knot comes from the
library's flash, or where that fails from equal fugacities; the table says which.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from expert.physics.fluids.coolprop_door import library, new_state
from expert.physics.fluids.equilibrium import SaturationLine
from expert.physics.fluids.refrigerants import Refrigerant, key, names, refrigerant
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import FAHRENHEIT, FAHRENHEIT_ZERO

FOLDER = Path(__file__).with_name("tables")
DATA = (
    Path(__file__).with_name("refrigerants.yaml"),
    Path(__file__).parents[1] / "frame" / "instruments.yaml",
)
LOWEST_F, STEP_F, LAST_STEP_F, FINE_F = -80, 5, 1, 15
HIGHEST_SHARE = 0.9  # of the critical pressure: beyond, the models cannot be trusted
AGREEMENT = 1e-7  # between the two routes, relative
# An equation of state can have a third root between liquid and vapour, and the flash may end there.
ANOTHER_ROOT = 0.1  # ln density off the walked line


@dataclass
class TableLine:
    """One line of a table as it is computed; kelvin, pascal, kg/m3."""

    bubble: bool
    temperatures: list[float] = field(default_factory=list)
    pressures: list[float] = field(default_factory=list)
    densities: list[float] = field(default_factory=list)
    by_fugacity: list[float] = field(default_factory=list)
    worst: float = 0.0


class Sampler:
    """Computes points of a refrigerant's two lines by both routes and compares them."""

    def __init__(self, name: str) -> None:
        self.refrigerant: Refrigerant = refrigerant(name)
        self.state = new_state(name)
        self.coolprop = library()
        self.mixture = len(self.state.get_mole_fractions()) > 1
        self.lines = {q: SaturationLine(name, bubble=q) for q in (True, False)}
        self.starts: dict[bool, tuple[float, ...] | None] = {True: None, False: None}

    def critical(self) -> tuple[float, float]:
        """Critical temperature [K] and pressure [Pa]: the warmest physical one of a blend."""
        if not self.mixture:
            return self.state.T_critical(), self.state.p_critical()
        points = [(p.T, p.p) for p in self.state.all_critical_points() if p.p > 0]
        return max(points)

    def flash(self, temperature: float, *, bubble: bool) -> tuple[float, float] | None:
        """Pressure and density by the library's flash, or None where it fails or is trivial."""
        try:
            quality = 0.0 if bubble else 1.0
            self.state.update(self.coolprop.QT_INPUTS, quality, temperature)
        except ValueError:
            return None
        if self.mixture:
            liquid = self.state.saturated_liquid_keyed_output(self.coolprop.iDmolar)
            vapour = self.state.saturated_vapor_keyed_output(self.coolprop.iDmolar)
            if liquid < 1.1 * vapour:
                return None
        return self.state.p(), self.state.rhomass()

    def add(self, line: TableLine, temperature: float) -> tuple[float, float]:
        """Pressure [Pa] and density [kg/m3] at a temperature [K]; notes the route in `line`."""
        found = self.flash(temperature, bubble=line.bubble)
        if not self.mixture:
            if found is None:
                raise PhysicsError(f"No saturation at {temperature:.2f} K.")
            return found
        walker, start = self.lines[line.bubble], self.starts[line.bubble]
        if start is None:
            if found is None:
                raise PhysicsError(f"No point to start from at {temperature:.2f} K.")
            start = walker.start(self.state, bubble=line.bubble)
        point = walker.point(temperature, start)
        self.starts[line.bubble] = point.unknowns
        if found is not None and self._another_root(walker, point.unknowns, bubble=line.bubble):
            found = None
        if found is None:
            line.by_fugacity.append(temperature)
        else:
            line.worst = max(
                line.worst, abs(point.pressure / found[0] - 1), abs(point.density / found[1] - 1)
            )
        return point.pressure, point.density

    def _another_root(
        self, walker: SaturationLine, walked: tuple[float, ...], *, bubble: bool
    ) -> bool:
        flashed = walker.start(self.state, bubble=bubble)
        return any(abs(flashed[i] - walked[i]) > ANOTHER_ROOT for i in (0, 1))


def build(name: str) -> dict[str, Any]:
    """The table of one refrigerant, ready to be written as JSON."""
    sampler = Sampler(name)
    critical_t, critical_p = sampler.critical()
    two_lines = sampler.refrigerant.blend
    lines = [TableLine(bubble=True)] + ([TableLine(bubble=False)] if two_lines else [])
    grid = _grid(sampler, critical_t)
    knots = [grid[0], *(t for t in grid[1:] if t < critical_t - 10 * FAHRENHEIT)]
    top = HIGHEST_SHARE * critical_p
    if sampler.refrigerant.to_critical:
        knots, top = [*knots, *(critical_t - below for below in _to_critical())], math.inf
    for line in lines:
        for temperature in knots:
            pressure, density = sampler.add(line, temperature)
            if pressure >= top:
                break
            line.temperatures.append(temperature)
            line.pressures.append(pressure)
            line.densities.append(density)
        if line.worst > AGREEMENT:
            raise PhysicsError(f"{name}: the two routes differ by {line.worst:.1e}.")
    lines = [_thinned(line, grid[0]) for line in lines]
    vapour = lines[-1]
    curves: dict[str, Any] = {"bubble": _curve(lines[0].temperatures, lines[0].pressures)}
    if two_lines:
        curves["dew"] = _curve(vapour.temperatures, vapour.pressures)
    curves["liquid_density"] = _curve(lines[0].temperatures, lines[0].densities)
    curves["vapour_density"] = _vapour_density(sampler, lines, two_lines)
    return {
        "refrigerant": sampler.refrigerant.designation,
        "model": sampler.refrigerant.model or dict(sampler.refrigerant.model_components),
        "library": f"CoolProp {library().__version__}",
        "units": "K, Pa, kg/m3; ln = natural logarithm; slope = d ln / d(1/T)",
        "molar_mass_g_mol": round(sampler.state.molar_mass() * 1000, 5),
        "critical_T": round(critical_t, 4),
        "critical_p": round(critical_p, 1),
        "triple_point": _at_triple_point(sampler, grid[0]),
        "routes": _routes(lines, sampler.mixture),
        "curves": curves,
    }


def _grid(sampler: Sampler, critical_t: float) -> list[float]:
    lowest = sampler.state.Ttriple() if not sampler.mixture else 0.0
    start = LOWEST_F * FAHRENHEIT + FAHRENHEIT_ZERO
    fine = [start + i * LAST_STEP_F * FAHRENHEIT for i in range(600)]
    above = [t for t in fine if t > lowest + 0.3]
    return ([lowest] if lowest > start else []) + [t for t in above if t < critical_t]


def _to_critical() -> list[float]:
    """Steps [K] below the critical temperature, ever closer: the densities bend without end."""
    first, last, ratio = 10 * FAHRENHEIT, 0.02, 0.8
    count = math.ceil(math.log(last / first) / math.log(ratio))
    return [first * ratio**i for i in range(count + 1)]


def _thinned(line: TableLine, first: float) -> TableLine:
    """Coarse knots carry a line; fine ones are kept near its end, where it bends."""
    start = LOWEST_F * FAHRENHEIT + FAHRENHEIT_ZERO
    fine_from = line.temperatures[-1] - FINE_F * FAHRENHEIT
    thin = TableLine(line.bubble, by_fugacity=line.by_fugacity, worst=line.worst)
    for index, temperature in enumerate(line.temperatures):
        coarse = round((temperature - start) / FAHRENHEIT) % STEP_F == 0
        if coarse or temperature == first or temperature >= fine_from:
            thin.temperatures.append(temperature)
            thin.pressures.append(line.pressures[index])
            thin.densities.append(line.densities[index])
    return thin


def _vapour_density(sampler: Sampler, lines: list[TableLine], two_lines: bool) -> dict[str, Any]:
    if two_lines:
        return _curve(lines[1].temperatures, lines[1].densities)
    densities = []
    for temperature in lines[0].temperatures:
        found = sampler.flash(temperature, bubble=False)
        if found is None:
            raise PhysicsError(f"No vapour density at {temperature:.2f} K.")
        densities.append(found[1])
    return _curve(lines[0].temperatures, densities)


def _curve(temperatures: list[float], values: list[float]) -> dict[str, Any]:
    inverse = [1 / t for t in reversed(temperatures)]
    logs = [math.log(v) for v in reversed(values)]
    return {
        "T": [round(t, 6) for t in temperatures],
        "ln": [round(v, 10) for v in reversed(logs)],
        "slope": [round(s, 6) for s in reversed(spline_slopes(inverse, logs))],
    }


def spline_slopes(x: Sequence[float], y: Sequence[float]) -> list[float]:
    """Slopes at the knots of the cubic spline through them, not-a-knot ends (de Boor 1978)."""
    import numpy as np

    steps = np.diff(x)
    secants = np.diff(y) / steps
    count = len(x)
    matrix, right = np.zeros((count, count)), np.zeros(count)
    for i in range(1, count - 1):
        before, after = steps[i - 1], steps[i]
        matrix[i, i - 1 : i + 2] = after, 2 * (before + after), before
        right[i] = 3 * (after * secants[i - 1] + before * secants[i])
    for row, (first, second, sign) in ((0, (0, 1, 1)), (count - 1, (-1, -2, -1))):
        outer, inner = steps[first], steps[second]
        both = outer + inner
        matrix[row, row], matrix[row, row + sign] = inner, both
        right[row] = (
            (outer + 2 * both) * inner * secants[first] + outer**2 * secants[second]
        ) / both
    return [float(slope) for slope in np.linalg.solve(matrix, right)]


def _at_triple_point(sampler: Sampler, first: float) -> bool:
    return not sampler.mixture and abs(first - sampler.state.Ttriple()) < 1e-6


def _routes(lines: list[TableLine], mixture: bool) -> dict[str, Any]:
    routes: dict[str, Any] = {}
    for line in lines:
        name = "bubble" if line.bubble else "dew"
        text = "flash and equal fugacities agree" if mixture else "flash"
        routes[name] = {"route": text, "largest_difference": float(f"{line.worst:.1e}")}
        if line.by_fugacity:
            routes[name]["equal_fugacities_only_K"] = [round(t, 2) for t in line.by_fugacity]
    return routes


def text_of(table: dict[str, Any]) -> str:
    """A table as the text of its file."""
    return json.dumps(table, separators=(",", ":"), sort_keys=True) + "\n"


def data_as_json(path: Path) -> str:
    """A data file as the JSON that is read; numbers and texts as they stand."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    data = yaml.load(path.read_text("utf-8"), Loader=loader)  # noqa: S506
    return json.dumps(data, indent=0, ensure_ascii=False) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Write every table, or with --check compare them with the files; 1 if they differ."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="compare, do not write")
    parser.add_argument("--data", action="store_true", help="only the data files, as JSON")
    parser.add_argument("names", nargs="*", help="refrigerants, all if none is given")
    given = parser.parse_args(arguments)
    differing = []
    if given.data:
        for path in DATA:
            path.with_suffix(".json").write_text(data_as_json(path), encoding="utf-8")
        return 0
    for name in given.names or names():
        table = build(name)
        path = FOLDER / f"{key(table['refrigerant'])}.json"
        if given.check:
            if not path.exists() or not same(json.loads(path.read_text("utf-8")), table):
                differing.append(name)
        else:
            path.write_text(text_of(table), encoding="utf-8")
        knots = {kind: len(curve["T"]) for kind, curve in table["curves"].items()}
        sys.stdout.write(f"{name}: {knots}\n")
    if differing:
        sys.stdout.write(f"Not as the files say: {', '.join(differing)}\n")
    return 1 if differing else 0


def same(one: Any, other: Any, tolerance: float = 1e-7) -> bool:
    """Whether two tables agree, numbers within a relative tolerance; routes are not compared."""
    if isinstance(one, dict) and isinstance(other, dict):
        skipped = {"routes", "library"}
        return one.keys() == other.keys() and all(
            same(one[k], other[k], tolerance) for k in one if k not in skipped
        )
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=tolerance, abs_tol=tolerance)
    return bool(one == other)


if __name__ == "__main__":
    sys.exit(main())
