"""A guided search on an invented plant: what it asks next, what may be typed, how it ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache

import pytest
from budget import at_night, step
from memory_log import MemoryLog
from shipped_knowledge import shipped_checklists, shipped_rules

from expert.errors import PackError, ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.site import Subject
from expert.procedure.answering import Accepted
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.load_checklists import parse_checklist
from expert.procedure.read_answers import parse_answers
from expert.procedure.runner import runner_for
from expert.procedure.scripted import play
from expert.procedure.search import find_reading, leading
from expert.procedure.session import Session

RACK = Subject(
    "R", "an invented rack", "rack", "R",
    {"refrigerant": "R-407A", "application": "medium temperature", "defrost": "off cycle"}, 1600.0,
)  # fmt: skip
FACE = {
    "outdoor_temperature": "82 F", "discharge_header_pressure_at_rest": "330 psig",
    "condenser_mode": "full", "heat_reclaim": "off", "condenser_fans": "as called",
    "condenser_face": "dirty",
}  # fmt: skip


@cache
def checklist() -> Checklist:
    return shipped_checklists()["find-the-fault"]


def begun(
    complaint: str = "every case is warm", kind: str = "air cooled", receiver: str = "yes",
    on: Subject = RACK, most: int = 5,
) -> Session:  # fmt: skip
    """A search whose complaint and last change are told already; told once, then gone on with."""
    told = (complaint, kind, receiver, repr(on), most)
    runner = runner_for(checklist(), Evaluator(shipped_rules(), on, backend="plain"))
    session = Session(
        runner, MemoryLog(), "job", TOLD.get(told, ()),
        now=lambda: datetime(2026, 3, 14, 8, 0, tzinfo=UTC),
    )  # fmt: skip
    if told not in TOLD:
        tell(session, complaint, kind, receiver, most)
        TOLD[told] = session.picture.entries
    return session


TOLD: dict[tuple[str | int, ...], Sequence[Entry]] = {}


def tell(session: Session, complaint: str, kind: str, receiver: str, most: int) -> None:
    """The first answers of a search; the kind of plant is told by name before it is asked for."""
    for text in (complaint, "yes", "nothing known")[:most]:
        session.answer(text)
        if session.current is not None and session.current.quantity == "compressors_running":
            session.answer("none")  # asked of a rack that is down
    for named in (f"condenser_kind {kind}", f"receiver_fitted {receiver}")[: max(0, most - 3)]:
        session.answer(named)


def at(session: Session) -> str:
    assert session.current is not None
    return session.current.key


def past_cautions(session: Session) -> None:
    while session.current is not None and session.current.step.type == "caution":
        session.answer("yes")


def to_the_end(session: Session, readings: dict[str, str], most: int = 100) -> list[str]:
    """Answers until the search ends or `most` were asked; what is not among the readings is not
    available."""
    asked = []
    for _ in range(100):
        past_cautions(session)
        active = session.current
        assert active is not None
        if active.step.type == "search" or len(asked) == most:
            return asked
        asked.append(active.quantity)
        if active.quantity in readings:
            session.answer(readings[active.quantity], sure=True)
        else:
            session.skip("not available here")
    raise AssertionError(f"no end: {asked}")


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("milk case is warm", "case warm"),
        ("all the cases are warm", "all cases warm"),
        ("high-pressure trips", "head high"),
        ("low pressure trips", "suction low"),
        ("trips on oil", "oil trips"),
        ("there is ice on my coil", "ice on the coil"),
        ("the defrost is not clearing", "defrost does not clear"),
        ("nothing runs any more", "rack down"),
    ][:: step(2)],
)
def test_a_complaint_is_found_by_its_words(said: str, meant: str) -> None:
    session = begun(said, most=1)
    assert session.picture.closed["complaint"].data["value"] == meant


def test_words_that_are_no_complaint_are_refused_with_what_there_is() -> None:
    session = begun()
    session.reopen("complaint")
    with pytest.raises(ReadingError, match="none of the choices"):
        session.answer("purple")


def test_it_ends_when_a_cause_leads_and_names_its_checklist() -> None:
    session = begun()
    asked = to_the_end(session, FACE)
    found = leading(session.evaluation(), shipped_rules())
    assert found is not None and found.cause.id == "dirty-condenser"
    assert len(asked) == len(set(asked)), "what was asked or skipped is not asked again"
    end = session.current
    assert end is not None
    handed = end.step.hands_over[found.cause.system]
    assert handed[0].id == "condenser-and-head-pressure-warm"


def test_any_reading_is_taken_by_name_and_back_changes_it() -> None:
    session = begun()
    before = at(session)
    session.answer("outdoor temperature 82 F")
    assert session.picture.closed["search!outdoor_temperature"].text("text") == "82 F"
    assert at(session) == before or session.current.quantity != "outdoor_temperature"  # type: ignore[union-attr]
    session.answer("outside 28 C")
    assert session.picture.closed["search!outdoor_temperature"].text("text") == "28 C"
    session.back()
    assert at(session) == "search!outdoor_temperature"
    assert session.default() == "28 C"
    session.answer("80 F")
    readings = [each for each in session.runner.readings(session.picture)]
    assert [each.text for each in readings if each.quantity == "outdoor_temperature"] == ["80 F"]


def test_a_named_reading_waits_for_its_cautions_and_keeps_its_value() -> None:
    session = begun()
    outcome = session.answer("head 330")
    assert isinstance(outcome, Accepted) and "caution" in outcome.message
    assert session.current is not None and session.current.step.type == "caution"
    assert "discharge header pressure" in session.current.step.say
    assert "search!discharge_header_pressure_at_rest" not in session.picture.closed
    past_cautions(session)
    assert at(session) == "search!discharge_header_pressure_at_rest"
    assert session.default() == "330"
    session.answer("")
    kept = session.picture.closed["search!discharge_header_pressure_at_rest"]
    assert kept.text("text") == "330"


def test_a_no_at_a_caution_leaves_out_what_it_guards_and_the_search_goes_on() -> None:
    session = begun()
    session.answer("head 330")
    while session.current is not None and session.current.step.type == "caution":
        session.skip("no gloves with me")
    guarded = {"stored-pressure", "hot-surfaces"}
    rules = shipped_rules()
    for _ in range(10):
        active = session.current
        assert active is not None
        if active.step.type == "search":
            break
        if active.step.type != "caution":
            assert not guarded & {*rules.quantities[active.quantity].cautions}
        session.skip("not available here")
    assert not any(e.kind == "answer" and "head" in e.step for e in session.picture.entries)


def test_wrong_input_says_what_is_accepted() -> None:
    session = begun()
    key = at(session)
    entries = len(session.picture.entries)
    for text in ("", "flabbergasted", "999999", "outside 999 F"):
        with pytest.raises(ReadingError):
            session.answer(text)
    assert at(session) == key and len(session.picture.entries) == entries
    with pytest.raises(ReadingError, match="could be"):
        session.answer("pressure 215")


@at_night
def test_what_is_foreign_to_the_plant_is_not_asked_and_unknown_is_not_assumed() -> None:
    def asked(kind: str, receiver: str) -> set[str]:
        return {*to_the_end(begun("bubbles in the glass", kind, receiver), {})}

    assert "receiver_level" in asked("air cooled", "yes")
    assert not any(name.startswith("receiver_level") for name in asked("air cooled", "no"))
    head = {*to_the_end(begun("high head", "water cooled", "yes"), {})}
    assert not head & {"condenser_face", "condenser_fans"}


@at_night
def test_what_is_not_foreign_is_asked() -> None:
    assert {*to_the_end(begun("high head"), {})} & {"condenser_face", "condenser_fans"}


COIL = Subject("C", "an invented circuit", "circuit", "R", RACK.facts, 1600.0)


@pytest.mark.parametrize(
    ("on", "complaint", "foreign"),
    [
        (replace(RACK, facts={**RACK.facts, "refrigerant": "R-744"}), "every case is warm",
         {"condenser_mode", "heat_reclaim", "liquid_line_cold_spot", "bubbles_where"}),
        (COIL, "the defrost is not clearing",
         {"hot_gas_valve", "suction_stop", "coil_state", "heater_current_a", "heater_supply"}),
        (RACK, "every case is warm", {"room_carbon_dioxide", "co2_flash_tank_level"}),
    ][:: step(3)],
)  # fmt: skip
def test_what_is_foreign_to_the_refrigerant_or_the_defrost_is_not_asked(
    on: Subject, complaint: str, foreign: set[str]
) -> None:
    asked = {*to_the_end(begun(complaint, on=on), {}, most=12)}
    assert len(asked) == 12
    assert not asked & foreign


def test_enough_ends_it_and_more_goes_on() -> None:
    session = begun()
    session.answer("enough")
    assert at(session) == "restart"
    session.back()
    assert at(session) != "restart"
    to_the_end(session, FACE)
    with pytest.raises(ReadingError, match="names no reading"):
        session.answer("flabbergasted")
    session.answer("more")
    past_cautions(session)
    assert at(session).startswith("search!")
    session.skip("not available here")
    assert at(session) == "search"
    session.answer("")
    assert at(session) == "restart"


@pytest.mark.parametrize("cautioned", [False, True], ids=["at the caution", "at the reading"])
def test_enough_ends_it_also_where_a_reading_was_wanted_by_name(cautioned: bool) -> None:
    session = begun()
    session.answer("outside 82 F")
    session.answer("suction header pressure at rest")
    if cautioned:
        past_cautions(session)
    assert ("suction" in at(session)) == cautioned
    session.answer("enough")
    assert at(session) == "restart"
    gone = "search!suction_header_pressure_at_rest"
    plan = session.runner.plan(session.picture)
    assert gone not in [each.key for each in plan]
    cautions = [each for each in plan if each.step.type == "caution" and each.key[:7] == "search."]
    assert all(each.closed for each in cautions) and bool(cautions) == cautioned
    session.back()
    assert at(session) != "restart"  # and is asked again once the search is opened again
    past_cautions(session)
    assert at(session) == gone


def test_enough_while_a_reading_is_corrected_says_that_it_is_still_asked() -> None:
    session = begun()
    session.answer("outside 82 F")
    session.reopen("search!outdoor_temperature", "misread")
    assert at(session) == "search!outdoor_temperature"
    done = session.answer("enough")
    assert isinstance(done, Accepted) and "answered or skipped" in done.message
    session.answer("84 F")
    assert at(session) == "restart"


def test_it_goes_on_where_it_was_left() -> None:
    session = begun()
    session.answer("outside 82 F")
    session.skip("not available here")
    session.answer("level 40 %") if session.current else None
    runner = runner_for(checklist(), Evaluator(shipped_rules(), RACK, backend="plain"))
    again = Session(runner, MemoryLog(), "job", session.picture.entries)
    assert at(again) == at(session)
    assert again.runner.readings(again.picture) == session.runner.readings(session.picture)


def test_an_answers_file_gives_its_readings_by_name_and_then_has_enough() -> None:
    text = """
answers:
  job-hazard: yes
  complaint: case warm
  what-changed: nothing known
  condenser-kind: {skip: cannot see it}
  receiver-fitted: {skip: cannot see it}
  search.moving-fans: yes
  search:
    outdoor_temperature: 82 F
    frost_before: {skip: no access}
  restart: yes
  back-as-it-was: done
  tell-the-store: done
  signature: A. Sample
"""
    runner = runner_for(checklist(), Evaluator(shipped_rules(), RACK, backend="plain"))
    session = Session(runner, MemoryLog(), "job")
    list(play(session, parse_answers(text, "file.yaml", checklist())))
    assert session.finished
    assert "search!outdoor_temperature" in session.picture.closed


def test_a_name_that_no_quantity_has_is_told_in_an_answers_file() -> None:
    text = "answers:\n  search: {outdoor_temprature: 82 F}\n"
    session = begun()
    with pytest.raises(ReadingError, match="outdoor_temperature"):
        list(play(session, parse_answers(text, "file.yaml", checklist())))


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("receiver level 40 %", ("receiver_level", "40 %")),
        ("receiver_level", ("receiver_level", "")),
        ("glass clear", ("sight_glass", "clear")),
        ("head 215", ("discharge_header_pressure_at_rest", "215")),
        ("215", None),
        ("-8F", None),
        ("flabbergasted", None),
    ],
)
def test_readings_by_name(text: str, named: tuple[str, str] | None) -> None:
    step = checklist().step("search")
    assert step is not None
    found = find_reading(text, shipped_rules().quantities, (), step.short_names)
    assert (found and (found[0].id, found[1])) == named


def test_what_a_search_names_must_be_there() -> None:
    text = """
checklist:
  id: small
  title: Small
  revision: 1
  purpose: Search.
  subject: rack or circuit
  source: common practice
  phases:
    - id: only
      title: Only
      stage: as found
      steps:
        - search: The cause
          id: search
          short names: {head: discharge_header_presure}
          hands over: {condensor: [nowhere]}
"""
    with pytest.raises(PackError) as error:
        parse_checklist(text, "small.yaml", shipped_rules())
    told = str(error.value)
    assert "'condensor'" in told and "'nowhere'" in told and "discharge_header_presure" in told


def test_a_value_behind_a_name_does_not_begin_another_name() -> None:
    """'receiver level 2 %' is the level, not that of 20 minutes after the call."""
    named = find_reading("receiver level 2 %", shipped_rules().quantities)
    assert named is not None
    assert (named[0].id, named[1]) == ("receiver_level", "2 %")
