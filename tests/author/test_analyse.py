"""What looks wrong in a rulebase: each seeded mistake is found, and shown by a case that runs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from budget import at_night

from expert.author.analysis.conflicts import Remark, analyse
from expert.author.analysis.state_gaps import state_gaps
from expert.author.search.witness import Witnesses
from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import read_subject_file
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]


def rule(name: str, when: str, *, unless: str = "", to: str = "evidence_for: {set-low: weak}",
         applies: str = "") -> str:  # fmt: skip
    lines = [f"  - id: {name}", f"    when: [{when}]"]
    lines += [f"    unless: [{unless}]"] if unless else []
    lines += [f"    applies: {applies}"] if applies else []
    lines += [f"    {to}", "    because: So it is.", "    source: from memory", ""]
    return "\n".join(lines)


def remarks(base: Rulebase, kind: str) -> list[Remark]:
    return [each for each in analyse(base) if each.kind == kind]


def test_a_rulebase_without_such_mistakes_has_only_its_gap(tiny: Rulebase) -> None:
    assert [each.kind for each in analyse(tiny)] == ["gap"]


@pytest.mark.parametrize(
    ("when", "unless", "reason"),
    [
        # bands and comparisons of one number
        ("differential is low, differential > 16 psi", "", "'differential > 16 psi' cannot hold"),
        ("differential < 5 psi, differential > 6 psi", "", "'differential > 6 psi' cannot hold"),
        ("differential is high, differential < 30 psi, differential is very high", "",
         "'differential is very high' cannot hold"),
        ("rise is not low, rise is not normal", "", "'rise is not normal' cannot hold"),
        ("rise is very high", "", "'rise is very high' can never be known to hold"),
        ("upper_pressure > 700 psig", "", "'upper_pressure > 700 psig' can never"),
        ("upper_pressure < lower_pressure, upper_pressure - lower_pressure > 1 psi", "",
         "'upper_pressure - lower_pressure > 1 psi' cannot hold together"),
        # choices
        ("valve is not open, valve is not shut, valve is not half open", "",
         "'valve is not half open' cannot hold together"),
        ("valve is open, {any: [valve is shut, valve is half open]}", "", "cannot hold together"),
        ("{at least 2 of: [valve is shut, valve is open, rise > 5 F]}, rise < 2 F", "",
         "'rise < 2 F' cannot hold together"),
        # what keeps the number from being judged
        ("valve is shut, differential is low", "", "'differential is low' cannot hold"),
        # signs
        ("weak_push", "", "no rule concludes 'weak_push'"),
        ("slow, clearing_time < 5 min", "", "'clearing_time < 5 min' cannot hold together"),
        ("not slow, clearing_time > 20 min, valve is open", "", "cannot hold together"),
        # exceptions
        ("rise is low", "rise < 30 F", "'rise < 30 F' under unless always holds"),
        ("clearing_time is high, valve is open", "slow", "'slow' under unless always holds"),
        # nothing is known for such a subject
        ("line_temperature is low", "", "'line_temperature is low' can never be known to hold"),
        # other stages and subjects
        ("{as left: [rise is low, rise > 25 F]}", "", "can never be known to hold"),
        ("{most circuits: [valve is open, valve is shut]}", "", "can never be known to hold"),
    ],
)  # fmt: skip
def test_a_rule_that_can_never_fire_is_told_with_the_reason(
    with_rules: LoadTiny, when: str, unless: str, reason: str
) -> None:
    (remark,) = remarks(with_rules(rule("dead", when, unless=unless)), "unreachable")
    assert remark.what.startswith("dead can never fire: ")
    assert reason in remark.what


@pytest.mark.parametrize(
    ("when", "unless"),
    [
        ("differential is low, differential < 14 psi", ""),
        ("differential is low, differential is very low", ""),
        ("differential < 5 psi, valve is shut", "differential is low"),
        ("slow, clearing_time > 30 min", ""),
        ("slow, valve is not half open", ""),
        ("not slow, valve is half open, clearing_time is high", ""),
        ("upper_pressure < lower_pressure + 3 psi, upper_pressure > lower_pressure", ""),
        ("rise is low", "slow"),
        ("line_temperature rises by 5 F within 4 min", "rise is low"),
        ("{as found: [rise is low]}, {as left: [rise > 25 F]}", ""),
        ("{most circuits: [rise is low]}, {any circuit: [valve is open]}", ""),
        ("differential is too close to call", ""),
        ("remark is known", ""),
        ("valve is not known", ""),
    ],
)
def test_a_rule_that_can_fire_is_not_called_dead(
    with_rules: LoadTiny, when: str, unless: str
) -> None:
    assert not remarks(with_rules(rule("alive", when, unless=unless)), "unreachable")


def test_a_band_that_exists_only_for_other_subjects_makes_a_rule_dead(
    with_rules: LoadTiny,
) -> None:
    text = rule("dead", "clearing_time is high", applies="{application: medium temperature}")
    (remark,) = remarks(with_rules(text), "unreachable")
    assert "'clearing_time is high' can never be known to hold" in remark.what


def test_two_rules_with_the_same_conditions_and_conclusion_are_redundant(
    with_rules: LoadTiny,
) -> None:
    text = rule("one", "rise is low, valve is open") + rule("two", "valve is open, rise is low")
    (remark,) = remarks(with_rules(text), "redundant")
    assert "'one' and 'two' fire on the same conditions, both on 'set-low'" in remark.what


def test_rules_written_otherwise_but_alike_in_number_are_redundant(with_rules: LoadTiny) -> None:
    text = rule("one", "differential is low") + rule("two", "differential < 15 psi")
    base = with_rules(text, ", cannot_judge_when: [valve is shut]", "")
    assert len(remarks(base, "redundant")) == 1


def test_a_rule_inside_another_with_the_same_conclusion_is_subsumed(with_rules: LoadTiny) -> None:
    text = rule("narrow", "rise is low, valve is open") + rule("wide", "rise < 25 F")
    (remark,) = remarks(with_rules(text), "subsumed")
    assert remark.what.startswith("whenever 'narrow' fires, 'wide' does, both on 'set-low'")


def test_an_exception_that_only_the_wide_rule_has_keeps_the_narrow_one(
    with_rules: LoadTiny,
) -> None:
    text = rule("narrow", "rise is low, valve is open")
    text += rule("wide", "rise is low", unless="clearing_time is high")
    assert not remarks(with_rules(text), "subsumed")


def test_rules_for_different_subjects_do_not_subsume_one_another(with_rules: LoadTiny) -> None:
    text = rule("one", "rise is low", applies="{defrost: hot gas}")
    text += rule("two", "rise is low", applies="{defrost: electric}")
    assert not remarks(with_rules(text), "redundant")


def test_a_rule_for_some_subjects_is_subsumed_by_one_for_all(with_rules: LoadTiny) -> None:
    text = rule("one", "rise is low", applies="{has: [subcooler]}") + rule("two", "rise is low")
    (remark,) = remarks(with_rules(text), "subsumed")
    assert remark.what.startswith("whenever 'one' fires, 'two' does")


def test_a_second_rule_for_a_sign_adds_nothing_inside_the_first(with_rules: LoadTiny) -> None:
    text = rule("again", "clearing_time is high, valve is open", to="concludes: [slow]")
    (remark,) = remarks(with_rules(text), "subsumed")
    assert "the first adds nothing" in remark.what


def test_the_same_conditions_for_and_against_a_cause_are_a_conflict(with_rules: LoadTiny) -> None:
    text = rule("pro", "rise is low")
    text += rule("con", "rise is low", to="evidence_against: {set-low: weak}")
    found = [each.what for each in remarks(with_rules(text), "conflict")]
    assert "'con' and 'pro' fire on the same conditions and are opposed on 'set-low'" in found


def test_a_rule_that_never_speaks_unopposed_is_a_conflict(with_rules: LoadTiny) -> None:
    text = rule("pro", "rise is low, valve is open", to="evidence_for: {left-iced: weak}")
    text += rule("con", "rise is low", to="evidence_against: {left-iced: weak}")
    found = [each.what for each in remarks(with_rules(text), "conflict")]
    assert "whenever 'pro' fires, 'con' fires against it on 'left-iced'" in found


def test_a_state_outside_normal_at_which_no_rule_looks_is_a_gap(with_rules: LoadTiny) -> None:
    base = with_rules(rule("high", "differential is high"))
    assert not remarks(base, "gap")


def test_comparisons_close_a_gap_only_as_far_as_they_reach(with_rules: LoadTiny) -> None:
    whole = with_rules(rule("high", "differential > 20 psi"))
    assert not remarks(whole, "gap")


def test_a_band_left_between_a_comparison_and_the_limit_is_a_gap(with_rules: LoadTiny) -> None:
    (remark,) = remarks(with_rules(rule("high", "differential > 25 psi")), "gap")
    assert remark.what == "no rule looks at differential being 'high'"


def seeded(with_rules: LoadTiny) -> Rulebase:
    return with_rules(
        rule("one", "rise is low, valve is open")
        + rule("two", "valve is open, rise is low")
        + rule("con", "rise is low, valve is open", to="evidence_against: {set-low: weak}")
        + rule("dead", "rise is low, valve is open, valve is shut", to="concludes: [weak_push]")
        .replace("valve is shut", "{any: [valve is shut]}")
    )  # fmt: skip


def run_case(base: Rulebase, text: str, folder: Path) -> frozenset[str]:
    path = folder / "case.yaml"
    path.write_text(text, encoding="utf-8")
    told = read_subject_file(path, base)
    evaluator = Evaluator(base, told.subject, members=told.members, backend="plain")
    return frozenset(evaluator.evaluate(told.readings, told.found).fired)


def test_the_case_of_two_rules_fires_both(with_rules: LoadTiny, tmp_path: Path) -> None:
    base = seeded(with_rules)
    pairs = [each for each in analyse(base) if each.kind in ("redundant", "subsumed", "conflict")]
    assert {each.kind for each in pairs} >= {"redundant", "conflict"}
    for each in pairs:
        assert set(each.name.split(", ")) <= run_case(base, each.witness, tmp_path)


def test_the_case_of_a_dead_rule_runs_and_keeps_it_silent(
    with_rules: LoadTiny, tmp_path: Path
) -> None:
    base = seeded(with_rules)
    (remark,) = remarks(base, "unreachable")
    fired = run_case(base, remark.witness, tmp_path)
    assert "dead" not in fired and {"one", "two"} <= fired


def test_the_case_of_a_gap_shows_the_state(tiny: Rulebase, tmp_path: Path) -> None:
    (remark,) = remarks(tiny, "gap")
    path = tmp_path / "case.yaml"
    path.write_text(remark.witness, encoding="utf-8")
    told = read_subject_file(path, tiny)
    evaluation = Evaluator(tiny, told.subject, backend="plain").evaluate(told.readings)
    assert evaluation.states["differential"].word == "high"


@pytest.mark.parametrize(
    ("when", "unless"),
    [
        ("upper_pressure < lower_pressure + 3 psi, upper_pressure > lower_pressure", ""),
        ("slow, differential is low, rise is low", "valve is half open"),
        ("not slow", ""),
        ("line_temperature rises by 5 F within 4 min", ""),
        ("line_temperature falls", ""),
        ("line_temperature reaches 50 F before 20 min", ""),
        ("line_temperature holds within 2 F for 10 min", ""),
        ("valve becomes shut before 2 min", ""),
        ("line_temperature reaches 50 F before upper_pressure reaches 100 psig", ""),
        ("{as found: [rise is low]}, {as left: [rise > 25 F]}", ""),
        ("{as left: [rise > 25 F]}", ""),
        ("{most circuits: [rise is low]}", ""),
        ("{no circuit: [rise is low]}", ""),
        ("{at least 3 circuits: [valve is shut, rise is low]}", ""),
        ("{at least 2 of: [rise is low, valve is open, clearing_time is high]}", ""),
        ("differential is very low, lower_pressure > 20 psig", ""),
        ("remark is known", ""),
    ],
)
def test_a_case_that_fires_a_rule_is_found_for_every_form_of_condition(
    with_rules: LoadTiny, tmp_path: Path, when: str, unless: str
) -> None:
    base = with_rules(rule("alive", when, unless=unless))
    text = Witnesses(base).case([base.rules["alive"]], "A case.")
    assert "alive" in run_case(base, text, tmp_path)


def test_the_cases_of_gaps_in_the_shipped_rulebase_can_be_read(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    for gap in list(state_gaps(Witnesses(shipped_rulebase)))[::5]:
        path = tmp_path / "case.yaml"
        path.write_text(gap.witness(), encoding="utf-8")
        told = read_subject_file(path, shipped_rulebase)
        evaluator = Evaluator(shipped_rulebase, told.subject, backend="plain")
        facts, _ = evaluator.facts(told.readings)
        word = facts.state(gap.limit.quantity).word
        assert word.removeprefix("very ") in gap.what or word == "too close to call", gap.what


@at_night
def test_no_rule_of_the_shipped_rulebase_is_dead(shipped_rulebase: Rulebase) -> None:
    found = analyse(shipped_rulebase, witnesses=False)
    assert [each.what for each in found if each.kind == "unreachable"] == []
