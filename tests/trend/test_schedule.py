"""Missed and extra defrosts, and what a gap may hide."""

from __future__ import annotations

from expert.trend.schedule import DAY, held_against


def kept(starts: list[float], gaps: list[tuple[float, float]], per_day: float | None = 2 / DAY):  # type: ignore[no-untyped-def]
    return held_against(starts, per_day, 0, 10 * DAY, gaps, 1.5, 4)


EVERY = [DAY * (0.25 + n / 2) for n in range(20)]


def test_a_kept_schedule_misses_nothing() -> None:
    found = kept(EVERY, [])
    assert found.missed == ()
    assert found.against == 1


def test_one_that_is_not_there_is_missed_unless_a_gap_may_hide_it() -> None:
    without = EVERY[:7] + EVERY[8:]
    assert kept(without, []).missed == (EVERY[7],)
    hidden = kept(without, [(EVERY[7] - 600, EVERY[7] + 600)])
    assert hidden.missed == ()
    assert hidden.hidden == 1
    assert kept(without, [(EVERY[7] - 4 * 3600, EVERY[7] - 3 * 3600)]).missed == (EVERY[7],)


def test_a_log_without_any_defrost_misses_all() -> None:
    assert len(kept([], []).missed) >= 18


def test_without_a_schedule_the_usual_distance_stands_in_and_extra_ones_stay_unknown() -> None:
    found = kept(EVERY[:7] + EVERY[8:], [], None)
    assert found.missed == (EVERY[7],)
    assert found.against is None


def test_twice_the_schedule() -> None:
    assert kept([DAY * (0.1 + n / 4) for n in range(40)], []).against == 2
