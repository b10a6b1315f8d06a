from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from expert.errors import PackError, Problem
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist
from expert.procedure.load_checklists import load_checklist, load_checklists, parse_checklist

Load = Callable[[str, str], list[Problem]]


@pytest.fixture
def problems(rulebase: Rulebase, checklist_text: str) -> Load:
    """The problems after one piece of the small checklist was replaced."""

    def replaced(old: str, new: str) -> list[Problem]:
        assert checklist_text.count(old) >= 1, old
        with pytest.raises(PackError) as caught:
            parse_checklist(checklist_text.replace(old, new, 1), "small.yaml", rulebase)
        return list(caught.value.problems)

    return replaced


def only(found: list[Problem]) -> Problem:
    assert len(found) == 1, found
    return found[0]


def test_a_checklist_is_read_with_its_steps_in_order(checklist: Checklist) -> None:
    assert [phase.id for phase in checklist.phases] == ["before", "found", "prove", "close"]
    assert [step.id for step in checklist.phases[0].steps] == ["hot-surfaces", "hold-off"]


def test_a_watch_is_read_with_its_interval_in_seconds(checklist: Checklist) -> None:
    step = checklist.step("clearing")
    assert step is not None
    assert (step.type, step.every, step.until, step.at_most) == ("watch", 120, "defrost_state", 4)
    assert step.quantities == ("circuit_pressure",)


def test_the_hash_changes_with_the_text_but_not_with_line_ends(
    rulebase: Rulebase, checklist: Checklist, checklist_text: str
) -> None:
    other = parse_checklist(checklist_text.replace("\n", "\r\n"), "small.yaml", rulebase)
    changed = parse_checklist(checklist_text.replace("Close\n", "End\n"), "small.yaml", rulebase)
    assert other.hash == checklist.hash
    assert changed.hash != checklist.hash


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ("ask: hot_gas_header_pressure", "ask: hot_gas_heder_pressure", "unknown-quantity",
         "Did you mean 'hot_gas_header_pressure'?"),
        ("caution: hot-surfaces\n        - instruct", "caution: hot-surface\n        - instruct",
         "unknown-caution", "Did you mean 'hot-surfaces'?"),
        ("- think: What", "- thinks: What", "no-type", "Did you mean 'think'?"),
        ("          every: 2 min", "          evry: 2 min", "unknown-key", "Did you mean 'every'?"),
        ("every: 2 min", "every: 2 psi", "not-a-measure", ""),
        ("stage: as left", "stage: as lefd", "unknown-word", "Did you mean 'as left'?"),
        ("- observe: hot_gas_valve", "- ask: hot_gas_valve", "wrong-kind", "Use 'observe:'."),
        ("- ask: frost_pattern", "- observe: frost_pattern", "wrong-kind", "Use 'ask:'."),
        ("- time: clearing_time", "- time: coil_voltage", "wrong-kind", ""),
        ("until: defrost_state", "until: coil_voltage", "wrong-kind", ""),
        ('while: "yes"', "while: always", "unknown-choice", "It can be: yes, no."),
        ("          id: hot-gas-again\n", "", "duplicate-id", "Give one of them an 'id:'"),
        ("- ask: coil_voltage", "- ask: termination_setting", "asked-given", "is known"),
        ("when: [hot_gas_valve is shut]", "when: [hot_gas_valve is shutt]", "unknown-state",
         "Did you mean 'shut'?"),
        ("when: [hot_gas_valve is shut]", "when: [hot_gas_valve iz shut]", "condition", ""),
        ("when: [hot_gas_valve is shut]", "when: [frost_pattern is known]", "not-known-yet",
         "Ask it in a step above"),
        ("when: [gas_side_low]", "when: [gas_side_lwo]", "unknown-sign",
         "Did you mean 'gas_side_low'?"),
        ("        - clock: defrost\n        - watch", "        - watch", "clock-not-started", ""),
        ("        - restore: schedule held off\n", "", "never-restored", "Add '- restore:"),
        ("restore: schedule held off", "restore: schedule held of", "nothing-to-restore",
         "'schedule held off'"),
        ("- restore: schedule held off", "- restore: schedule held off\n"
         "          when: [hot_gas_valve is shut]", "conditional-restore", ""),
        ("        - caution: hot-surfaces\n        - instruct", "        - instruct",
         "caution-missing", "Put '- caution: hot-surfaces' above it."),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_its_place_and_a_hint(
    problems: Load, old: str, new: str, code: str, says: str
) -> None:
    found = problems(old, new)
    hits = [problem for problem in found if problem.code == code]
    assert hits, found
    assert hits[0].place.path == "small.yaml"
    assert hits[0].place.line > 1
    assert hits[0].place.column > 0
    assert says in hits[0].hint


def test_a_mistake_in_a_condition_points_into_it(problems: Load, checklist_text: str) -> None:
    found = only(problems("when: [hot_gas_valve is shut]", "when: [hot_gas_valve iz shut]"))
    line = checklist_text.splitlines()[found.place.line - 1]
    assert line.index("hot_gas_valve") < found.place.column <= line.index("shut") + 1


def test_an_adjustment_must_be_followed_by_a_measurement(problems: Load) -> None:
    again = """        - ask: hot_gas_header_pressure
          id: hot-gas-again
        - ask: liquid_header_pressure
          id: liquid-again
"""
    assert "never-measured-again" in {problem.code for problem in problems(again, "")}


def test_an_adjustment_belongs_in_a_phase_as_left(problems: Load) -> None:
    found = problems("        - show:", "        - adjust: early\n        - show:")
    assert "adjust-stage" in {problem.code for problem in found}


def test_as_found_cannot_come_after_as_left(problems: Load) -> None:
    close = "      title: Close\n      stage: as "
    found = problems(f"{close}left", f"{close}found")
    assert "stage-order" in {problem.code for problem in found}


def test_a_caution_in_a_repeated_phase_counts_only_there(
    rulebase: Rulebase, checklist_text: str
) -> None:
    text = checklist_text.replace("- caution: hot-surfaces\n        - instruct", "- instruct")
    text = text.replace(
        "- ask: frost_pattern", "- ask: hot_gas_header_pressure\n          id: at-the-end"
    )
    with pytest.raises(PackError) as caught:
        parse_checklist(text, "small.yaml", rulebase)
    missing = [p.message for p in caught.value.problems if p.code == "caution-missing"]
    assert len(missing) == 2
    assert "'hot-gas-header-pressure'" in missing[0]
    assert "'at-the-end'" in missing[1]


def test_a_caution_under_a_condition_does_not_count_for_an_unconditional_step(
    problems: Load,
) -> None:
    found = problems(
        "- caution: hot-surfaces\n",
        "- caution: hot-surfaces\n          unless: [termination_setting is known]\n",
    )
    assert "caution-missing" in {problem.code for problem in found}


def test_what_is_opened_outside_is_not_put_back_in_a_phase_that_may_not_run(
    rulebase: Rulebase, checklist_text: str
) -> None:
    restore = "        - restore: schedule held off\n"
    text = checklist_text.replace(restore, "").replace(
        "        - adjust:", f"{restore}        - adjust:"
    )
    with pytest.raises(PackError) as caught:
        parse_checklist(text, "small.yaml", rulebase)
    assert [problem.code for problem in caught.value.problems] == ["never-restored"]


def test_every_problem_is_reported_at_once(problems: Load) -> None:
    found = problems(
        "        - ask: hot_gas_header_pressure\n",
        "        - ask: hot_gas\n        - observe: valve\n        - nothing: here\n",
    )
    assert {"unknown-quantity", "no-type"} <= {problem.code for problem in found}
    assert len(found) >= 3
    assert [p.place for p in found] == sorted(p.place for p in found)


def test_a_folder_of_checklists_is_loaded_by_id(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    (tmp_path / "a.yaml").write_text(checklist_text, encoding="utf-8")
    assert list(load_checklists(tmp_path, rulebase)) == ["small-checkout"]


def test_two_checklists_of_one_id_are_refused(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    for name in ("a.yaml", "b.yaml"):
        (tmp_path / name).write_text(checklist_text, encoding="utf-8")
    with pytest.raises(PackError, match="duplicate-id"):
        load_checklists(tmp_path, rulebase)


def test_a_missing_file_is_named(tmp_path: Path, rulebase: Rulebase) -> None:
    with pytest.raises(PackError, match="There is no such file"):
        load_checklist(tmp_path / "none.yaml", rulebase)
