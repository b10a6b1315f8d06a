"""The table of a place holds what is read there at that moment, and nothing that is not needed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from walked_job import DEMO, begun

from expert.errors import ReadingError
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.procedure.answers import Answers
from expert.procedure.by_name import parts_of
from expert.procedure.checklist import Checklist
from expert.procedure.open_now import takeable
from expert.procedure.place_table import place_table, still_open
from expert.procedure.screens import WORKING
from expert.procedure.scripted import _enter
from expert.procedure.session import Session

HEALTHY = "hot-gas-defrost-checkout.a4-healthy"
AT_THE_END = {"termination-sensor-reading", "coil-last-tube-temperature", "ice-left"}


@pytest.fixture
def job(shipped_rulebase: Rulebase, checklists: dict[str, Checklist]) -> tuple[Session, Answers]:
    site = load_site(DEMO / "site.yaml", shipped_rulebase)
    session, answers = begun(HEALTHY, site, shipped_rulebase, checklists)
    session.lead(WORKING)
    session.settle()
    return session, answers


def up_to(job: tuple[Session, Answers], key: str) -> Session:
    """The session when a step is asked."""
    session, answers = job
    while (active := session.current) is not None and active.key != key:
        found = answers.find(active, "no")
        if found is None:  # shown, with nothing to say
            session.answer("")
        else:
            _enter(session, active, found)
    return session


def table(session: Session) -> list[str]:
    rows = place_table(session.open_now(), session.current, session.runner.rulebase)
    return [each.active.key for each in rows]


def test_what_is_read_as_the_gas_goes_off_is_no_row_three_minutes_after_it_came_on(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "hot-gas-header-pressure")
    assert "liquid-header-pressure" in table(session)
    assert not AT_THE_END & {*table(session)}
    assert {each.active.key for each in takeable(session.open_now())} >= AT_THE_END  # by name
    assert {*AT_THE_END} <= {*table(up_to(job, "defrost-ended-by"))}


def test_a_detail_comes_when_what_decides_it_was_read(job: tuple[Session, Answers]) -> None:
    session = up_to(job, "outdoor-temperature")
    assert "sight-glass" in table(session)
    assert not {"drier-inlet-pressure", "condenser-mode"} & {*table(session)}
    session.take_at("sight-glass", "bubbles", sure=True)
    assert "drier-inlet-pressure" in table(session)
    assert "condenser-mode" not in table(session)  # the receiver's level is still a row
    session.take_at("receiver-level", "10 %", sure=True)
    assert "condenser-mode" in table(session)


def test_a_detail_of_a_value_that_is_worked_out_waits_for_what_it_is_worked_out_from(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "hot-gas-header-pressure")
    assert "discharge-header-pressure" not in table(session)
    session.take_at("hot-gas-header-pressure", "155 psig", sure=True)
    session.take_at("liquid-header-pressure", "152 psig", sure=True)
    assert "discharge-header-pressure" in table(session)  # a differential of 3 psi is low


def test_a_row_that_an_answer_made_needless_is_not_waited_for(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "outdoor-temperature")
    rows = [e for e in takeable(session.open_now()) if e.active.key == "drier-inlet-pressure"]
    assert still_open(rows, session.open_now())
    session.take_at("sight-glass", "clear")
    assert not still_open(rows, session.open_now())


def test_probes_are_fitted_after_the_schedule_is_held_off_and_every_hazard_is_answered(
    job: tuple[Session, Answers],
) -> None:
    session, _ = job
    session.tick("12")  # the job's own hazards and the food
    assert session.screen is not None
    assert "hold-off" in {each.key for each in session.screen.parts}  # as a hazard will ask
    session.tick("")
    assert session.screen is not None
    hazards = [each.key for each in session.screen.parts]
    assert hazards == ["refrigerant-exposure", "stored-pressure", "hot-surfaces"]
    session.tick("13")  # stored pressure is not so: it is asked by itself
    assert session.current is not None and session.current.key == "stored-pressure"
    session.skip("relief line not seen yet")
    asked = {each.key for each in session.runner.plan(session.picture)}
    assert "fit-probes" not in asked  # what it guards is left out
    assert "people-at-defrost" in asked


def test_the_suction_stop_before_the_gas_has_an_answer_of_its_own(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "suction-stop-before-gas")
    assert session.screen is not None and len(session.screen.parts) == 1  # no Enter for all
    session.answer("cannot be seen")
    assert session.current is not None and session.current.key == "end-before-gas"


def test_a_name_that_is_typed_wrong_is_told_with_the_one_that_is_near(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "people-at-defrost")
    assert session.take("recever level 38") is None  # nothing is guessed
    assert session.nearest_reading("recever level 38") == "Did you mean 'receiver level'?"
    assert session.nearest_reading("outdor 70 at 8:00") == "Did you mean 'outdoor temperature'?"
    assert session.nearest_reading("stedy yes") == "Did you mean 'rack steady'?"
    assert session.nearest_reading("stedy 12") == ""
    assert session.nearest_reading("gremlins 70") == session.nearest_reading("38") == ""


def test_words_behind_a_number_change_no_reading(job: tuple[Session, Answers]) -> None:
    session = up_to(job, "people-at-defrost")
    (whole,) = parts_of("outdoor 3 F below zero")
    with pytest.raises(ReadingError, match="below zero"):
        session.take(whole)
    assert "outdoor-temperature" not in session.picture.closed


def test_a_word_that_one_reading_takes_now_is_not_for_a_later_one(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "suction-stop-before-gas")
    took = session.take("suction stop shut")
    assert took is not None and took.active is not None
    assert took.active.key == "suction-stop-before-gas"  # the one with gas on is not asked yet


def test_in_a_line_what_waits_for_another_part_of_it_is_taken_behind_it(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "fans-in-defrost")
    line = ("suction stop shut", "fans in defrost off")
    told = [session.take(each) for each in session.as_they_can_be(line)]
    assert [each.active.key for each in told if each and each.active] == [
        "fans-in-defrost", "suction-stop-before-gas",
    ]  # fmt: skip
    assert [*session.as_they_can_be(line[:1])] == [line[0]]


def test_a_minute_of_the_running_clock_is_the_time_of_any_reading_beside_it(
    job: tuple[Session, Answers],
) -> None:
    session = up_to(job, "hot-gas-header-pressure")
    started = session.picture.clocks["defrost"]
    session.now = lambda: started + timedelta(minutes=10)
    for name, key in (("hot gas header", "hot-gas-header"), ("liquid header", "liquid-header")):
        took = session.take(f"{name} 155 psig at 3 min")
        assert took is not None and not took.message
        entry = session.picture.closed[f"{key}-pressure"]
        assert entry.time("taken") == started + timedelta(minutes=3)
    with pytest.raises(ReadingError, match="lies ahead"):
        session.take("suction header 8.6 at 300 min")
