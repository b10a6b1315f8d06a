"""The log of a system: rates worked out by hand, unknown without a charge, any order of entry.

Rates: 40 CFR 82.152 and 84.102 through `physics/leak_law/rate.py`; charges and days invented.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_made import happening, movement, system

from expert.physics.leak_law.rate import Method
from expert.records.ledger import NO_CHARGE, build
from expert.records.record_roles import ADDED, FULL_CHARGE, RECOVERED, REPAIR, record_roles

FIRST = movement("2026-01-05", 600, reason="first charge")


def log(*moved: object, charge: object = 600, methods: tuple = (Method.ANNUALIZING,), after=()):
    return build(system(charge, methods), moved, after, record_roles())  # type: ignore[arg-type]


def test_the_rate_by_the_annualizing_method() -> None:
    # 62 lb of 600 lb, 120 days from January 5 to May 5: 62 / 600 x 365 / 120
    line = log(FIRST, movement("2026-05-05", 62)).lines[-1]
    assert [rate.rate for rate in line.rates] == [Fraction(62, 600) * Fraction(365, 120)]
    assert line.over and line.asked


def test_the_rate_by_the_rolling_average() -> None:
    # 50 + 71 lb within 365 days of 600 lb
    found = log(
        movement("2026-02-01", 50), movement("2026-12-01", 71), methods=(Method.ROLLING_AVERAGE,)
    )
    assert found.lines[-1].rates[0].rate == Fraction(121, 600)
    assert found.lines[-1].over


def test_exactly_the_limit_is_not_over_it() -> None:
    exactly = log(movement("2026-02-01", 120), methods=(Method.ROLLING_AVERAGE,)).lines[0]
    more = log(movement("2026-02-01", "120.01"), methods=(Method.ROLLING_AVERAGE,)).lines[0]
    assert (exactly.rates[0].percent, exactly.over, more.over) == (20, False, True)


def test_a_first_charge_asks_for_no_rate() -> None:
    (line,) = log(FIRST).lines
    assert (line.rates, line.over, line.asked) == ((), False, False)
    assert "No leak rate is asked for" in line.unknown[0]


def test_without_a_full_charge_the_rate_is_unknown_and_never_nought() -> None:
    found = log(movement("2026-05-05", 62), charge=None)
    assert found.lines[0].rates == ()
    assert NO_CHARGE in found.lines[0].unknown[0]
    assert any(NO_CHARGE in note for note in found.notes)
    assert found.year(2026) is None


def test_without_an_earlier_addition_the_annualized_rate_is_unknown() -> None:
    (line,) = log(movement("2026-05-05", 62)).lines
    assert line.rates == ()
    assert "before this one is not known" in line.unknown[0]


def test_a_corrected_full_charge_counts_from_its_day_on() -> None:
    found = log(
        FIRST, movement("2026-03-01", 700, FULL_CHARGE, "measured"),
        movement("2026-02-01", 20), movement("2026-04-01", 20),
    )  # fmt: skip
    by_day = {str(line.movement.day): line for line in found.lines}
    before, after = by_day["2026-02-01"].charge, by_day["2026-04-01"].charge
    assert before is not None and (before.pounds, before.how) == (600, "site file")
    assert after is not None and (after.pounds, after.how) == (700, "measured")
    assert by_day["2026-04-01"].rates[0].full_charge == 700


def test_where_the_site_names_no_method_both_are_worked_out_and_it_is_said() -> None:
    found = log(FIRST, movement("2026-05-05", 62), methods=tuple(Method))
    assert {rate.method for rate in found.lines[-1].rates} == set(Method)
    assert any("names no leak rate method" in note for note in found.notes)


def test_what_was_recovered_is_no_addition() -> None:
    found = log(FIRST, movement("2026-02-01", 500, RECOVERED), movement("2026-05-05", 62))
    assert found.lines[1].rates == ()
    assert found.lines[-1].rates[0].days == 120


def test_a_seasonal_addition_that_puts_back_what_was_taken_out_asks_for_no_rate() -> None:
    out = movement("2026-04-01", 40, RECOVERED, "seasonal")
    back = movement("2026-10-01", 40, reason="seasonal")
    more = movement("2026-10-01", 41, reason="seasonal")
    late = movement("2027-05-01", 40, reason="seasonal")
    again = movement("2026-11-01", 10, reason="seasonal")
    assert not log(FIRST, out, back).lines[-1].asked
    assert log(FIRST, out, more).lines[-1].asked
    assert log(FIRST, out, late).lines[-1].asked
    assert log(FIRST, back).lines[-1].asked
    assert log(FIRST, out, back, again).lines[-1].asked  # nothing of it is left


def test_what_followed_within_how_many_days() -> None:
    after = (happening("2026-05-20", REPAIR), happening("2026-05-08", REPAIR))
    line = log(FIRST, movement("2026-05-05", 62), after=after).lines[-1]
    assert line.followed == ((REPAIR, 3),)


@pytest.mark.parametrize("year, share", [(2026, 125), (2025, None)])
def test_the_share_of_a_calendar_year_leaves_the_first_charge_out(
    year: int, share: int | None
) -> None:
    found = log(FIRST, movement("2026-05-05", 400), movement("2026-09-05", 350)).year(year)
    assert (found and found.percent) == share
    assert (found is not None and found.report) == (share == 125)


AMOUNTS = st.lists(
    st.tuples(
        st.integers(1, 28), st.integers(1, 12), st.integers(1, 900),
        st.sampled_from((ADDED, RECOVERED)), st.sampled_from(("found low", "seasonal")),
    ),
    min_size=1, max_size=8,
)  # fmt: skip


@given(AMOUNTS, st.randoms())
def test_the_order_of_entry_does_not_matter(amounts: list, chance: object) -> None:
    moved = [
        movement(f"2026-{month:02d}-{day:02d}", pounds, kind, reason, job=f"job-{number}")
        for number, (day, month, pounds, kind, reason) in enumerate(amounts)
    ]
    mixed = list(moved)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert log(*mixed, methods=tuple(Method)) == log(*moved, methods=tuple(Method))
