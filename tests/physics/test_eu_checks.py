"""Leak checks by tonnes of CO2 equivalent, Regulation (EU) 2024/573."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from expert.physics.frame.physics_errors import NotAvailable, PhysicsError
from expert.physics.leak_law.eu_checks import eu_gwp, leak_check


def test_the_potential_of_a_blend_is_the_sum_of_its_parts_by_the_annexes() -> None:
    # 24.3 x 675 + 24.7 x 3500 + 25.3 x 0.501 + 25.7 x 1430, per cent
    assert float(eu_gwp("R-449A")) == pytest.approx(1396.16, abs=0.01)
    assert eu_gwp("R-404A") == Fraction("3921.6")
    assert eu_gwp("R-744") == 1


@pytest.mark.parametrize(
    ("name", "kilograms", "months"),
    [
        ("R-404A", "1.2", None),  # 4.7 t
        ("R-404A", "1.3", 12),  # 5.1 t
        ("R-404A", "12.7", 12),  # 49.8 t
        ("R-404A", "12.8", 6),  # 50.2 t
        ("R-404A", "127", 6),  # 498 t
        ("R-404A", "128", 3),  # 502 t
        ("R-1234yf", "0.9", None),
        ("R-1234yf", "1", 12),
        ("R-1234yf", "10", 6),
        ("R-1234yf", "100", 3),
        ("R-744", "500", None),
        ("R-717", "500", None),
    ],
)
def test_the_interval_goes_by_tonnes_or_by_kilograms(
    name: str, kilograms: str, months: int | None
) -> None:
    assert leak_check(name, kilograms).months == months


def test_a_detection_system_doubles_the_interval_and_is_asked_for_from_500_tonnes() -> None:
    assert leak_check("R-404A", 128, detection=True).months == 6
    assert leak_check("R-404A", 128).detection_required
    assert not leak_check("R-404A", 127).detection_required
    assert leak_check("R-1234yf", 100).detection_required


def test_hermetically_sealed_equipment_is_not_checked_below_ten_tonnes() -> None:
    assert leak_check("R-404A", 2, sealed=True).months is None
    assert leak_check("R-404A", 3, sealed=True).months == 12
    assert leak_check("R-404A", 2).months == 12


def test_the_next_check_is_due_that_many_months_later() -> None:
    assert leak_check("R-404A", 128).due(date(2026, 11, 30)) == date(2027, 2, 28)


def test_an_ozone_depleting_substance_and_a_charge_of_nought_are_refused() -> None:
    with pytest.raises(NotAvailable, match="2024/590"):
        leak_check("R-22", 50)
    with pytest.raises(PhysicsError, match="above zero"):
        leak_check("R-404A", 0)
