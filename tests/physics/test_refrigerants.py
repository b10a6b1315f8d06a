"""The data on refrigerants: complete, sourced and consistent with itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from expert.physics.fluids.build_tables import DATA, data_as_json
from expert.physics.fluids.coolprop_door import built_state, library
from expert.physics.fluids.refrigerants import Refrigerant, key, names, refrigerant, refrigerants
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.physics_errors import NotAvailable, UnknownRefrigerant
from expert.units.kinds import ATMOSPHERE, FAHRENHEIT

ALL = refrigerants()
# Global warming potentials over 100 years, IPCC AR4 as in 40 CFR 98 Table A-1 and 40 CFR 84.64;
# CFC, HCFC, HFO and hydrocarbon values from memory.
AR4 = {
    "R-32": 675,
    "R-125": 3500,
    "R-134a": 1430,
    "R-143a": 4470,
    "R-227ea": 3220,
    "R-22": 1810,
    "R-115": 7370,
    "R-744": 1,
    "R-1234yf": 1,
    "R-1234ze(E)": 1,
    "R-290": 3,
    "R-600a": 3,
    "R-600": 3,
    "R-601a": 3,
    "R-1336mzz(E)": 26,
    "R-152a": 124,
    "R-124": 609,
    "R-142b": 2310,
    "R-12": 10900,
}
WITH_NORMAL_POINT = [r for r in ALL if r.normal_point]
each = pytest.mark.parametrize("one", ALL, ids=lambda r: r.designation)


def test_all_48_refrigerants_are_there() -> None:
    assert len(names()) == 48


@pytest.mark.parametrize("path", DATA, ids=lambda path: path.stem)
def test_what_is_read_is_what_the_data_file_says(path: Path) -> None:
    written = path.with_suffix(".json").read_text("utf-8")
    assert written == data_as_json(path), "run python -m expert.physics.fluids.build_tables --data"


@each
def test_the_composition_adds_up_and_every_figure_has_its_source_beside_it(
    one: Refrigerant,
) -> None:
    assert sum(one.composition.values()) == pytest.approx(100)
    assert one.composition_source
    assert one.safety_class_source
    assert one.gwp_source
    assert one.concentration_limit is None or one.concentration_limit.source
    assert one.model_error_source
    assert one.model or one.model_components
    assert one.model_error > 0


# Normal bubble and dew points [C] of blends that nothing was fitted to: ASHRAE 34, from memory.
OF_THE_SAME_PAIRS = {
    "R-401B": ({"R22": 0.61, "R152A": 0.11, "R124": 0.28}, -35.7, -30.8),
    "R-401C": ({"R22": 0.33, "R152A": 0.15, "R124": 0.52}, -30.5, -23.8),
    "R-409B": ({"R22": 0.65, "R124": 0.25, "R142b": 0.10}, -36.5, -29.7),
}


@pytest.mark.parametrize("name", OF_THE_SAME_PAIRS)
def test_the_estimated_pairs_hold_for_blends_they_were_not_fitted_to(name: str) -> None:
    shares, *points = OF_THE_SAME_PAIRS[name]
    new = replace(refrigerant("R-401A"), model_components=shares)
    state = built_state(new)
    for quality, point in enumerate(points):
        state.update(library().PQ_INPUTS, ATMOSPHERE, quality)
        assert state.T() - 273.15 == pytest.approx(point, abs=0.35)


def test_a_blend_for_which_no_estimate_is_vouched_is_refused_even_after_one_that_has_it() -> None:
    built_state(refrigerant("R-402A"))
    own = replace(
        refrigerant("R-402A"), designation="R-X", estimated=False,
        model_components={"R22": 0.5, "R125": 0.5},
    )  # fmt: skip
    with pytest.raises(NotAvailable, match="R125 with R22"):
        built_state(own)


@each
def test_the_safety_class_is_one_of_ashrae_34(one: Refrigerant) -> None:
    assert one.safety_class in {"A1", "A2L", "A3", "B2L"}


@pytest.mark.parametrize("one", [r for r in ALL if "AIM_Act" in r.gwp], ids=lambda r: r.designation)
def test_the_gwp_is_the_mass_fraction_sum_of_the_constituents(one: Refrigerant) -> None:
    total = sum(share / 100 * AR4[part] for part, share in one.composition.items())
    assert one.gwp["AIM_Act"] == pytest.approx(total, abs=0.06)


@pytest.mark.parametrize(
    "one", [r for r in ALL if r.concentration_limit], ids=lambda r: r.designation
)
def test_the_concentration_limit_agrees_in_both_its_units(one: Refrigerant) -> None:
    limit = one.concentration_limit
    assert limit is not None
    grams_per_m3 = limit.ppm_by_volume * 1e-6 * one.molar_mass_g_mol / 24.45 * 1000
    pounds = grams_per_m3 * 0.062428
    assert limit.lb_per_1000_ft3 == pytest.approx(pounds, rel=0.05)


@pytest.mark.parametrize("name", names())
def test_the_molar_mass_is_that_of_the_table(name: str) -> None:
    assert saturation(name).molar_mass * 1000 == pytest.approx(
        refrigerant(name).molar_mass_g_mol, abs=0.05
    )


@pytest.mark.parametrize("name", [n for n in names() if refrigerant(n).glide is not None])
def test_the_glide_is_that_of_the_table(name: str) -> None:
    assert saturation(name).glide(ATMOSPHERE) == pytest.approx(refrigerant(name).glide, abs=0.002)


@pytest.mark.parametrize("one", WITH_NORMAL_POINT, ids=lambda r: r.designation)
def test_the_normal_points_lie_within_what_models_are_said_to_differ(one: Refrigerant) -> None:
    fluid = saturation(one.designation)
    # Half a printed digit, and 0.4 K for entries that rest on older property data.
    older = {"R-404A", "R-507A", "R-407A", "R-407C", "R-410A"}
    slack = one.model_error + 0.06 + (0.4 if one.designation in older else 0.0)
    for line, found in (
        ("bubble", fluid.bubble_temperature(ATMOSPHERE)),
        ("dew", fluid.dew_temperature(ATMOSPHERE)),
    ):
        assert found - 273.15 == pytest.approx(one.normal_point[line], abs=slack), line


@pytest.mark.parametrize(
    ("name", "fahrenheit"),
    [("R-22", 0.1), ("R-404A", 0.1), ("R-448A", 0.5), ("R-513A", 0.5), ("R-454C", 1.1)],
)
def test_the_model_error_is_the_published_spread(name: str, fahrenheit: float) -> None:
    assert refrigerant(name).model_error == pytest.approx(fahrenheit * FAHRENHEIT)


def test_no_two_names_mean_the_same_key() -> None:
    keys = [key(name) for r in ALL for name in (r.designation, *r.aliases)]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("typed", ["R-507", "r507", "R 507A", "HFC-507A", "507a"])
def test_usual_spellings_of_one_fluid_are_accepted(typed: str) -> None:
    assert refrigerant(typed).designation == "R-507A"


def test_a_missing_letter_is_asked_for_and_not_guessed() -> None:
    with pytest.raises(UnknownRefrigerant, match="R-449A or R-449B"):
        refrigerant("R-449")


@pytest.mark.parametrize("typed", ["R-9999", "R-13", "R-458A", "R-410B", "R-127", "water", "", "-"])
def test_an_unknown_name_is_refused_and_leads_to_no_other_fluid(typed: str) -> None:
    with pytest.raises(UnknownRefrigerant) as refused:
        refrigerant(typed)
    said = str(refused.value).replace(f"'{typed}'", "")
    assert not any(one.designation in said for one in ALL), said
