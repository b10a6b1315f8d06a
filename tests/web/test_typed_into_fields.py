"""What is typed into the field of a number goes in with the unit beside it."""

from __future__ import annotations

import pytest

from expert.web.step_page import value_text


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("14.8", "14.8 bar"),
        ("14.8 by display", "14.8 bar by display"),
        ("14.8 at 11:42", "14.8 bar at 11:42"),
        ("215 psig by display", "215 psig by display"),
        ("215psig", "215psig"),
        ("", ""),
    ],
)
def test_its_way_and_its_time_stand_behind_the_unit(typed: str, kept: str) -> None:
    assert value_text(typed, unit="bar") == kept


def test_the_key_for_the_sign_counts_too() -> None:
    assert value_text("8 by display", minus=True, unit="F") == "-8 F by display"
