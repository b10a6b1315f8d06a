"""What a person types for a quantity is taken, refused in a way that helps, or asked again."""

from __future__ import annotations

from contextlib import suppress

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.errors import ReadingError
from expert.knowledge import judge
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.source import Source
from expert.units.kinds import ATMOSPHERE, Kind
from expert.units.measure import Measure

PSI = 6894.757293168
VALVE = Quantity(
    "valve", "valve", "circuit", Kind.CHOICE, Source("from memory"),
    choices={"open": "", "shut": "", "half open": "", "shut by hand": ""},
)  # fmt: skip


def number(text: str, tiny: Rulebase, system: str = "us") -> Measure:
    quantity = tiny.quantities["upper_pressure"]
    return judge.number(text, quantity, barometer=ATMOSPHERE, system=system)


def test_a_number_has_the_accuracy_of_its_usual_instrument(tiny: Rulebase) -> None:
    assert number("215", tiny).plus_minus == pytest.approx(PSI)


def test_a_bare_number_is_in_the_unit_that_is_shown(tiny: Rulebase) -> None:
    assert number("15", tiny, "si").value == pytest.approx(15e5)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("700 psig", "cannot be: it is above 600.0 psig. Accepted: 0.0 psig to 600.0 psig"),
        ("-5 psig", "cannot be: it is below 0.0 psig"),
        ("abc", "is not a number"),
        ("abc", "Accepted: 0.0 psig to 600.0 psig"),
        ("", "Nothing was typed"),
        ("n/a", "skip it with a reason"),
        ("N.A.", "is no answer"),
        ("unknown", "is no answer"),
        ("?", "is no answer"),
    ],
)
def test_a_refusal_says_what_is_accepted(typed: str, says: str, tiny: Rulebase) -> None:
    with pytest.raises(ReadingError) as refused:
        number(typed, tiny)
    assert says in str(refused.value)


def test_the_edges_of_what_is_refused_are_accepted(tiny: Rulebase) -> None:
    assert number("0 psig", tiny).value == 0.0
    assert number("600 psig", tiny).value == pytest.approx(600 * PSI)


@pytest.mark.parametrize(("psig", "asked"), [(79, True), (80, False), (350, False), (351, True)])
def test_an_unusual_value_is_asked_again(tiny: Rulebase, psig: float, asked: bool) -> None:
    measure = Measure(Kind.GAUGE_PRESSURE, psig * PSI)
    question = judge.unusual(measure, tiny.quantities["upper_pressure"], "us")
    assert bool(question) == asked
    assert not asked or "usual is 80.0 psig to 350.0 psig" in question


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("open", "open"), ("OPEN ", "open"), ("o", "open"), ("half", "half open"),
        ("half-open", "half open"), ("1", "open"), ("3", "half open"), ("shut", "shut"),
        ("shut b", "shut by hand"),
    ],
)  # fmt: skip
def test_a_choice_is_meant_by_its_words_their_beginning_or_its_number(
    typed: str, meant: str
) -> None:
    assert judge.choice(typed, VALVE) == meant


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Nothing was typed. Choose: 1 open, 2 shut, 3 half open, 4 shut by hand."),
        ("s", "could be shut or shut by hand"),
        ("opn", "Did you mean 'open'"),
        ("0", "There is no choice 0"),
        ("5", "There is no choice 5"),
        ("9" * 5000, "none of the choices"),
        ("not open", "none of the choices"),
        ("unknown", "is no answer"),
        ("-", "Nothing was typed"),
    ],
)
def test_what_is_no_choice_is_refused_with_the_choices(typed: str, says: str) -> None:
    with pytest.raises(ReadingError) as refused:
        judge.choice(typed, VALVE)
    assert says in str(refused.value)
    assert "1 open" in str(refused.value)


@given(st.text(max_size=20))
@settings(max_examples=examples(300), deadline=None)
def test_no_text_becomes_a_choice_that_is_not_there(text: str) -> None:
    with suppress(ReadingError):
        assert judge.choice(text, VALVE) in VALVE.choices


@pytest.mark.parametrize(
    ("text", "value", "seconds"),
    [
        ("12 F at 4 min", "12 F", 240.0),
        ("12 F", "12 F", None),
        ("still running at 2:30", "still running", 150.0),
        ("ice at the inlet", "ice at the inlet", None),
        ("at 4 min", "at 4 min", None),
        ("frost at one end at 6 min", "frost at one end", 360.0),
    ],
)
def test_a_time_on_the_clock_is_split_from_a_reading_and_words_are_left_alone(
    text: str, value: str, seconds: float | None
) -> None:
    assert judge.split_time(text) == (value, seconds)


@pytest.mark.parametrize("text", ["", "  ", "na", "xy", "n/a"])
def test_a_reason_must_say_something(text: str) -> None:
    with pytest.raises(ReadingError):
        judge.reason(text)


@pytest.mark.parametrize(
    ("text", "yes"), [("yes", True), ("Y", True), ("no", False), (" n ", False)]
)
def test_yes_and_no_are_understood(text: str, yes: bool) -> None:
    assert judge.yes_or_no(text) is yes


@pytest.mark.parametrize("text", ["", "maybe", "1", "ok"])
def test_nothing_else_is_a_yes(text: str) -> None:
    with pytest.raises(ReadingError):
        judge.yes_or_no(text)


@pytest.mark.parametrize("typed", ["-2", "- 2"])
def test_a_number_below_zero_is_a_reading_and_no_number_of_the_list(typed: str) -> None:
    with pytest.raises(ReadingError, match="is none of the choices"):
        judge.choice(typed, VALVE)
