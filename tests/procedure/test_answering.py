from __future__ import annotations

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock, answer, go_to

from expert.errors import ReadingError
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session

PSI = 6894.757293168


def at_pressure(session: Session) -> Session:
    go_to(session, "hot-gas-header-pressure")
    return session


def test_a_bare_number_takes_the_unit_shown(session: Session) -> None:
    answer(at_pressure(session), "206")
    reading = session.picture.readings[-1]
    assert reading.value.value == pytest.approx(206 * PSI)  # type: ignore[union-attr]


def test_a_bare_number_is_metric_in_a_metric_job(
    runner: Runner, checklist, rulebase, subject, clock: StandingClock
) -> None:
    from expert.inference.evaluate import Evaluator

    metric = runner_for(checklist, Evaluator(rulebase, subject, backend="plain"), system="si")
    session = at_pressure(Session(metric, MemoryLog(), "job", now=clock))
    answer(session, "14")
    assert session.picture.readings[-1].value.value == pytest.approx(14e5)  # type: ignore[union-attr]


def test_an_answer_keeps_text_accuracy_and_stage(session: Session) -> None:
    answer(at_pressure(session), "14.8  bar")
    data = session.picture.entries[-1].data
    assert data["text"] == "14.8 bar"
    assert data["plus_minus"] == pytest.approx(PSI)
    assert (data["stage"], data["round"]) == ("as found", 0)


def test_an_impossible_value_is_refused_with_the_accepted_range(session: Session) -> None:
    with pytest.raises(ReadingError, match=r"above 600.*0\.0 psig to 600\.0 psig"):
        at_pressure(session).answer("700 psig")


def test_a_wrong_unit_is_refused_with_an_example(session: Session) -> None:
    with pytest.raises(ReadingError, match="215 psig"):
        at_pressure(session).answer("20 F")


def test_a_refused_answer_enters_nothing(session: Session) -> None:
    before = at_pressure(session).picture
    with pytest.raises(ReadingError):
        session.answer("lots")
    assert session.picture is before


def test_an_unusual_value_gets_a_second_question_and_is_not_entered(session: Session) -> None:
    before = at_pressure(session).picture
    outcome = session.answer("30 psig")
    assert isinstance(outcome, NeedsConfirmation)
    assert "80.0 psig to 350.0 psig" in outcome.question
    assert session.picture is before


def test_an_unusual_value_that_is_stood_by_is_entered_as_confirmed(session: Session) -> None:
    at_pressure(session).answer("30 psig", sure=True)
    assert session.picture.entries[-1].data["confirmed"] is True


@pytest.mark.parametrize("text", ["na", "N/A", "unknown", "?", "not available", ""])
def test_not_knowing_is_no_answer(session: Session, text: str) -> None:
    with pytest.raises(ReadingError):
        at_pressure(session).answer(text)


@pytest.mark.parametrize(
    ("text", "phrase"),
    [("shut", "shut"), ("SHUT", "shut"), ("s", "shut"), ("2", "shut"), ("half-open", "half open")],
)
def test_a_choice_is_taken_by_phrase_beginning_or_number(
    session: Session, text: str, phrase: str
) -> None:
    go_to(session, "hot-gas-valve")
    answer(session, text)
    assert session.picture.readings[-1].value == phrase


@pytest.mark.parametrize(
    ("text", "says"),
    [("4", "There is no choice 4"), ("opne", "Did you mean 'open'"), ("na", "skip it")],
)
def test_another_choice_is_refused_with_the_list(session: Session, text: str, says: str) -> None:
    go_to(session, "hot-gas-valve")
    with pytest.raises(ReadingError, match=rf"{says}.*"):
        session.answer(text)


def test_a_beginning_of_two_choices_is_refused_with_both(session: Session) -> None:
    go_to(session, "clearing#1.defrost_state")
    with pytest.raises(ReadingError, match="ended by temperature or ended by time"):
        session.answer("ended")


def test_a_caution_answered_with_no_stays_and_says_what_to_do(session: Session) -> None:
    outcome = session.answer("no")
    assert not isinstance(outcome, NeedsConfirmation)
    assert "Put your gloves on." in outcome.message
    assert session.current is not None
    assert session.current.key == "hot-surfaces"
    entry = session.picture.entries[-1]
    assert (entry.text("caution"), entry.text("answer")) == ("hot-surfaces", "no")
    assert not entry.closes


@pytest.mark.parametrize("text", ["", "ok", "maybe"])
def test_a_caution_needs_yes_in_so_many_words(session: Session, text: str) -> None:
    with pytest.raises(ReadingError, match="yes or no"):
        session.answer(text)


def test_an_instruction_is_done_by_enter_alone(session: Session) -> None:
    go_to(session, "hold-off")
    answer(session, "")
    assert session.picture.entries[-1].kind == "done"


def test_an_instruction_is_not_done_by_other_words(session: Session) -> None:
    go_to(session, "hold-off")
    with pytest.raises(ReadingError, match="Press Enter or type done"):
        session.answer("cannot find it")


def test_an_adjustment_can_be_typed_in_one_line(session: Session) -> None:
    go_to(session, "one-thing@1", prove="yes")
    answer(session, "stem ; 0 turns; 1.5 turns in")
    [adjustment] = session.picture.adjustments
    assert (adjustment.what, adjustment.before, adjustment.after) == (
        "stem", "0 turns", "1.5 turns in",
    )  # fmt: skip
    assert adjustment.round == 1


def test_an_adjustment_can_be_given_in_three_parts(session: Session) -> None:
    go_to(session, "one-thing@1", prove="yes")
    session.adjust("stem", "0 turns", "1 turn")
    assert session.picture.adjustments[0].after == "1 turn"


@pytest.mark.parametrize("text", ["stem", "stem; 0 turns", "stem; ; 1 turn", "a; b; c; d"])
def test_an_adjustment_needs_all_three_parts(session: Session, text: str) -> None:
    go_to(session, "one-thing@1", prove="yes")
    with pytest.raises(ReadingError):
        session.answer(text)


def test_what_is_expected_is_said_for_every_step(runner: Runner, session: Session) -> None:
    go_to(session, "frost-pattern", prove="no")
    assert all(runner.expected(active) for active in runner.plan(session.picture))
