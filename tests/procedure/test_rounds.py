from __future__ import annotations

from procedure_drive import answer, finish, go_to, keys

from expert.procedure.runner import Runner
from expert.procedure.session import Session


def one_round(session: Session, pressure: str = "216") -> None:
    go_to(session, "prove?1")
    answer(session, "yes")
    for text in ("yes", "stem; 0 turns; 1 turn in", pressure, "199"):
        answer(session, text)


def test_the_steps_of_a_repeated_phase_appear_once_for_each_yes(
    runner: Runner, session: Session
) -> None:
    one_round(session)
    assert session.current is not None
    assert session.current.key == "prove?2"
    answer(session, "yes")
    assert session.current.key == "gloves-again@2"
    assert "one-thing@1" in keys(runner, session)


def test_no_ends_the_rounds(session: Session) -> None:
    one_round(session)
    answer(session, "no")
    assert session.current is not None
    assert session.current.key == "frost-pattern"


def test_after_the_most_rounds_nothing_more_is_asked(session: Session) -> None:
    go_to(session, "prove?1")
    finish(session, prove="yes")
    questions = [e.step for e in session.picture.entries if "?" in e.step]
    assert questions == ["prove?1", "prove?2", "prove?3"]


def test_readings_before_and_after_an_adjustment_are_both_kept(
    runner: Runner, session: Session
) -> None:
    one_round(session)
    found = {
        (reading.stage, reading.round): reading.text
        for reading in runner.readings(session.picture)
        if reading.quantity == "hot_gas_header_pressure"
    }
    assert found == {("as found", 0): "206", ("as left", 1): "216"}


def test_each_stage_is_judged_on_its_own_readings(session: Session) -> None:
    one_round(session)
    assert session.evaluation("as found").states["defrost_differential"].word == "low"
    assert session.evaluation("as left").states["defrost_differential"].word == "normal"


def test_as_left_knows_only_what_was_measured_again(session: Session) -> None:
    one_round(session)
    known = session.evaluation("as left").known
    assert "hot_gas_valve" not in known
    assert "termination_setting" in known


def test_as_left_takes_only_the_last_round(session: Session) -> None:
    one_round(session)
    answer(session, "yes")
    answer(session, "yes")
    answer(session, "stem; 1 turn in; 2 turns in")
    answer(session, "220")
    known = session.evaluation("as left").known
    assert "hot_gas_header_pressure" in known
    assert "liquid_header_pressure" not in known


def test_an_earlier_round_can_be_judged_by_its_number(runner: Runner, session: Session) -> None:
    one_round(session, "206")
    answer(session, "yes")
    first = runner.evaluation(session.picture, "as left", 1)
    assert first.states["defrost_differential"].word == "low"
    assert runner.rounds(session.picture) == 2


def test_readings_of_the_close_belong_to_the_last_round(session: Session) -> None:
    one_round(session)
    finish(session)
    assert session.evaluation("as left").known["frost_pattern"].value == "clear of frost"


def test_taking_back_a_round_sets_its_readings_aside(runner: Runner, session: Session) -> None:
    one_round(session)
    session.reopen("prove?1")
    answer(session, "no")
    assert runner.rounds(session.picture) == 0
    assert "hot_gas_header_pressure" not in session.evaluation("as left").known
    assert {reading.round for reading in runner.set_aside(session.picture)} == {1}


def test_conditions_after_an_adjustment_are_judged_on_the_newest_round_that_can_tell(
    make_runner, clock
) -> None:
    from memory_log import MemoryLog

    runner = make_runner(
        """
    - id: one
      title: One
      stage: as found
      steps:
        - caution: hot-surfaces
        - ask: hot_gas_header_pressure
        - ask: liquid_header_pressure
    - id: two
      title: Two
      stage: as left
      repeat: {ask: adjustment_wanted, while: "yes", at_most: 3}
      steps:
        - caution: hot-surfaces
          id: gloves
        - instruct: Turn the stem in.
          id: turn-in
          when: [defrost_differential is low]
        - adjust: one-thing
        - ask: hot_gas_header_pressure
          id: again
        - ask: liquid_header_pressure
          id: liquid-again
"""
    )
    session = Session(runner, MemoryLog(), "job", now=clock)
    for text in ("yes", "206", "198", "yes", "yes"):
        answer(session, text)
    assert session.current is not None
    assert session.current.key == "turn-in@1"
    for text in ("", "a; b; c", "216", "199", "yes", "yes"):
        answer(session, text)
    assert session.current.key == "one-thing@2"


def test_a_condition_can_look_at_the_stage_as_found_from_a_later_round(make_runner, clock) -> None:
    from memory_log import MemoryLog

    runner = make_runner(
        """
    - id: one
      title: One
      stage: as found
      steps:
        - observe: hot_gas_valve
    - id: two
      title: Two
      stage: as left
      steps:
        - observe: hot_gas_valve
          id: valve-now
        - ask: frost_pattern
          when:
            - as found: [hot_gas_valve is shut]
            - hot_gas_valve is open
"""
    )
    session = Session(runner, MemoryLog(), "job", now=clock)
    for text in ("shut", "open"):
        answer(session, text)
    assert session.current is not None
    assert session.current.key == "frost-pattern"
