"""What no test has tried."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from expert.author.coverage.observe import outcome
from expert.author.coverage.untried import Coverage, coverage, figure_lines
from expert.author.rule_tests import evaluator_for, judged
from expert.author.scenarios.read import read_scenario
from expert.inference.sign_truth import rule_truth
from expert.knowledge.conditions import parts
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]


def ids(covered: Coverage, kind: str = "") -> set[str]:
    return {gap.id for gap in covered.gaps if kind in ("", gap.kind)}


def test_a_rule_needs_a_test_that_fires_it_and_one_that_keeps_it_silent(
    load_tiny: LoadTiny,
) -> None:
    base = load_tiny(
        "      - {given: {rise: 2 F, slow: yes}, expect: fires}\n", "",
        "      - {given: {differential: 17 psi, slow: yes}, expect: silent}\n", "",
    )  # fmt: skip
    assert ids(coverage(base), "rule") == {
        "cold-line / no test fires it", "low-and-slow / no test keeps it silent",
    }  # fmt: skip


def test_conditions_that_were_never_true_or_false_are_told(tiny: Rulebase) -> None:
    found = ids(coverage(tiny), "condition")
    assert "slow-by-the-clock / unless valve is half open / never true" in found
    assert "low-and-slow / slow / never false" in found
    assert "low-and-slow / differential is low / never false" not in found


def test_a_condition_is_decisive_when_the_rule_hangs_on_it_alone(load_tiny: LoadTiny) -> None:
    silent = "      - {given: {differential: 17 psi, slow: yes}, expect: silent}\n"
    name = "low-and-slow / slow / never decisive"
    both = silent.replace("17 psi, slow: yes", "17 psi, slow: no")
    alone = silent.replace("17 psi, slow: yes", "8 psi, slow: no")
    assert name in ids(coverage(load_tiny(silent, silent + both)))
    assert name not in ids(coverage(load_tiny(silent, silent + alone)))


ANY = """\
  - id: either
    when: [{any: [rise is low, valve is half open]}]
    evidence_for: {set-low: weak}
    because: Either will do.
    source: from memory
    tests:
      - {given: {rise: 2 F, valve: half open}, expect: fires}
      - {given: {rise: 30 F, valve: open}, expect: silent}
"""


def test_an_alternative_is_decisive_only_when_it_fires_the_rule_alone(
    with_rules: LoadTiny,
) -> None:
    told = "either / rise is low / never decisive"
    assert told in ids(coverage(with_rules(ANY)))
    alone = ANY + "      - {given: {rise: 2 F, valve: open}, expect: fires}\n"
    assert told not in ids(coverage(with_rules(alone)))


def test_scenarios_count_for_conditions(
    tiny: Rulebase, write_scenario: Callable[..., Path]
) -> None:
    path = write_scenario("{none: yes}", clearing_time="24 min", valve="half open")
    name = "slow-by-the-clock / unless valve is half open / never true"
    assert name in ids(coverage(tiny))
    assert name not in ids(coverage(tiny, [read_scenario(path, tiny)]))


def test_each_edge_that_rules_look_at_must_be_met_from_both_sides(load_tiny: LoadTiny) -> None:
    base = load_tiny("{rise: 30 F, slow: yes}, expect: silent", "{slow: no}, expect: silent")
    assert ids(coverage(base), "edge") == {"limit rise-limit / low edge / never from above"}


def test_a_value_within_its_uncertainty_of_an_edge_meets_neither_side(
    load_tiny: LoadTiny,
) -> None:
    base = load_tiny(
        "{clearing_time: 24 min}, expect: fires", "{clearing_time: 18 min}, expect: undecided"
    )
    found = ids(coverage(base), "edge")
    assert found == {"limit clearing-limit / high edge / never from above"}


def test_what_nothing_uses_is_told(tiny: Rulebase) -> None:
    found = ids(coverage(tiny))
    assert {"quantity setting / unused", "quantity remark / unused"} <= found
    assert {"sign weak_push / unused", "sign weak_push / never concluded"} <= found


def test_quantities_of_checklists_count_as_used(tiny: Rulebase) -> None:
    assert not ids(coverage(tiny, elsewhere={"setting", "remark"}), "quantity")


def test_a_limit_at_whose_states_no_rule_looks_is_told(load_tiny: LoadTiny) -> None:
    base = load_tiny("when: [rise is low]", "when: [rise < 10 F]")
    assert ids(coverage(base), "limit") == {"limit rise-limit / unused"}


def test_a_cause_without_support_is_told(load_tiny: LoadTiny) -> None:
    base = load_tiny("    evidence_for: {left-iced: moderate}\n", "")
    assert ids(coverage(base), "cause") == {"cause left-iced / no support"}


ALIKE = """\
  - id: cold-line-for-another
    when: [rise is low]
    unless: [not slow]
    evidence_for: {set-low: moderate}
    because: Alike.
    source: from memory
"""


def test_causes_that_no_reading_tells_apart_are_told(with_rules: LoadTiny) -> None:
    base = with_rules(
        ALIKE,
        "    evidence_for: {set-low: strong}\n", "    evidence_against: {other: strong}\n",
        "    evidence_against: {set-low: weak}\n", "",
        "rules:\n", (
            "  - {id: other, title: Other, system: s, subject: circuit, is: It is.,\n"
            "     confirm: [Look.], do: [Do.], urgency: food, source: from memory}\nrules:\n"
        ),
    )  # fmt: skip
    assert "cause set-low / like left-iced" in ids(coverage(base))


def test_a_reading_against_one_of_them_tells_causes_apart(with_rules: LoadTiny) -> None:
    assert not ids(coverage(with_rules(ALIKE)), "cause")


def test_an_explained_gap_is_left_out_of_list_and_figures(tiny: Rulebase) -> None:
    covered = coverage(tiny, explained={"quantity setting / unused": "for the report only"})
    assert "quantity setting / unused" not in ids(covered)
    assert covered.figures("quantity") == (7, 8)
    assert list(covered.explained.values()) == ["for the report only"]


def test_the_beginning_of_a_gap_explains_all_that_is_lacking_there(tiny: Rulebase) -> None:
    covered = coverage(tiny, explained={"sign weak_push": "for a rule to come"})
    assert not ids(covered, "sign")


def test_an_explanation_of_nothing_is_told(tiny: Rulebase) -> None:
    assert coverage(tiny, explained={"sign slow": "used"}).idle == ("sign slow",)


def test_a_threshold_is_not_reached_by_a_hair(tiny: Rulebase) -> None:
    covered = coverage(tiny)
    part, whole = covered.figures()
    assert covered.reaches(Fraction(100 * part, whole))
    assert not covered.reaches(Fraction(100 * part, whole) + Fraction(1, 10**9))


def test_the_figures_have_a_line_for_each_kind_and_one_for_all(tiny: Rulebase) -> None:
    lines = list(figure_lines(coverage(tiny)))
    assert len(lines) == 8
    assert lines[0].split() == ["rule", "6", "of", "6", "100", "%"]


@pytest.mark.parametrize("which", range(3))
def test_a_rule_put_together_from_its_conditions_does_what_the_rule_does(
    shipped_rulebase: Rulebase, which: int
) -> None:
    made: dict[object, object] = {}
    for rule in list(shipped_rulebase.rules.values())[which::30]:
        for test in rule.tests:
            evaluator = evaluator_for(test, shipped_rulebase, "plain", made)  # type: ignore[arg-type]
            _, facts = judged(rule, test, evaluator)
            every = [part for c in (*rule.when, *rule.unless) for part in parts(c)]
            assert outcome(rule, map(facts.holds, every)) == rule_truth(rule, facts)
