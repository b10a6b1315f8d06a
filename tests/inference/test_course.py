"""Conditions over time: what a series of readings says, and what it does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from expert.errors import Place
from expert.inference.course import course_truth
from expert.inference.evaluation_model import Known, Reading
from expert.inference.kleene import Truth
from expert.knowledge.conditions import Course
from expert.knowledge.grammar import parse_condition
from expert.knowledge.model import Quantity
from expert.knowledge.source import Source
from expert.units.kinds import Kind
from expert.units.measure import Measure, difference_kind
from expert.units.parse import parse_measure

SOURCE = Source("from memory")
NUMBER = Quantity("coil", "coil", "circuit", Kind.TEMPERATURE, SOURCE)
OTHER = Quantity("gas", "gas", "rack", Kind.GAUGE_PRESSURE, SOURCE)
CHOICE = Quantity(
    "valve", "valve", "circuit", Kind.CHOICE, SOURCE, choices={"open": "", "shut": ""}
)


def course(text: str) -> Course:
    """A parsed condition with its measures in SI."""
    found = parse_condition(text, Place(""))
    assert isinstance(found, Course)
    return _resolved(found)


def _resolved(found: Course) -> Course:
    quantity = {"coil": NUMBER, "gas": OTHER, "valve": CHOICE}[found.quantity]
    kind = quantity.kind if found.verb == "reaches" else difference_kind(quantity.kind)
    return replace(
        found,
        value=parse_measure(found.amount, kind).value if found.amount else None,
        seconds=parse_measure(found.time, Kind.DURATION).value if found.time else None,
        before=_resolved(found.before) if found.before else None,
    )


def series(quantity: Quantity, *samples: str, spread: float = 0.0) -> Known:
    """Samples written '12 F at 4 min' or '12 F'."""
    readings = []
    for sample in samples:
        text, _, time = sample.partition(" at ")
        seconds = parse_measure(time, Kind.DURATION).value if time else None
        value: Measure | str = text
        if quantity.kind is not Kind.CHOICE:
            value = Measure(quantity.kind, parse_measure(text, quantity.kind).value, spread)
        readings.append(Reading(quantity.id, value, text, seconds=seconds))
    return Known(quantity, readings[-1].value, tuple(readings))


@pytest.mark.parametrize(
    ("text", "samples", "truth"),
    [
        ("coil rises", ["10 F", "20 F"], True),
        ("coil rises", ["20 F", "10 F"], False),
        ("coil rises by 10 F", ["10 F", "25 F", "12 F"], True),
        ("coil rises by 20 F", ["10 F", "25 F", "12 F"], False),
        ("coil falls by 10 F", ["10 F", "25 F", "12 F"], True),
        ("coil rises by 10 F", ["10 F"], None),
        ("coil rises by 10 F within 4 min", ["10 F at 0 min", "25 F at 8 min"], None),
        ("coil rises by 10 F within 4 min", ["10 F at 0 min", "25 F at 4 min"], True),
        ("coil rises by 10 F within 4 min", ["10 F", "25 F"], None),
        ("coil reaches 40 F", ["10 F", "41 F", "20 F"], True),
        ("coil reaches 40 F", ["10 F", "39 F"], False),
        ("coil reaches 0 F", ["30 F", "10 F", "-1 F"], True),
        ("coil reaches 40 F before 10 min", ["10 F at 2 min", "45 F at 8 min"], True),
        ("coil reaches 40 F before 10 min", ["10 F at 8 min", "20 F at 12 min"], False),
        ("coil reaches 40 F before 10 min", ["10 F at 8 min", "45 F at 12 min"], None),
        ("coil reaches 40 F before 10 min", ["10 F at 2 min", "20 F at 4 min"], None),
        ("coil holds within 2 F for 9 min", ["30 F at 0 min", "31 F at 9 min"], True),
        ("coil holds within 2 F for 9 min", ["30 F at 0 min", "9 F at 9 min"], False),
        ("coil holds within 2 F for 10 min", ["30 F at 0 min", "31 F at 6 min"], None),
        ("valve becomes open", ["shut", "open", "shut"], True),
        ("valve becomes open", ["shut", "shut"], False),
        ("valve becomes open before 2 min", ["shut at 1 min", "open at 2 min"], True),
        ("valve becomes open before 2 min", ["shut at 2 min", "open at 4 min"], False),
    ],
)  # fmt: skip
def test_what_a_series_says(text: str, samples: list[str], truth: Truth) -> None:
    condition = course(text)
    quantity = CHOICE if condition.quantity == "valve" else NUMBER
    assert course_truth(condition, {quantity.id: series(quantity, *samples)}) is truth


def test_nothing_read_is_unknown() -> None:
    assert course_truth(course("coil rises by 10 F"), {}) is None
    assert course_truth(course("coil reaches 10 F"), {}) is None


def test_a_change_within_the_instruments_error_is_unknown() -> None:
    known = {"coil": series(NUMBER, "10 F", "20 F", spread=2.0)}
    assert course_truth(course("coil rises by 10 F"), known) is None
    assert course_truth(course("coil rises by 3 F"), known) is True
    assert course_truth(course("coil rises by 30 F"), known) is False


@pytest.mark.parametrize(
    ("coil", "gas", "truth"),
    [
        (["10 F at 2 min", "45 F at 4 min"], ["50 psig at 4 min", "120 psig at 6 min"], True),
        (["10 F at 4 min", "45 F at 8 min"], ["50 psig at 2 min", "120 psig at 4 min"], False),
        (["10 F at 2 min", "45 F at 4 min"], ["50 psig at 2 min", "60 psig at 8 min"], True),
        (["10 F at 2 min", "20 F at 4 min"], ["50 psig at 2 min", "60 psig at 8 min"], None),
        (["10 F at 2 min", "45 F at 4 min"], ["50 psig at 2 min", "120 psig at 4 min"], None),
    ],
)
def test_which_of_two_comes_first(coil: list[str], gas: list[str], truth: Truth) -> None:
    known = {"coil": series(NUMBER, *coil), "gas": series(OTHER, *gas)}
    assert course_truth(course("coil reaches 40 F before gas reaches 100 psig"), known) is truth
