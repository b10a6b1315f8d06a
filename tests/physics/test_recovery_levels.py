"""The level to recover to before opening, by pressure class and charge (40 CFR 82.156, table 1)."""

from __future__ import annotations

import pytest

from expert.physics.frame.formula import Context
from expert.physics.leak_law.recovery import pressure_class, recovery_level
from expert.units.kinds import INHG, POUND, Kind
from expert.units.measure import format_value


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "inches"),
    [
        ("R-449A", 60, 0), ("R-449A", 199, 0), ("R-449A", 200, 10), ("R-404A", 1000, 10),
        ("R-407A", 250, 10), ("R-22", 20, 0), ("R-22", 400, 10), ("R-454C", 250, 10),
        ("R-134a", 60, 10), ("R-134a", 200, 15), ("R-513A", 300, 15), ("R-744", 620, 0),
    ],
)  # fmt: skip
def test_the_level_follows_refrigerant_and_charge(
    refrigerant: str, pounds: float, inches: float
) -> None:
    level = recovery_level(Context(refrigerant), pounds * POUND)
    assert level == pytest.approx(-inches * INHG)
    shown = format_value(Kind.GAUGE_PRESSURE, level)
    assert shown == (f"{inches:.1f} inHg vac" if inches else "0.0 psig")


@pytest.mark.parametrize(
    ("refrigerant", "named"),
    [
        ("R-744", "very high pressure"), ("R-410A", "high pressure"), ("R-449A", "high pressure"),
        ("R-134a", "medium pressure"),
    ],
)  # fmt: skip
def test_the_class_is_that_of_the_saturated_liquid_at_104_f(refrigerant: str, named: str) -> None:
    assert pressure_class(refrigerant).id == named
