"""Readings that are named because the first finding turns on them, and what stays hidden."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from budget import step
from shipped_knowledge import shipped_cases
from tiny_rulebase import LoadTiny

from expert.author.scenarios.read import ScenarioRunner
from expert.errors import PackError
from expert.inference import doubt
from expert.inference.doubt import Evaluating
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation
from expert.inference.looked_at import LookedAt
from expert.inference.show import evaluation_json, evaluation_lines
from expert.inference.subject_file import read_subject_file
from expert.inference.truth import Facts
from expert.knowledge.conditions import Elementary
from expert.knowledge.model import Rulebase
from expert.units.measure import Measure

FRAME = "refrigerant: R-404A\napplication: low temperature\ndefrost: hot gas\nreadings:\n"
# Invented: the outlet of the drier stands 4.5 psi under its inlet, all else as it should be.
DRIER = {
    "discharge_header_pressure_at_rest": "212 psig",
    "receiver_pressure": "208 psig",
    "drier_inlet_pressure": "206.8 psig",
    "drier_outlet_pressure": "201.5 psig",
    "liquid_header_pressure_at_rest": "205 psig",
}


def evaluated(base: Rulebase, folder: Path, told: dict[str, str]) -> Evaluation:
    path = folder / "told.yaml"
    path.write_text(FRAME + "".join(f"  {name}: {value}\n" for name, value in told.items()))
    case = read_subject_file(path, base)
    return Evaluator(base, case.subject, backend="plain").evaluate(case.readings, case.found)


def names(evaluation: Evaluation) -> list[str]:
    return [doubt.quantity.id for doubt in evaluation.doubts]


def test_the_reading_that_alone_explains_a_contradiction_comes_first(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    evaluation = evaluated(shipped_rulebase, tmp_path, DRIER)
    assert names(evaluation)[0] == "drier_outlet_pressure"
    why = evaluation.doubts[0].why
    assert "cannot stand above its outlet" in why
    assert why.endswith("Check it with a second instrument before acting.")


def test_what_would_be_with_a_little_more_is_said_in_the_units_of_the_technician(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    told = evaluated(shipped_rulebase, tmp_path, {"defrost_differential": "10.5 psi"})
    (doubt,) = told.doubts
    assert doubt.quantity.id == "defrost_differential"
    assert "rests on it: with 5.0 psi more" in doubt.why


def test_a_finding_far_from_its_edge_names_nothing(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    told = evaluated(shipped_rulebase, tmp_path, {"hot_gas_line_drop": "40 psi"})
    assert told.findings
    assert told.doubts == ()


def test_a_reading_is_never_moved_to_what_nobody_could_enter(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    quantity = shipped_rulebase.quantities["vacuum_end"]
    told = evaluated(shipped_rulebase, tmp_path, {quantity.id: "400 micron"})
    assert quantity.id not in names(told)


def test_a_few_numbers_close_to_their_edges_are_no_alarm_where_nothing_is_found(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    healthy = DRIER | {"drier_outlet_pressure": "205.8 psig"}
    told = evaluated(shipped_rulebase, tmp_path, healthy)
    assert not told.findings
    assert told.doubts == ()


def test_what_is_named_stands_in_text_and_json(shipped_rulebase: Rulebase, tmp_path: Path) -> None:
    told = evaluated(shipped_rulebase, tmp_path, DRIER)
    lines = list(evaluation_lines(told, shipped_rulebase))
    at = lines.index("Look at these values again:")
    assert lines[at + 1].startswith("- drier outlet pressure: ")
    doubtful = evaluation_json(told, shipped_rulebase, "us")["doubtful"]
    assert doubtful[0]["quantity"] == "drier_outlet_pressure"  # type: ignore[index]


def test_a_hidden_charge_error_is_said_with_the_reading_that_shows_it(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    told = {"receiver_level": "40 %", "sight_glass": "clear", "condenser_mode": "full",
            "heat_reclaim": "off", "other_circuits_defrosting": "0"}  # fmt: skip
    evaluation = evaluated(shipped_rulebase, tmp_path, told)
    (hidden,) = evaluation.hidden
    assert [each.id for each in hidden.read] == ["receiver_level_on_sheet"]
    lines = list(evaluation_lines(evaluation, shipped_rulebase))
    at = lines.index("Cannot be told from these readings:")
    assert lines[at + 1].startswith("- Whether the rack is a little short")
    assert "It would show in: " in lines[at + 1]
    document = evaluation_json(evaluation, shipped_rulebase, "us")
    assert document["cannot_tell"][0]["read"] == ["receiver_level_on_sheet"]  # type: ignore[index]
    read = evaluated(shipped_rulebase, tmp_path, told | {"receiver_level_on_sheet": "40 %"})
    assert read.hidden == ()


def test_a_rule_may_do_nothing_but_say_what_stays_hidden(load_tiny: LoadTiny) -> None:
    rule = (
        "rules:\n  - {id: hides, when: [valve is shut], because: Nothing flows.,\n"
        "     cannot_tell: {what: whether it leaks, read: [valve]}, source: common practice}\n"
    )
    base = load_tiny("rules:\n", rule)
    told = base.rules["hides"].cannot_tell
    assert told is not None
    assert (told.what, told.read) == ("whether it leaks", ("valve",))


@pytest.mark.parametrize("name", ["temperature", "gauge-pressure"])
def test_plausible_errors_stand_in_the_rulebase_with_their_source(
    name: str, shipped_rulebase: Rulebase
) -> None:
    error = shipped_rulebase.plausible_errors[name]
    assert error.error > 0
    assert str(error.source).startswith("from memory")


def test_what_was_before_the_visit_still_holds_as_left(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    path = tmp_path / "told.yaml"
    path.write_text(
        FRAME + "  receiver_level: 40 %\n"
        "as found:\n  receiver_level: 8 %\n  top_ups: once\n  sight_glass: bubbles\n"
    )
    case = read_subject_file(path, shipped_rulebase)
    known = Evaluator(shipped_rulebase, case.subject).evaluate(case.readings, case.found).known
    assert shipped_rulebase.quantities["top_ups"].carried_over
    assert known["top_ups"].value == "once"
    assert "sight_glass" not in known


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("doubts: [uper_pressure], concludes: []", "unknown-quantity"),
        ("cannot_tell: {what: whether it leaks}", "missing-key"),
        ("cannot_tell: {what: whether it leaks, read: [valv]}", "unknown-quantity"),
    ],
)
def test_a_name_or_key_that_is_wrong_is_told(line: str, code: str, load_tiny: LoadTiny) -> None:
    rule = (
        "rules:\n  - {id: wrong, when: [valve is shut], because: So., source: common practice,\n"
        f"     evidence_for: {{set-low: weak}}, {line}}}\n"
    )
    with pytest.raises(PackError) as error:
        load_tiny("rules:\n", rule)
    assert code in [problem.code for problem in error.value.problems]


def test_an_error_of_nothing_is_refused(load_tiny: LoadTiny) -> None:
    section = (
        "plausible_errors:\n"
        "  - {id: none, kind: temperature, error: 0 F, source: from memory}\nrules:\n"
    )
    with pytest.raises(PackError, match="more than nothing"):
        load_tiny("rules:\n", section)


def thought_through(evaluator: Evaluating, facts: Facts) -> doubt._LedTo:
    """What some facts lead to, from the beginning."""
    facts.signs.clear()
    return doubt._picture(evaluator, evaluator.run(facts), evaluator.influences(facts))


def test_what_a_move_leads_to_is_what_it_leads_to_from_the_beginning(
    shipped_rulebase: Rulebase, monkeypatch: pytest.MonkeyPatch
) -> None:
    runner = ScenarioRunner(shipped_rulebase, "plain")
    seen = Counter[str]()
    again = doubt._picture_again

    def both(
        evaluator: Evaluating, facts: Facts, before: Facts, now: doubt._LedTo,
        moved: tuple[Elementary, ...],
    ) -> doubt._LedTo:  # fmt: skip
        short = again(evaluator, facts, before, now, moved)
        signs = dict(facts.signs)
        whole = thought_through(evaluator, facts)
        told = short.first, [rule.id for rule in short.fired], short.wrong
        assert told == (whole.first, [rule.id for rule in whole.fired], whole.wrong)
        assert signs == facts.signs
        same = short is now, signs == before.signs, short.fired == now.fired
        seen[f"same picture, signs, rules: {same}"] += 1
        return short

    monkeypatch.setattr(doubt, "_picture_again", both)
    for case in shipped_cases()[1 :: step(80)]:
        _ = runner.evaluate(case).doubts
    assert len(seen) >= 4, seen  # nothing else, other rules only, and other signs


def test_a_move_that_turns_no_condition_need_not_be_thought_through(
    shipped_rulebase: Rulebase, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every move thought through, and from the beginning, comes to the same."""
    runner = ScenarioRunner(shipped_rulebase, "plain")
    cases = shipped_cases()[3 :: step(80)]
    short = [runner.evaluate(case).doubts for case in cases]
    monkeypatch.setattr(LookedAt, "moved", lambda self, quantity, *_: (*self.of(quantity), None))
    monkeypatch.setattr(doubt, "_picture_again", lambda *given: thought_through(*given[:2]))
    assert [runner.evaluate(case).doubts for case in cases] == short
    monkeypatch.setattr(LookedAt, "take_over", lambda *_: None)
    assert [runner.evaluate(case).doubts for case in cases] == short
    assert any(short)


def test_what_is_taken_over_is_what_would_be_judged(shipped_rulebase: Rulebase) -> None:
    """Every condition that does not hang on the reading that is moved comes to the same."""
    runner = ScenarioRunner(shipped_rulebase, "plain")
    taken = 0
    for case in shipped_cases()[5 :: step(120)]:
        evaluator, given = runner.evaluator(case), case.given
        before, _ = evaluator.facts(given.readings, given.found)
        evaluator.run(before)
        for moved in given.readings:
            if not isinstance(moved.value, Measure):
                continue
            value = replace(moved.value, value=moved.value.value * 1.02)
            readings = [replace(r, value=value) if r is moved else r for r in given.readings]
            anew, other = (evaluator.facts(readings, given.found)[0] for _ in range(2))
            evaluator.looked_at.take_over(moved.quantity, before, other)
            for condition, truth in other.settled().values():
                assert anew.holds(condition) is truth, (case.title, moved.quantity, condition)
                taken += 1
    assert taken > 1000
