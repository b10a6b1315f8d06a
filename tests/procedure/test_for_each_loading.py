"""What loading refuses of a phase that is run for each member, and what counts inside of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from rack_walk import WALK, only, open_session, problems_of, walk_runner, write

from expert.errors import Problem
from expert.knowledge.model import Rulebase
from expert.procedure.read_answers import parse_answers
from expert.procedure.scripted import play

Refused = Callable[[str, str], list[Problem]]
AIR = "        - ask: case_air\n"
TELL = "        - instruct: Tell the store.\n"
REPEAT = '      repeat: {ask: adjustment_wanted, while: "yes", at_most: 2}\n'


@pytest.fixture
def problems(tmp_path: Path, rulebase: Rulebase, checklist_text: str) -> Refused:
    """The problems of the walk after one piece of it was replaced."""

    def replaced(old: str, new: str) -> list[Problem]:
        assert WALK.count(old) >= 1, old
        called = checklist_text.replace("subject: circuit", "subject: rack")
        write(tmp_path, small_checkout=called, rack_walk=WALK.replace(old, new, 1))
        return problems_of(tmp_path, rulebase)

    return replaced


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("for each: circuit", "for each: door", "unknown-word"),
        ("for each: circuit", "for_each: circuit", "unknown-key"),
        ("      stage: as found\n      for each: circuit\n",
         f"      stage: as left\n      for each: circuit\n{REPEAT}", "repeat-for-each"),
        (AIR, "        - call: small-checkout\n", "not-for-each"),
        (AIR, f"        - sign: Name\n          id: s\n{AIR}", "not-for-each"),
        ("        - restore: probe in the case\n", "", "never-restored"),
        (TELL, f"        - restore: probe in the case\n{TELL}", "nothing-to-restore"),
        ("[{most circuits: [case_air is high]}]", "[case_air is high]", "not-known-yet"),
        ("when: [{most circuits:", "when: [{most compressors:", "not-known-yet"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_phase_for_each_is_refused(
    problems: Refused, old: str, new: str, code: str
) -> None:
    assert code in {problem.code for problem in problems(old, new)}


def test_a_caution_inside_the_phase_counts_only_there(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    walk = WALK.replace("        - caution: hot-surfaces\n", "", 1)
    walk = walk.replace(TELL, f"        - ask: hot_gas_header_pressure\n{TELL}")
    called = checklist_text.replace("subject: circuit", "subject: rack")
    write(tmp_path, small_checkout=called, rack_walk=walk)
    assert only(problems_of(tmp_path, rulebase)).code == "caution-missing"


def test_a_clock_started_on_a_member_is_not_known_outside(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    walk = WALK.replace(AIR, f"        - clock: gas\n{AIR}")
    later = f"        - time: clearing_time\n          clock: gas\n{TELL}"
    called = checklist_text.replace("subject: circuit", "subject: rack")
    write(tmp_path, small_checkout=called, rack_walk=walk.replace(TELL, later))
    assert only(problems_of(tmp_path, rulebase)).code == "clock-not-started"


def test_a_called_phase_for_each_is_run_anew_in_every_round(
    tmp_path: Path, rulebase: Rulebase
) -> None:
    head = WALK.partition("  phases:\n")[0] + "  phases:\n"
    each = head.replace("rack-walk", "small-checkout") + (
        "    - id: each\n      title: Each\n      stage: as found\n      for each: circuit\n"
        f"      steps:\n{AIR}"
    )
    rounds = f"    - id: again\n      title: Again\n      stage: as left\n{REPEAT}      steps:\n"
    walk = f"{head}{rounds}        - adjust: one-thing\n        - call: small-checkout\n"
    session = open_session(walk_runner(tmp_path, rulebase, each, walk))
    text = """
answers:
  again:
    - one-thing: {what: stem, from: 0, to: 1}
      small-checkout: {each: {A1: {case-air: 10 F}, A2: {skip: door locked}}}
    - one-thing: {what: stem, from: 1, to: 2}
      small-checkout: {each: {A3: {case-air: 5 F}}}
"""
    list(play(session, parse_answers(text, "answers.yaml", session.runner.checklist)))
    assert session.finished
    assert [(r.step, r.round) for r in session.runner.readings(session.picture) if r.subject] == [
        ("small-checkout/case-air@1~A1", 1), ("small-checkout/case-air@2~A3", 2),
    ]  # fmt: skip
    assert session.picture.skips[0].step == "small-checkout/each@1~A2"
