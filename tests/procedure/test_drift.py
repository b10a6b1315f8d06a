"""When a reading has drifted from the last one: only beyond what both instruments explain."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from expert.inference.evaluation_model import Reading
from expert.procedure.history import Drift, Earlier, drift
from expert.units.kinds import Kind
from expert.units.measure import Measure

AT = datetime(2026, 11, 1, tzinfo=UTC)
LAST = Measure(Kind.TEMPERATURE, 250.0, 3.0)


def _drift(new: Measure | str, old: Measure | str = LAST) -> Drift | None:
    return drift(Reading("coil", new, "as typed"), Earlier(AT, old, "A. Tech", "job"))


def _new(kelvin: float, plus_minus: float | None = 4.0) -> Measure:
    return Measure(Kind.TEMPERATURE, kelvin, plus_minus)


@pytest.mark.parametrize("by", [5.0, -5.0, 0.0])
def test_what_both_accuracies_just_explain_is_no_drift(by: float) -> None:
    assert _drift(_new(250.0 + by)) is None  # 3 and 4 come to 5


@pytest.mark.parametrize("by", [5.125, -5.125])
def test_what_lies_beyond_both_accuracies_is_drift(by: float) -> None:
    found = _drift(_new(250.0 + by))
    assert found is not None
    assert (found.by, found.within, found.last.job) == (by, 5.0, "job")


def test_without_an_accuracy_nothing_is_told() -> None:
    assert _drift(_new(300.0, None)) is None
    assert _drift(_new(300.0), Measure(Kind.TEMPERATURE, 250.0)) is None


def test_words_and_other_kinds_do_not_drift() -> None:
    assert _drift("open") is None
    assert _drift(_new(300.0), "open") is None
    assert _drift(Measure(Kind.GAUGE_PRESSURE, 300.0, 4.0)) is None
