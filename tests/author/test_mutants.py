"""Small wrong changes, one at a time."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from expert.author.mutation.mutants import Mutant, mutants
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]
RULE = """\
  - id: more
    when: [{when}]
    applies: {{defrost: hot gas}}
    evidence_for: {{set-low: weak}}
    because: So it is.
    source: from memory
"""


def of_rule(base: Rulebase, name: str) -> list[Mutant]:
    return [each for each in mutants(base) if each.rule is not None and each.rule.id == name]


def kinds(base: Rulebase, when: str) -> set[tuple[str, str]]:
    return {(each.kind, each.what) for each in of_rule(base, "more")} if when else set()


def test_every_mutant_differs_from_what_it_was_made_of(shipped_rulebase: Rulebase) -> None:
    limits = {limit.id: limit for limit in shipped_rulebase.limits}
    for each in mutants(shipped_rulebase):
        if each.rule is not None:
            assert each.rule != shipped_rulebase.rules[each.rule.id], each
        elif each.limit is not None:
            assert each.limit != limits[each.limit.id], each


def test_every_mutant_has_a_place_in_a_file(shipped_rulebase: Rulebase) -> None:
    assert all(each.place.line for each in mutants(shipped_rulebase))


@pytest.mark.parametrize(
    ("when", "kind", "what"),
    [
        ("rise is low", "condition dropped", "'rise is low' dropped"),
        ("rise is low", "negation", "'rise is not low' for 'rise is low'"),
        ("not slow", "negation", "'slow' for 'not slow'"),
        ("differential < 8 psi", "comparison", "'differential > 8 psi' for 'differential < 8 psi'"),
        ("differential < 8 psi", "number moved", "'differential < 8 psi (number higher)'"),
        ("upper_pressure > lower_pressure", "number moved",
         "'upper_pressure > lower_pressure and a little less'"),
        ("{any: [rise is low, slow]}", "count", "at least 2 of 2, not 1"),
        ("{any: [rise is low, slow]}", "condition dropped", "'slow' dropped"),
        ("{all: [rise is low, slow]}", "count", "at least 1 of 2, not 2"),
        ("line_temperature rises by 5 F", "comparison",
         "'line_temperature rises by 5 F (falls instead)'"),
        ("line_temperature reaches 50 F before 9 min", "number moved",
         "'line_temperature reaches 50 F before 9 min (time halved)'"),
        ("valve becomes open", "negation", "'valve becomes open (shut instead)'"),
        ("{as found: [rise is low]}", "stage", "'as left' for 'as found'"),
        ("{most circuits: [rise is low]}", "count", "'every circuit' for 'most circuits'"),
        ("{at least 2 circuits: [rise is low]}", "count",
         "'at least 3 circuits' for 'at least 2 circuits'"),
        ("{no circuit: [rise is low]}", "negation", "'rise is not low' for 'rise is low'"),
        ("rise is low", "applies dropped", "applies whatever its defrost"),
        ("rise is low", "evidence dropped", "says nothing for 'set-low'"),
        ("rise is low", "evidence turned", "speaks the other way than for 'set-low'"),
        ("rise is low", "strength", "strong for 'set-low', not weak"),
    ],
)  # fmt: skip
def test_a_rule_is_changed_in_every_part(
    with_rules: LoadTiny, when: str, kind: str, what: str
) -> None:
    assert (kind, what) in kinds(with_rules(RULE.format(when=when)), when)


def test_dropping_one_of_all_asks_for_one_less(with_rules: LoadTiny) -> None:
    base = with_rules(RULE.format(when="{all: [rise is low, slow, valve is open]}"))
    dropped = [m for m in of_rule(base, "more") if m.what == "'slow' dropped"]
    (group,) = dropped[0].rule.when  # type: ignore[union-attr]
    assert str(group) == "all of (rise is low; valve is open)"


def test_an_exception_is_dropped_and_turned(tiny: Rulebase) -> None:
    found = {(m.kind, m.what) for m in of_rule(tiny, "slow-by-the-clock")}
    assert ("exception dropped", "unless: 'valve is half open' dropped") in found
    assert ("conclusion dropped", "no longer concludes 'slow'") in found


def limit_mutants(base: Rulebase, name: str) -> dict[str, Mutant]:
    return {m.what: m for m in mutants(base) if m.limit is not None and m.limit.id == name}


def test_only_edges_at_which_rules_look_are_moved(tiny: Rulebase) -> None:
    found = limit_mutants(tiny, "differential-limit")
    assert {what.partition(" edge")[0] for what in found if "edge" in what} == {"low"}


def test_an_edge_is_moved_by_three_accuracies_or_a_quarter_of_the_band(tiny: Rulebase) -> None:
    found = limit_mutants(tiny, "differential-limit")  # 15 to 20 psi, plus/minus 1.4 psi
    assert "low edge at 10.8 psi, not 15.0 psi" in found
    assert "low edge at 19.2 psi, not 15.0 psi" in found


def test_an_edge_never_passes_the_next_one(load_tiny: LoadTiny) -> None:
    base = load_tiny("normal: 15 to 20 psi", "normal: 15 to 17 psi")
    assert "low edge at 16.0 psi, not 15.0 psi" in limit_mutants(base, "differential-limit")


def test_a_reason_not_to_judge_is_dropped(tiny: Rulebase) -> None:
    found = limit_mutants(tiny, "differential-limit")
    mutant = found["cannot_judge_when: 'valve is shut' dropped"]
    assert mutant.limit is not None and mutant.limit.cannot_judge_when == ()


def test_a_gate_loses_each_of_its_conditions(load_tiny: LoadTiny) -> None:
    gate = "gates:\n  - {id: g, action: turn-stem, needs: [valve is open, slow], first: Look.,"
    gate += " source: from memory}\ncautions:\n  - {id: hot"
    found = [m for m in mutants(load_tiny("cautions:\n  - {id: hot", gate)) if m.gate is not None]
    assert [len(m.gate.needs) for m in found if m.gate] == [1, 1]
