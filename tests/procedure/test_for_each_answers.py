"""Answers files for a phase that is run for each member."""

from __future__ import annotations

import pytest
from rack_walk import open_session

from expert.errors import ReadingError
from expert.procedure.read_answers import parse_answers
from expert.procedure.runner import Runner
from expert.procedure.scripted import play

ANSWERS = """
answers:
  hot-surfaces: yes
  hold-off: done
  hot-gas-valve: shut
  each:
    A1:
      gloves: yes
      probe-in: done
      case-air: 20 F
      coil-voltage: 24
      restore-probe-in-the-case: done
    A2: {skip: no key to the door}
    A3: {gloves: yes, probe-in: done, case-air: -5 F, restore-probe-in-the-case: done}
  restore-schedule-held-off: done
  sign: N. N.
"""


def test_members_are_played_from_a_mapping(walk: Runner) -> None:
    session = open_session(walk)
    list(play(session, parse_answers(ANSWERS, "answers.yaml", walk.checklist)))
    assert session.finished
    assert session.picture.closed["each~"].members == ("A1", "A2", "A3")
    assert [entry.text("reason") for entry in session.picture.skips] == ["no key to the door"]


def test_members_that_the_file_does_not_name_are_not_chosen(walk: Runner) -> None:
    session = open_session(walk)
    text = ANSWERS.replace("    A2: {skip: no key to the door}\n", "")
    list(play(session, parse_answers(text, "answers.yaml", walk.checklist)))
    assert session.picture.closed["each~"].members == ("A1", "A3")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("case-air: -5 F, ", "", "step 'case-air', A3 (air in the case) has no answer"),
        ("    A3:", "    A9:", "'a9' is none of them"),
        ("case-air: -5 F", "case-aire: -5 F", "Did you mean 'case-air'?"),
        ("    A2: {skip: no key to the door}", "    A2: locked", "A2 of 'each'"),
        ("    A2: {skip: no key to the door}", "    A2: {skip: na}", "only with a reason"),
    ],
)
def test_a_mistake_in_the_answers_of_a_member_is_named(
    walk: Runner, old: str, new: str, says: str
) -> None:
    session = open_session(walk)
    with pytest.raises(ReadingError) as caught:
        text = ANSWERS.replace(old, new)
        list(play(session, parse_answers(text, "answers.yaml", walk.checklist)))
    assert says in str(caught.value)


def test_a_phase_that_the_file_leaves_out_is_named(walk: Runner) -> None:
    session = open_session(walk)
    start, end = ANSWERS.index("  each:"), ANSWERS.index("  restore-schedule")
    with pytest.raises(ReadingError, match="step 'each' .* has no answer"):
        text = ANSWERS[:start] + ANSWERS[end:]
        list(play(session, parse_answers(text, "answers.yaml", walk.checklist)))
