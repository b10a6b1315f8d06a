"""A reading is as true as the way in which it was taken, and that is kept with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock, go_to

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge import judge
from expert.knowledge.how_read import split_way
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.procedure.by_name import parts_of
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.history import Earlier, drift
from expert.procedure.picture import reading_of
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session
from expert.units.kinds import ATMOSPHERE, Kind
from expert.units.measure import Measure

PSI = 6894.757293168
HEAD = "hot-gas-header-pressure"


def kept(runner: Runner, *typed: str) -> Entry:
    """What stands at the upper header after some texts were typed there."""
    session = Session(runner, MemoryLog(), "job", now=StandingClock())
    go_to(session, HEAD)
    for text in typed:
        session.answer(text)
    return session.picture.closed[HEAD]


@pytest.mark.parametrize(
    ("typed", "within", "way"),
    [
        ("206", 1.0, ""),
        ("206 by display", 4.12, "display"),  # 2 % of it
        ("110 psig by rack display", 3.0, "display"),  # at least so much
        ("206 by probe", 1.0, "pressure-probe"),  # the usual way, by what the quantity says of it
        ("206 By Gauge Manifold", 2.0, "gauge-manifold"),
        ("206 by disp", 4.12, "display"),
    ],
)
def test_the_accuracy_follows_the_way(typed: str, within: float, way: str, runner: Runner) -> None:
    reading = reading_of(kept(runner, typed))
    assert isinstance(reading.value, Measure)
    assert reading.value.plus_minus == pytest.approx(within * PSI)
    assert (reading.way, reading.text) == (way, typed)


@pytest.mark.parametrize("typed", ["206 by display at 7:30", "206 at 7:30 by display"])
def test_way_and_time_stand_in_any_order(typed: str, runner: Runner) -> None:
    entry = kept(runner, typed)
    assert entry.text("way") == "display"
    assert entry.time("taken") != entry.at
    assert entry.time("taken") == (entry.at - timedelta(minutes=30))


@pytest.mark.parametrize(
    ("typed", "way", "value"),
    [
        ("215 by display", "display", "215"),
        ("215 psig by rack display 8 min ago", "rack display", "215 psig 8 min ago"),
        ("215 psig", "", "215 psig"),
        ("20 by 30", "", "20 by 30"),
    ],
)
def test_a_way_is_words_behind_by(typed: str, way: str, value: str) -> None:
    assert split_way(typed) == (value, way)


def test_what_is_no_way_is_refused_with_those_that_there_are(runner: Runner) -> None:
    with pytest.raises(ReadingError, match="no way of taking the hot-gas header pressure") as told:
        kept(runner, "206 by telephone")
    assert "Ways: pressure probe, display, gauge manifold." in str(told.value)


def test_a_pressure_is_not_taken_with_what_reads_none(rulebase: Rulebase) -> None:
    air = rulebase.quantities["case_air"]
    assert [each.way.id for each in air.ways] == ["display"]
    with pytest.raises(ReadingError, match="by probe"):
        judge.number("5 by probe", air, barometer=ATMOSPHERE, system="us")


def test_a_crew_without_probes_has_the_accuracy_of_its_manifold(
    checklist: Checklist, rulebase: Rulebase, subject: Subject
) -> None:
    evaluator = Evaluator(rulebase, subject, backend="plain")
    crew = runner_for(checklist, evaluator, instruments=("gauge-manifold",))
    usual, said = (reading_of(kept(crew, typed)) for typed in ("206", "206 by probe"))
    assert isinstance(usual.value, Measure) and isinstance(said.value, Measure)
    assert (usual.way, usual.value.plus_minus) == ("gauge-manifold", pytest.approx(2 * PSI))
    assert (said.way, said.value.plus_minus) == ("pressure-probe", pytest.approx(PSI))


@pytest.mark.parametrize(("by", "word"), [("", "normal"), (" by display", "too close to call")])
def test_it_is_judged_with_its_way(by: str, word: str, runner: Runner) -> None:
    session = Session(runner, MemoryLog(), "job", now=StandingClock())
    go_to(session, HEAD)
    session.answer(f"215.5{by}")
    session.answer(f"198{by}")
    assert session.evaluation().states["defrost_differential"].word == word


@pytest.mark.parametrize(("by", "drifted"), [("", True), (" by display", False)])
def test_drift_is_told_beyond_both_ways(by: str, drifted: bool, runner: Runner) -> None:
    last = Measure(Kind.GAUGE_PRESSURE, 202 * PSI, 1 * PSI)
    at = datetime(2026, 11, 1, tzinfo=UTC)
    reading = reading_of(kept(runner, f"206{by}"))
    assert (drift(reading, Earlier(at, last, "A. Tech", "job")) is not None) is drifted
    far = Earlier(at, replace(last, value=190 * PSI), "A. Tech", "job")
    assert drift(reading, far) is not None


def test_a_job_from_before_keeps_its_accuracy(runner: Runner) -> None:
    entry = kept(runner, "206")
    assert "way" not in entry.data
    assert reading_of(entry).way == ""


def test_a_word_for_a_number_may_have_its_way_too() -> None:
    assert judge.in_words("very low by eye") == "very low"


def test_a_way_does_not_begin_the_next_reading_of_a_line() -> None:
    assert parts_of("head 215 by display outside 82") == ("head 215 by display", "outside 82")
