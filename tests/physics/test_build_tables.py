"""The tables of the package are what the script builds, and reproduce the library between knots."""

from __future__ import annotations

import json
import math

import pytest

from expert.physics.fluids import build_tables
from expert.physics.fluids.build_tables import FOLDER, build, main, same, spline_slopes
from expert.physics.fluids.coolprop_door import library, new_state
from expert.physics.fluids.equilibrium import SaturationLine
from expert.physics.fluids.monotone_curve import MonotoneCurve
from expert.physics.fluids.refrigerants import key, names
from expert.physics.fluids.saturation import saturation

PURE = ("R-22", "R-744", "R-404A")
HOLE = (119, 140)  # F, where the library's own bubble point of R-407F fails


def table(name: str) -> dict[str, object]:
    found: dict[str, object] = json.loads((FOLDER / f"{key(name)}.json").read_text("utf-8"))
    return found


def test_there_is_a_table_for_every_available_refrigerant_and_no_other() -> None:
    assert {path.stem for path in FOLDER.glob("*.json")} == {key(name) for name in names()}


def test_all_tables_together_are_small() -> None:
    assert sum(path.stat().st_size for path in FOLDER.glob("*.json")) < 500_000


@pytest.mark.parametrize("name", ["R-22", "R-744", "R-407F"])
def test_building_again_gives_the_table_of_the_package(name: str) -> None:
    assert same(table(name), build(name))


def test_a_changed_table_is_noticed(tmp_path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    from pathlib import Path

    folder = Path(str(tmp_path))
    changed = json.loads(json.dumps(table("R-744")))
    changed["curves"]["bubble"]["ln"][3] += 1e-5
    (folder / "r744.json").write_text(json.dumps(changed))
    monkeypatch.setattr(build_tables, "FOLDER", folder)
    assert main(["--check", "R-744"]) == 1
    assert main(["R-744"]) == 0
    assert main(["--check", "R-744"]) == 0


def test_the_table_says_where_only_the_second_route_gave_a_knot() -> None:
    routes = table("R-407F")["routes"]
    assert isinstance(routes, dict)
    only = routes["bubble"]["equal_fugacities_only_K"]
    fahrenheit = [t * 1.8 - 459.67 for t in only]
    assert min(fahrenheit) == pytest.approx(HOLE[0], abs=0.5)
    assert max(fahrenheit) == pytest.approx(HOLE[1] - 1, abs=0.5)
    assert "equal_fugacities_only_K" not in routes["dew"]


@pytest.mark.parametrize("name", names())
def test_the_two_routes_to_a_knot_agree_where_both_exist(name: str) -> None:
    routes = table(name)["routes"]
    assert isinstance(routes, dict)
    assert all(line["largest_difference"] < 1e-8 for line in routes.values())


@pytest.mark.parametrize("name", PURE)
def test_between_knots_the_curves_reproduce_the_library(name: str) -> None:
    fluid, found = saturation(name), new_state(name)
    span = fluid.dew_range
    for step in range(57):
        t = span.low + (span.high - span.low) * (step + 0.5) / 57
        found.update(library().QT_INPUTS, 1, t)
        assert fluid.dew_pressure(t) == pytest.approx(found.p(), rel=1e-5), t
        assert fluid.vapour_density(t) == pytest.approx(found.rhomass(), rel=2e-4), t


@pytest.mark.parametrize("name", ["R-448A", "R-407F", "R-455A"])
def test_between_knots_of_a_blend_the_curves_reproduce_equal_fugacities(name: str) -> None:
    fluid, flash = saturation(name), new_state(name)
    flash.update(library().QT_INPUTS, 0, 250.0)
    line = SaturationLine(name, bubble=True)
    unknowns = line.start(flash, bubble=True)
    t = 251.0
    while t < fluid.bubble_range.high - 2:
        point = line.point(t, unknowns)
        unknowns = point.unknowns
        assert fluid.bubble_pressure(t) == pytest.approx(point.pressure, rel=1e-5), t
        assert fluid.liquid_density(t) == pytest.approx(point.density, rel=1e-4), t
        t += 2.1


def test_the_library_itself_fails_in_the_hole_that_the_table_fills() -> None:
    flash = new_state("R-407F")
    with pytest.raises(ValueError, match="solver_rho_Tp"):
        flash.update(library().QT_INPUTS, 0, (130 + 459.67) / 1.8)
    assert saturation("R-407F").bubble_pressure((130 + 459.67) / 1.8) > 0


def test_the_slopes_of_a_cubic_are_exact() -> None:
    x = [0.0, 1.0, 1.5, 3.0, 4.0]
    y = [v**3 - 2 * v + 1 for v in x]
    assert spline_slopes(x, y) == pytest.approx([3 * v**2 - 2 for v in x])


def test_a_curve_that_turns_back_is_not_monotonic() -> None:
    rising = [math.log(v) for v in (1.0, 2.0, 4.0)]
    good = MonotoneCurve([250.0, 275.0, 300.0], rising, [-2000.0, -2000.0, -2000.0])
    bad = MonotoneCurve([250.0, 275.0, 300.0], rising, [-2000.0, 900.0, -2000.0])
    assert good.is_monotonic()
    assert not bad.is_monotonic()
