"""Leak rates in exact arithmetic: every check case of the rules, and what must be refused."""

from __future__ import annotations

import math
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from check_values import leak
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.leak_law.appliance import (
    Addition,
    Reason,
    addition,
    appliance,
    merged,
    needs_rate,
)
from expert.physics.leak_law.rate import (
    FORMULAS,
    LeakRate,
    Method,
    annualizing,
    leak_rate,
    rolling_average,
)
from expert.physics.leak_law.rules import Number, leak_rules
from expert.units.kinds import POUND

LIMIT = leak_rules().limit("commercial refrigeration")
FORMULA = {formula.name: formula for formula in FORMULAS}
DAY = 86400.0


def day(text: str) -> date:
    return date.fromisoformat(text)


def history(additions: dict[str, float]) -> list[Addition]:
    return [addition(day(on), str(pounds)) for on, pounds in additions.items()]


def rated(method: Method, follow_up: str | None = None) -> LeakRate:
    given_ = leak("G05")["inputs"]
    return leak_rate(
        appliance("R-449A", given_["full_charge_lb"]),
        history(given_["additions"]),
        day(given_["evaluate_on"]),
        method,
        day(follow_up) if follow_up else None,
    )


def test_the_trade_press_example_comes_out_by_365_days() -> None:
    case = leak("G01")
    rate = annualizing(case["inputs"]["added_lb"], 100, case["inputs"]["days"]) * 100
    assert float(rate) == pytest.approx(
        case["expected"]["annualizing_365_over_30_pct"], abs=case["tolerance"]
    )
    assert float(rate) != pytest.approx(case["expected"]["by_month_x12_pct"], abs=0.5)


def test_a_rack_over_its_limit_by_the_annualizing_method() -> None:
    case = leak("G02")
    given_, expected = case["inputs"], case["expected"]
    found = leak_rate(
        appliance("R-449A", given_["full_charge_lb"]),
        [addition(day(given_["last_addition"]), 40), addition(day(given_["addition"]), 95)],
        day(given_["addition"]),
        Method.ANNUALIZING,
    )
    assert found.days == expected["days"]
    assert float(found.percent) == pytest.approx(expected["leak_rate_pct"], abs=case["tolerance"])
    assert float(found.limit * 100) == expected["limit_pct"]
    assert found.over is expected["exceeds"]


def test_more_than_a_year_since_the_last_addition_counts_as_a_year() -> None:
    case = leak("G03")
    given_, expected = case["inputs"], case["expected"]
    rate = annualizing(
        given_["added_lb"], given_["full_charge_lb"], given_["days_since_last_addition"]
    )
    assert float(rate * 100) == pytest.approx(expected["leak_rate_pct"], abs=case["tolerance"])
    assert (rate > LIMIT) is expected["exceeds_20"]


def test_twenty_per_cent_is_not_over_twenty_per_cent() -> None:
    case = leak("G04")
    given_, expected = case["inputs"], case["expected"]
    rate = annualizing(str(given_["added_lb"]), given_["full_charge_lb"], given_["days"])
    assert rate == Fraction(1, 5)
    assert (rate > LIMIT) is expected["exceeds_20"]
    # The trap that this arithmetic avoids:
    assert 31.6 / 730 / (79 / 365) * 100 > 20


def test_a_result_at_the_limit_is_not_called_over() -> None:
    on = day("2026-09-01")
    found = leak_rate(
        appliance("R-449A", 730),
        [addition(on - timedelta(days=79), 1), addition(on, "31.6")],
        on,
        Method.ANNUALIZING,
    )
    assert found.rate == found.limit
    assert found.programmes
    assert not found.over


@pytest.mark.parametrize("number", ["31.6", 31.6, Decimal("31.6"), Fraction(158, 5)])
def test_a_number_counts_as_it_was_written_whatever_its_type(number: Number) -> None:
    assert annualizing(number, 730, 79) == Fraction(1, 5)


def test_a_hundredth_of_a_pound_more_is_over() -> None:
    assert annualizing("31.61", 730, 79) > LIMIT


def test_the_same_history_can_be_over_by_one_method_and_not_by_the_other() -> None:
    case = leak("G05")
    expected, within = case["expected"], case["tolerance"]
    rolling, yearly = rated(Method.ROLLING_AVERAGE), rated(Method.ANNUALIZING)
    assert float(rolling.percent) == pytest.approx(expected["rolling_average_pct"], abs=within)
    assert rolling.over is expected["rolling_exceeds_20"]
    assert yearly.days == expected["annualizing_days"]
    assert float(yearly.percent) == pytest.approx(expected["annualizing_pct"], abs=within)
    assert yearly.over is expected["annualizing_exceeds_20"]


def test_a_passed_follow_up_test_cuts_the_rolling_window_and_scales_nothing() -> None:
    case = leak("G06")
    found = rated(Method.ROLLING_AVERAGE, case["inputs"]["follow_up_passed"])
    assert float(found.percent) == pytest.approx(
        case["expected"]["rolling_average_pct"], abs=case["tolerance"]
    )
    assert found.over is case["expected"]["exceeds_20"]


@pytest.mark.parametrize(
    ("identity", "refrigerant", "use"),
    [
        ("G08", "R-134a", "comfort cooling"),
        ("G09", "R-507A", "industrial process refrigeration"),
    ],
)
def test_each_use_has_its_own_limit(identity: str, refrigerant: str, use: str) -> None:
    case = leak(identity)
    given_, expected = case["inputs"], case["expected"]
    on = day("2026-09-01")
    found = leak_rate(
        appliance(refrigerant, given_["full_charge_lb"], use),
        [
            addition(on - timedelta(days=given_["days"]), 1),
            addition(on, given_["added_lb"]),
        ],
        on,
        Method.ANNUALIZING,
    )
    assert float(found.percent) == pytest.approx(expected["leak_rate_pct"], abs=case["tolerance"])
    assert float(found.limit * 100) == expected["limit_pct"]
    assert found.over is expected["exceeds"]


def test_two_days_of_charging_for_one_leak_are_one_addition() -> None:
    case = leak("G10")
    given_, expected = case["inputs"], case["expected"]
    (first, one), (second, two) = given_["additions_same_leak"].items()
    additions = [
        addition(day(given_["previous_addition"]), 10),
        addition(day(first), one),
        addition(day(second), two, same_leak=True),
    ]
    found = leak_rate(
        appliance("R-449A", given_["full_charge_lb"]), additions, day(second), Method.ANNUALIZING
    )
    assert found.added == expected["added_lb"]
    assert found.days == expected["days"]
    assert float(found.percent) == pytest.approx(expected["leak_rate_pct"], abs=case["tolerance"])
    assert found.over is expected["exceeds_20"]


def test_additions_that_need_no_rate_are_told_from_those_that_do() -> None:
    case = leak("G18")
    spring, autumn = day("2026-04-10"), day("2026-10-20")
    lot = Fraction(60)
    found = [
        needs_rate(addition(autumn, 800, Reason.FIRST_CHARGE)),
        needs_rate(addition(autumn, 800, Reason.RETROFIT)),
        needs_rate(Addition(autumn, lot, Reason.SEASONAL, removed=lot, removed_on=spring)),
        needs_rate(addition(autumn, 20)),
    ]
    assert ["yes" if one else "no" for one in found] == case["expected"]


@pytest.mark.parametrize(
    ("removed", "removed_on"), [(50, "2026-04-10"), (60, "2025-04-10"), (60, None)]
)
def test_a_seasonal_addition_without_a_matching_removal_needs_a_rate(
    removed: int, removed_on: str | None
) -> None:
    one = Addition(
        day("2026-10-20"),
        Fraction(60),
        Reason.SEASONAL,
        removed=Fraction(removed),
        removed_on=day(removed_on) if removed_on else None,
    )
    assert needs_rate(one)


@pytest.mark.parametrize("number", range(4))
def test_bad_input_is_refused_and_not_computed(number: int) -> None:
    given_ = leak("G19")["inputs"][number]
    with pytest.raises(PhysicsError):
        if "days" in given_:
            annualizing(given_["added_lb"], given_["full_charge_lb"], given_["days"])
        else:
            leak_rate(
                appliance("R-449A", given_["full_charge_lb"]),
                [
                    addition(day(given_["last_addition"]), 10),
                    addition(day(given_["addition"]), given_["added_lb"]),
                ],
                day(given_["addition"]),
                Method.ANNUALIZING,
            )


def test_more_than_the_full_charge_is_computed_with_a_warning() -> None:
    given_ = leak("G19")["inputs"][4]
    on = day("2026-09-01")
    found = leak_rate(
        appliance("R-449A", given_["full_charge_lb"]),
        [addition(on - timedelta(days=given_["days"]), 1), addition(on, given_["added_lb"])],
        on,
        Method.ANNUALIZING,
    )
    assert found.over
    assert any("more" in note.lower() and "full charge" in note for note in found.notes)


def test_a_range_of_full_charge_counts_by_its_midpoint() -> None:
    case = leak("G20")
    low, high = case["inputs"]["range_lb"]
    unit = appliance("R-449A", (low, high))
    assert unit.full_charge == case["expected"]["full_charge_lb"]
    rate = annualizing(case["inputs"]["added_lb"], unit.full_charge, case["inputs"]["days"])
    assert float(rate * 100) == pytest.approx(
        case["expected"]["leak_rate_pct"], abs=case["tolerance"]
    )


def test_an_addition_with_no_known_one_before_it_is_refused_by_the_annualizing_method() -> None:
    with pytest.raises(PhysicsError, match="date of the addition before"):
        leak_rate(
            appliance("R-449A", 800),
            [addition(day("2026-05-01"), 20)],
            day("2026-05-01"),
            Method.ANNUALIZING,
        )


def test_a_day_without_an_addition_has_no_rate() -> None:
    with pytest.raises(PhysicsError, match="no addition on"):
        leak_rate(
            appliance("R-449A", 800),
            [addition(day("2026-05-01"), 20)],
            day("2026-05-02"),
            Method.ROLLING_AVERAGE,
        )


def test_a_first_charge_counts_as_the_day_before_and_not_as_a_leak() -> None:
    additions = [
        addition(day("2026-03-01"), 800, Reason.FIRST_CHARGE),
        addition(day("2026-05-12"), 32),
    ]
    yearly = leak_rate(appliance("R-449A", 800), additions, day("2026-05-12"), Method.ANNUALIZING)
    rolling = leak_rate(
        appliance("R-449A", 800), additions, day("2026-05-12"), Method.ROLLING_AVERAGE
    )
    assert yearly.days == 72
    assert rolling.added == 32


def test_an_appliance_outside_the_rules_is_never_called_over() -> None:
    additions = [addition(day("2026-03-01"), 20), addition(day("2026-03-11"), 100)]
    found = leak_rate(appliance("R-744", 300), additions, day("2026-03-11"), Method.ANNUALIZING)
    assert found.rate > found.limit
    assert not found.over
    assert any("No federal" in note for note in found.notes)


def test_each_result_says_that_the_regulation_and_local_rules_decide() -> None:
    found = rated(Method.ANNUALIZING)
    assert "regulation in force" in found.notice
    assert "local rules decide" in found.notice
    for formula in FORMULAS[:4]:
        assert "local rules decide" in formula.validity


def test_additions_of_one_day_are_put_together() -> None:
    found = merged([addition(day("2026-05-01"), 10), addition(day("2026-05-01"), "2.5")])
    assert [one.pounds for one in found] == [Fraction(25, 2)]


@given(
    st.decimals("0.1", "5000", places=1),
    st.decimals("15", "9000", places=1),
    st.integers(1, 900),
)
def test_the_rate_is_exact_and_the_cap_never_lowers_it_below_the_plain_share(
    added: Decimal, charge: Decimal, days: int
) -> None:
    rate = annualizing(added, charge, days)
    assert rate == Fraction(added) / Fraction(charge) * Fraction(365, min(days, 365))
    assert rate >= rolling_average(added, charge)


@given(st.decimals("0.01", "2000", places=2), st.decimals("50", "5000", places=2))
def test_a_rate_of_exactly_the_limit_is_never_over(share: Decimal, charge: Decimal) -> None:
    added = Fraction(charge) / 5
    assert not annualizing(added, charge, 365) > LIMIT
    assert annualizing(added + Fraction(share), charge, 365) > LIMIT


@given(
    st.decimals("0.1", "999", places=1),
    st.decimals("15", "9000", places=1),
    st.integers(1, 900),
)
def test_the_formula_in_kilograms_gives_the_float_next_to_the_exact_rate(
    added: Decimal, charge: Decimal, days: int
) -> None:
    found = FORMULA["leak_rate_annualizing"].compute(
        Context(),
        added=float(added) * POUND,
        full_charge=float(charge) * POUND,
        elapsed=days * DAY,
    )
    assert found == float(annualizing(added, charge, days))


def test_the_formula_does_not_call_twenty_per_cent_over() -> None:
    found = FORMULA["leak_rate_annualizing"].compute(
        Context(), added=31.6 * POUND, full_charge=730 * POUND, elapsed=79 * DAY
    )
    assert not found > 0.2


def test_the_climate_figure_is_mass_times_warming_potential() -> None:
    case = leak("G17")
    kilograms = case["inputs"]["added_lb"] * POUND
    assert kilograms == pytest.approx(case["expected"]["kg"], abs=0.001)
    found = FORMULA["addition_climate_figure"].compute(Context("R-449A"), added=kilograms)
    assert found / 1000 == pytest.approx(case["expected"]["tonnes_CO2e"], rel=0.005)


@pytest.mark.parametrize("elapsed", [0.0, DAY / 2, -DAY, math.nan])
def test_the_formula_refuses_less_than_a_day(elapsed: float) -> None:
    with pytest.raises(OutOfRange):
        FORMULA["leak_rate_annualizing"].compute(
            Context(), added=10.0, full_charge=100.0, elapsed=elapsed
        )


def test_the_leak_formulas_clash_with_no_other_formula() -> None:
    others = {name for name, one in CATALOG.items() if one not in FORMULAS}
    assert not others & FORMULA.keys()
