"""The table of a place holds what is read there at that moment, and nothing that is not needed."""

from __future__ import annotations

import pytest
from walked_job import DEMO, begun

from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.procedure.answers import Answers
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


def test_the_hazards_of_the_motor_room_are_one_screen_and_come_before_the_probes(
    job: tuple[Session, Answers],
) -> None:
    session, _ = job
    hazards = [each.key for each in session.screen.parts] if session.screen else []
    assert hazards == [
        "job-hazard", "food-safety", "refrigerant-exposure", "stored-pressure", "hot-surfaces",
    ]  # fmt: skip
    session.tick("1235")  # stored pressure is not so: it is asked by itself
    assert session.current is not None and session.current.key == "stored-pressure"
    session.skip("relief line not seen yet")
    asked = {each.key for each in session.runner.plan(session.picture)}
    assert "fit-probes" not in asked  # what it guards is left out
    assert "people-at-defrost" in asked
