"""The table of units against the published factors, and its own consistency."""

from __future__ import annotations

from collections import Counter

import pytest

from expert.units.kinds import SYSTEMS, UNITS, Kind, Unit, unit_for, units_of

NUMBERS = [kind for kind in Kind if kind not in (Kind.CHOICE, Kind.TEXT)]


def unit(kind: Kind, name: str) -> Unit:
    return next(each for each in units_of(kind) if name in each.names)


@pytest.mark.parametrize(
    ("kind", "name", "factor"),
    [  # NIST Special Publication 811 (2008), appendix B.8, as printed there
        (Kind.PRESSURE_DIFFERENCE, "psi", 6.894757e3),
        (Kind.PRESSURE_DIFFERENCE, "bar", 1.0e5),
        (Kind.ABSOLUTE_PRESSURE, "inHga", 3.386389e3),
        (Kind.ABSOLUTE_PRESSURE, "micron", 0.1333224),
        (Kind.TEMPERATURE_DIFFERENCE, "F", 5.555556e-1),
        (Kind.LENGTH, "ft", 3.048e-1),
        (Kind.LENGTH, "in", 2.54e-2),
        (Kind.MASS, "lb", 4.535924e-1),
        (Kind.MASS, "oz", 2.834952e-2),
        (Kind.VOLUME, "ft3", 2.831685e-2),
        (Kind.VOLUME, "gal", 3.785412e-3),
        (Kind.VOLUME_FLOW, "cfm", 4.719474e-4),
        (Kind.DENSITY, "lb/ft3", 1.601846e1),
        (Kind.POWER, "Btu/h", 2.930711e-1),
        (Kind.POWER, "ton", 3.516853e3),
        (Kind.ENERGY, "Btu", 1.055056e3),
        (Kind.ENERGY, "kWh", 3.6e6),
        (Kind.SPECIFIC_ENERGY, "Btu/lb", 2.326e3),
        (Kind.SPEED, "fpm", 5.08e-3),
        (Kind.MASS_FLOW, "lb/h", 1.259979e-4),
        (Kind.HUMIDITY_RATIO, "gr/lb", 6.479891e-5 / 4.535924e-1),
    ],
)
def test_a_factor_is_the_published_one(kind: Kind, name: str, factor: float) -> None:
    assert unit(kind, name).factor == pytest.approx(factor, rel=5e-7)


@pytest.mark.parametrize(("fahrenheit", "kelvin"), [(32, 273.15), (212, 373.15), (-40, 233.15)])
def test_fahrenheit_has_its_zero_where_it_belongs(fahrenheit: float, kelvin: float) -> None:
    assert unit(Kind.TEMPERATURE, "F").to_si(fahrenheit) == pytest.approx(kelvin, abs=1e-9)


def test_inches_of_vacuum_count_downwards() -> None:
    assert unit(Kind.GAUGE_PRESSURE, "inHg vac").to_si(10) == pytest.approx(-33863.89)


@pytest.mark.parametrize("kind", NUMBERS)
def test_every_kind_of_number_has_a_unit_in_both_systems(kind: Kind) -> None:
    for system in SYSTEMS:
        assert unit_for(kind, system).kind is kind


@pytest.mark.parametrize("kind", NUMBERS)
def test_no_name_means_two_units_of_one_kind(kind: Kind) -> None:
    squeezed = [{name.replace(" ", "").lower() for name in each.names} for each in units_of(kind)]
    names = Counter(name for group in squeezed for name in group)
    assert [name for name, count in names.items() if count > 1] == []


def test_no_name_of_a_unit_looks_like_part_of_a_number() -> None:
    assert [n for each in UNITS for n in each.names if n and n[0] in "0123456789.,+-"] == []


@pytest.mark.parametrize("each", UNITS, ids=lambda each: f"{each.kind} {each.name}")
def test_a_unit_goes_to_si_and_back(each: Unit) -> None:
    assert each.from_si(each.to_si(12.5)) == pytest.approx(12.5)


def test_a_word_has_no_unit() -> None:
    with pytest.raises(LookupError):
        unit_for(Kind.CHOICE)
