"""Anything a person may do, in any order, against what must always hold."""

from __future__ import annotations

from datetime import datetime
from urllib.parse import unquote

import pytest
from budget import examples
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from memory_log import MemoryLog
from procedure_drive import StandingClock, answer, usual

from expert.errors import ReadingError
from expert.procedure.active import id_of
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.entries import Entry, from_json, to_json
from expert.procedure.picture import fold
from expert.procedure.runner import Runner
from expert.procedure.session import Session

TEXTS = st.sampled_from(
    ["", "yes", "no", "done", "1", "2", "3", "206", "90 psig", "30 psig", "5000 psig", "open",
     "shut", "still running", "ended by time", "4 min", "a; b; c", "na", "clear", "0",
     "A1", "a2, a3", "all"]
)  # fmt: skip
STOPS = (
    "instruct", "observe", "watch", "time", "adjust", "restore", "sign", "call", "members", "none",
)  # fmt: skip
MOST_STEPS = 120


class AnyWork(RuleBasedStateMachine):
    """A technician who does anything."""

    runner: Runner

    @initialize()
    def start(self) -> None:
        self.clock = StandingClock()
        self.log = MemoryLog()
        self.session = Session(self.runner, self.log, "job", now=self.clock)
        self.seen: tuple[Entry, ...] = ()
        self.texts: list[tuple[str, str]] = []

    @precondition(lambda self: not self.session.finished)
    @rule(text=TEXTS, sure=st.booleans())
    def type_something(self, text: str, sure: bool) -> None:
        active = self.session.current
        assert active is not None
        before = self.session.picture
        try:
            outcome = self.session.answer(text, sure=sure)
        except ReadingError as error:
            assert str(error)
            assert self.session.picture is before
            return
        if isinstance(outcome, NeedsConfirmation):
            assert self.session.picture is before
        elif outcome.drafts[0].kind == "answer":
            self.texts.append((active.key, str(outcome.drafts[0].data["text"])))

    @precondition(lambda self: not self.session.finished)
    @rule(step_type=st.sampled_from(STOPS))
    def answer_as_usual_until(self, step_type: str) -> None:
        for _ in range(MOST_STEPS):
            answer(self.session)
            if self.session.current is None or self.session.current.step.type == step_type:
                return

    @precondition(lambda self: not self.session.finished)
    @rule(rest=st.booleans(), member=st.booleans())
    def skip(self, rest: bool, member: bool) -> None:
        try:
            self.session.skip("cannot get at it", rest=rest, member=member)
        except ReadingError as error:
            assert "cannot be skipped" in str(error) or "left out already" in str(error)

    @precondition(lambda self: not self.session.finished)
    @rule(
        how=st.sampled_from(["1: warm still", "2: a valve", "3: the night crew", "4: called off"])
    )
    def close_the_job(self, how: str) -> None:
        self.session.close(how)
        closing = self.session.picture.closed_as
        assert closing is not None
        assert closing.text("detail") == how[3:]

    @rule()
    def back(self) -> None:
        current = self.session.current
        try:
            self.session.back()
        except ReadingError as error:
            assert "first step" in str(error)
        else:
            assert self.session.current != current
            assert self.session.current is not None

    @precondition(lambda self: self.session.picture.closed)
    @rule(data=st.data())
    def reopen(self, data: st.DataObject) -> None:
        keys = [a.key for a in self.runner.plan(self.session.picture) if a.closed]
        if keys:
            key = data.draw(st.sampled_from(keys))
            self.session.reopen(key)
            plan = self.runner.plan(self.session.picture)
            asked = [active.closed for active in plan if active.key == key]
            assert asked == ([] if self.ends_something(key) else [False])

    def ends_something(self, key: str) -> bool:
        """Whether a key stands for what was left out of a watch, of a member or of the job."""
        whole_watch = "#" not in key and id_of(key).rpartition("/")[2] == "clearing"
        return whole_watch or key.startswith("each~A") or key == "close"

    @precondition(lambda self: "hold-off" in self.session.picture.closed)
    @rule()
    def open_again(self) -> None:
        self.change("hold-off", "done")

    @precondition(lambda self: "hot-gas-valve" in self.session.picture.closed)
    @rule(text=st.sampled_from(["open", "shut"]))
    def turn_the_valve(self, text: str) -> None:
        self.change("hot-gas-valve", text)

    def change(self, key: str, text: str) -> None:
        self.session.reopen(key)
        if self.session.current is not None and self.session.current.key == key:
            answer(self.session, text)

    @precondition(lambda self: not self.session.finished)
    @rule()
    def go_to_another_round(self) -> None:
        while (active := self.session.current) is not None:
            answer(self.session, "yes" if active.loop else None)
            if active.loop:
                return

    @rule()
    def note(self) -> None:
        self.session.note("something seen")

    @rule(minutes=st.integers(1, 300))
    def time_passes(self, minutes: int) -> None:
        self.clock.pass_minutes(minutes)

    @rule()
    def restart(self) -> None:
        entries = [from_json(to_json(entry)) for entry in self.log.entries]
        key = self.session.current and self.session.current.key
        self.session = Session(self.runner, self.log, "job", entries, now=self.clock)
        assert (self.session.current and self.session.current.key) == key

    @invariant()
    def the_entries_alone_give_the_picture(self) -> None:
        assert fold(from_json(to_json(entry)) for entry in self.log.entries) == self.session.picture

    @invariant()
    def nothing_entered_disappears(self) -> None:
        entries = self.session.picture.entries
        assert entries[: len(self.seen)] == self.seen
        assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
        self.seen = entries
        kept = {(entry.step, entry.text("text")) for entry in entries}
        assert set(self.texts) <= kept

    @invariant()
    def the_current_step_is_the_first_that_is_not_closed(self) -> None:
        plan = self.runner.plan(self.session.picture)
        assert len({active.key for active in plan}) == len(plan)
        current = self.session.current
        if current is None:
            assert all(active.closed for active in plan)
        else:
            assert not current.closed
            assert all(each.closed for each in plan[: plan.index(current)])

    @invariant()
    def every_reading_comes_from_an_answer_in_force(self) -> None:
        in_force = {entry.step for entry in self.session.picture.closed.values()}
        readings = self.runner.readings(self.session.picture)
        aside = self.runner.set_aside(self.session.picture)
        assert {reading.step for reading in readings + aside} <= in_force
        assert not {reading.step for reading in readings} & {reading.step for reading in aside}
        assert all(isinstance(reading.at, datetime) for reading in readings)

    @invariant()
    def nothing_is_measured_before_its_cautions_are_answered(self) -> None:
        plan, current = self.runner.plan(self.session.picture), self.session.current
        quantity = self.runner.rulebase.quantities.get(current.quantity) if current else None
        if current is None or quantity is None:
            return
        answered = {
            active.step.text
            for active in plan[: plan.index(current)]
            if active.step.type == "caution" and active.call == current.call and active.closed
            if active.entry is not None and not active.entry.refuses
        }
        assert {*quantity.cautions} <= answered

    @invariant()
    def no_caution_of_the_plan_is_passed_over(self) -> None:
        plan, current = self.runner.plan(self.session.picture), self.session.current
        passed = plan if current is None else plan[: plan.index(current)]
        cautions = [active for active in passed if active.step.type == "caution"]
        assert all(a.entry is not None and a.entry.kind == "acknowledge" for a in cautions)

    @invariant()
    def what_was_read_on_a_member_belongs_to_it(self) -> None:
        for reading in self.runner.readings(self.session.picture):
            assert reading.subject == unquote(reading.step.partition("~")[2].partition("#")[0])

    @invariant()
    def finished_means_signed_and_nothing_left_open(self) -> None:
        if self.session.finished:
            picture = self.session.picture
            assert picture.still_open == () or picture.closed_as is not None
            assert self.runner.signed_by(self.session.picture)

    def teardown(self) -> None:
        for _ in range(MOST_STEPS):
            if self.session.finished:
                return
            assert usual(self.session) is not None
            answer(self.session)
        pytest.fail(f"not finished after {MOST_STEPS} more answers")


@pytest.mark.parametrize("name", ["runner", "walk"])
def test_whatever_a_person_does_the_job_stays_whole_and_can_be_finished(
    name: str, request: pytest.FixtureRequest
) -> None:
    machine = type("Bound", (AnyWork,), {"runner": request.getfixturevalue(name)})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples(60),
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
