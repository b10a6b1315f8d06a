"""What a person types becomes a measure in SI, or a refusal that says what is accepted."""

from __future__ import annotations

import math

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.errors import ReadingError
from expert.physics.air.barometer import barometer
from expert.units.kinds import ATMOSPHERE, SYSTEMS, UNITS, Kind, unit_for
from expert.units.measure import difference_kind, format_value, shown_unit
from expert.units.parse import accepted, parse_measure

NUMBERS = [kind for kind in Kind if kind not in (Kind.CHOICE, Kind.TEXT)]
DENVER = barometer(1609.344)


@pytest.mark.parametrize(
    ("typed", "kind", "si"),
    [
        ("215", Kind.GAUGE_PRESSURE, 215 * 6894.757),
        ("215 psig", Kind.GAUGE_PRESSURE, 215 * 6894.757),
        ("14.8 bar", Kind.GAUGE_PRESSURE, 14.8e5),
        ("-8F", Kind.TEMPERATURE, 273.15 - 22.2222222),
        ("-22 C", Kind.TEMPERATURE, 251.15),
        ("\N{MINUS SIGN}22 °C", Kind.TEMPERATURE, 251.15),
        ("24 min", Kind.DURATION, 1440.0),
        ("12:30", Kind.DURATION, 750.0),
        ("1:02:30", Kind.DURATION, 3750.0),
        ("40%", Kind.SHARE, 0.4),
        ("15 inHg vac", Kind.GAUGE_PRESSURE, -15 * 3386.389),
        ("5280 ft", Kind.LENGTH, 1609.344),
        ("1 1/2 in", Kind.LENGTH, 0.0381),
        ("-1/2 F", Kind.TEMPERATURE_DIFFERENCE, -0.5 * 5 / 9),
        ("10 F", Kind.TEMPERATURE_DIFFERENCE, 10 * 5 / 9),
        ("1,5 bar", Kind.GAUGE_PRESSURE, 1.5e5),
        ("12 PSI", Kind.PRESSURE_DIFFERENCE, 12 * 6894.757),
    ],
)
def test_the_usual_ways_of_typing_a_reading_are_understood(
    typed: str, kind: Kind, si: float
) -> None:
    # Factors: NIST SP 811 (2008), appendix B.8.
    assert parse_measure(typed, kind).value == pytest.approx(si, rel=1e-6)


def test_a_bare_number_takes_the_unit_of_the_system() -> None:
    assert parse_measure("10", Kind.TEMPERATURE, system="si").value == pytest.approx(283.15)
    assert parse_measure("50", Kind.TEMPERATURE, system="us").value == pytest.approx(283.15)


def test_a_temperature_difference_has_no_zero_point() -> None:
    difference = parse_measure("18 F", Kind.TEMPERATURE_DIFFERENCE)
    assert difference.value == pytest.approx(10.0)
    assert parse_measure("18 F", Kind.TEMPERATURE).value == pytest.approx(265.372, abs=1e-3)


def test_an_absolute_pressure_is_turned_into_gauge_by_the_barometer_of_the_site() -> None:
    read = parse_measure("44.7 psia", Kind.GAUGE_PRESSURE, barometer=DENVER)
    assert read.value == pytest.approx(44.7 * 6894.757 - DENVER, rel=1e-6)
    back = parse_measure("30 psig", Kind.ABSOLUTE_PRESSURE, barometer=ATMOSPHERE)
    assert back.value == pytest.approx(30 * 6894.757 + ATMOSPHERE, rel=1e-6)


@pytest.mark.parametrize("kind", [Kind.GAUGE_PRESSURE, Kind.ABSOLUTE_PRESSURE])
def test_gauge_and_absolute_are_not_mixed_where_the_barometer_is_not_known(kind: Kind) -> None:
    typed = "44.7 psia" if kind is Kind.GAUGE_PRESSURE else "30 psig"
    with pytest.raises(ReadingError, match="barometer"):
        parse_measure(typed, kind)


@pytest.mark.parametrize(
    ("typed", "kind", "says"),
    [
        ("", Kind.GAUGE_PRESSURE, "Nothing was typed"),
        ("   ", Kind.DURATION, "Nothing was typed"),
        ("abc", Kind.GAUGE_PRESSURE, "is not a number"),
        ("1.5.2 psi", Kind.PRESSURE_DIFFERENCE, "is not a number"),
        ("1e5 psi", Kind.PRESSURE_DIFFERENCE, "unit 'e5 psi' is not known"),
        ("nan", Kind.TEMPERATURE, "is not a number"),
        ("12 psigg", Kind.GAUGE_PRESSURE, "Did you mean 'psig'"),
        ("12 F", Kind.GAUGE_PRESSURE, "F is a unit of temperature"),
        ("12 psig", Kind.TEMPERATURE, "here a temperature is wanted"),
        ("1,500 psig", Kind.GAUGE_PRESSURE, "decimal or a thousands mark"),
        ("1/0 psi", Kind.PRESSURE_DIFFERENCE, "divides by zero"),
        ("-500 F", Kind.TEMPERATURE, "absolute zero"),
        ("-1 psia", Kind.ABSOLUTE_PRESSURE, "perfect vacuum"),
        ("12:75", Kind.DURATION, "':75' is not known"),
        ("1:75:00", Kind.DURATION, "is not known"),
        ("9" * 5000, Kind.GAUGE_PRESSURE, "too long"),
        ("1/" + "9" * 5000, Kind.LENGTH, "too long"),
        ("9" * 5000 + ":00", Kind.DURATION, "too long"),
    ],
)
def test_a_refusal_says_what_was_wrong_and_what_is_accepted(
    typed: str, kind: Kind, says: str
) -> None:
    with pytest.raises(ReadingError) as refused:
        parse_measure(typed, kind)
    assert says in str(refused.value)
    assert accepted(kind) in str(refused.value)


def test_a_vacuum_deeper_than_the_barometer_is_refused() -> None:
    assert parse_measure("24 inHg vac", Kind.GAUGE_PRESSURE, barometer=DENVER).value < 0
    with pytest.raises(ReadingError, match="perfect vacuum at this altitude"):
        parse_measure("29 inHg vac", Kind.GAUGE_PRESSURE, barometer=DENVER)


def test_a_bare_number_of_a_vacuum_that_is_kept_absolute_is_what_its_gauge_shows() -> None:
    bare = parse_measure("24", Kind.ABSOLUTE_PRESSURE, barometer=DENVER, unit="inHg vac")
    typed = parse_measure("24 inHg vac", Kind.ABSOLUTE_PRESSURE, barometer=DENVER)
    assert bare == typed


@given(st.text(max_size=40), st.sampled_from(NUMBERS), st.sampled_from(SYSTEMS))
@settings(max_examples=examples(500), deadline=None)
def test_no_text_at_all_ends_in_anything_but_a_measure_or_a_refusal(
    text: str, kind: Kind, system: str
) -> None:
    try:
        read = parse_measure(text, kind, barometer=ATMOSPHERE, system=system)
    except ReadingError as refused:
        assert accepted(kind, system) in str(refused)
    else:
        assert read.kind is kind
        assert math.isfinite(read.value)


TYPED = st.builds(
    "{}{}{}".format,
    st.from_regex(r"[-+]?[0-9 ]{0,70}[.,:/]?[0-9]{0,70}", fullmatch=True),
    st.sampled_from(["", " ", "  "]),
    st.one_of(
        st.sampled_from([name for unit in UNITS for name in unit.names]), st.text(max_size=5)
    ),
)


@given(TYPED, st.sampled_from(NUMBERS))
@settings(max_examples=examples(500), deadline=None)
def test_nothing_that_looks_like_a_number_with_a_unit_ends_in_a_bare_exception(
    text: str, kind: Kind
) -> None:
    try:
        assert math.isfinite(parse_measure(text, kind, barometer=ATMOSPHERE).value)
    except ReadingError as refused:
        assert accepted(kind) in str(refused)


@given(
    st.sampled_from([unit for unit in UNITS if unit.kind in NUMBERS]),
    st.floats(0, 9999).map(lambda number: round(number, 3)),
    st.data(),
)
@settings(max_examples=examples(500), deadline=None)
def test_every_name_of_every_unit_is_read_as_that_unit(
    unit: object, number: float, data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(unit.names))  # type: ignore[attr-defined]
    kind, si = unit.kind, unit.to_si(number)  # type: ignore[attr-defined]
    if kind is Kind.GAUGE_PRESSURE and si < -ATMOSPHERE:
        return
    read = parse_measure(f"{number} {name}".strip(), kind, barometer=ATMOSPHERE)
    first = next(u for u in UNITS if u.kind is kind and name.lower() in _lower(u.names))
    assert read.value == pytest.approx(first.to_si(number), rel=1e-9, abs=1e-12)
    assert first is unit


def _lower(names: tuple[str, ...]) -> list[str]:
    return [name.lower() for name in names]


@given(st.sampled_from(NUMBERS), st.sampled_from(SYSTEMS), st.floats(-0.99, 1), st.integers(0, 4))
@settings(max_examples=examples(800), deadline=None)
def test_a_shown_value_is_read_back_as_the_same_value(
    kind: Kind, system: str, position: float, magnitude: int
) -> None:
    value = unit_for(kind, system).to_si(position * 10**magnitude)
    if kind in (Kind.TEMPERATURE, Kind.ABSOLUTE_PRESSURE) and value < 0:
        return
    if kind is Kind.GAUGE_PRESSURE and value < -ATMOSPHERE:
        return
    shown = format_value(kind, value, system)
    read = parse_measure(shown, kind, barometer=ATMOSPHERE, system=system)
    unit = shown_unit(kind, value, system)
    half_a_digit = 0.5000001 * 10**-unit.digits * abs(unit.factor)
    assert abs(read.value - value) <= half_a_digit + 1e-9 * abs(value)
    assert format_value(kind, read.value, system) == shown


@given(st.sampled_from(NUMBERS), st.sampled_from(SYSTEMS))
def test_a_difference_of_two_values_has_its_own_kind_without_a_zero_point(
    kind: Kind, system: str
) -> None:
    assert unit_for(difference_kind(kind), system).offset == 0.0
