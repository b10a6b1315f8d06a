"""Amounts are exact pounds, in whatever unit they were typed."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from expert.records.amounts import POUND, exact_pounds
from expert.units.kinds import Kind
from expert.units.parse import parse_measure


def pounds(text: str, system: str = "us") -> Fraction:
    return exact_pounds(text, parse_measure(text, Kind.MASS, system=system).value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12.5 lb", Fraction("12.5")), ("12.5lb", Fraction("12.5")), ("12,5 lb", Fraction("12.5")),
        ("0.1 lb", Fraction(1, 10)), ("8 oz", Fraction(1, 2)), ("5 kg", 5 / POUND),
        ("1/2 lb", Fraction(1, 2)), ("12 1/2 lb", Fraction("12.5")),
    ],
)  # fmt: skip
def test_the_number_is_the_one_that_was_typed(text: str, expected: Fraction) -> None:
    assert pounds(text) == expected


def test_a_bare_number_has_the_unit_of_the_job() -> None:
    assert pounds("5", "us") == 5
    assert pounds("5", "si") == 5 / POUND


def test_a_fifth_in_kilograms_is_exactly_a_fifth() -> None:
    assert pounds("22.7 kg") / pounds("113.5 kg") == Fraction(1, 5)


@given(st.decimals(min_value=Decimal("0.01"), max_value=9000, places=2))
def test_a_share_does_not_depend_on_the_unit(number: Decimal) -> None:
    in_pounds = pounds(f"{number} lb") / pounds("9000 lb")
    assert pounds(f"{number} kg") / pounds("9000 kg") == in_pounds == Fraction(number) / 9000
