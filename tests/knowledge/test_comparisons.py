"""Comparisons are checked at load: one kind, positions with positions, differences apart."""

from __future__ import annotations

import pytest
from tiny_rulebase import LoadTiny

from expert.errors import PackError
from expert.knowledge.conditions import Compare

PSI = 6894.757293168
MORE = """\
  - {id: absolute, title: absolute pressure, subject: rack, kind: absolute_pressure,
     source: from memory}
  - {id: other_temperature, title: other temperature, subject: rack, kind: temperature,
     source: from memory}
  - {id: level, title: level, subject: rack, kind: share, source: from memory}
derived:
"""


def comparison(load_tiny: LoadTiny, text: str) -> Compare:
    base = load_tiny("derived:\n", MORE, "[clearing_time is high]", f"['{text}']")
    (condition,) = base.rules["slow-by-the-clock"].when
    assert isinstance(condition, Compare)
    return condition


@pytest.mark.parametrize(
    ("text", "measure"),
    [
        ("upper_pressure > lower_pressure + 3 psi", -3 * PSI),
        ("upper_pressure - 3 psi > lower_pressure", -3 * PSI),
        ("upper_pressure > 30 psig", -30 * PSI),
        ("30 psig < upper_pressure", 30 * PSI),
        ("upper_pressure - lower_pressure > 3 psi", -3 * PSI),
        ("differential > 3 psi", -3 * PSI),
        ("differential + 3 psi > upper_pressure - lower_pressure", 3 * PSI),
        ("line_temperature > 50 F", -(273.15 + 10.0)),
        ("line_temperature > -4 F", -(273.15 - 20.0)),
        ("line_temperature > setting - 18 F", 10.0),
        ("line_temperature - setting > 18 F", -10.0),
        ("line_temperature - setting > -18 F", 10.0),
        ("rise < 18 F", -10.0),
        ("line_temperature > other_temperature + 10 K", -10.0),
        ("clearing_time > 5 min", -300.0),
        ("clearing_time > clearing_time + 5 min", -300.0),
        ("level > 40 %", -0.4),
        ("absolute > 44.7 psia", -44.7 * PSI),
    ],
)
def test_a_measure_is_a_position_or_a_difference_as_its_place_in_the_sum_says(
    load_tiny: LoadTiny, text: str, measure: float
) -> None:
    compare = comparison(load_tiny, text)
    total = sum(term.factor * term.value for term in compare.terms if not term.quantity)
    assert total == pytest.approx(measure)


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        ("upper_pressure > line_temperature", "not-comparable", "gauge pressure and temperature"),
        ("upper_pressure > absolute", "not-comparable", "absolute pressure and gauge pressure"),
        ("upper_pressure - absolute > 3 psi", "not-comparable", "absolute pressure and gauge"),
        ("upper_pressure > differential", "not-comparable", "a position with a difference"),
        ("differential > 3 psi + upper_pressure", "not-comparable", "a position with a difference"),
        ("upper_pressure + lower_pressure > 3 psig", "not-comparable", "a position"),
        ("valve > 3 psi", "not-comparable", "compares choice"),
        ("remark > 3 psi", "not-comparable", "compares text"),
        ("3 psi > 2 psi", "compares-nothing", "no quantity"),
        ("upper_pressure > 3 F", "not-a-measure", "unit of temperature"),
        ("upper_pressure > 40 psia", "not-a-measure", "barometer"),
        ("line_temperature - setting > 5 psi", "not-a-measure", "temperature difference"),
        ("upper_pressure > 30", "no-unit", "'30 psig'"),
        ("uper_pressure > 30 psig", "unknown-quantity", "'upper_pressure'"),
        ("slow > 30 psig", "unknown-quantity", "is not a known quantity"),
    ],
)
def test_what_cannot_be_compared_is_refused(
    load_tiny: LoadTiny, text: str, code: str, says: str
) -> None:
    with pytest.raises(PackError) as refused:
        comparison(load_tiny, text)
    (problem,) = refused.value.problems
    assert problem.code == code
    assert says in f"{problem.message} {problem.hint}"
    assert text.split()[0] in problem.excerpt()
