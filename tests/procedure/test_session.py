from __future__ import annotations

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock, answer, finish

from expert.errors import MovedOnError, RackwalkError
from expert.procedure.entries import Entry
from expert.procedure.runner import Runner
from expert.procedure.session import Session


class FullDisk(MemoryLog):
    def append(self, job_id: str, *entries: Entry) -> None:
        raise RackwalkError("no space left")


def test_an_entry_is_in_the_log_before_the_picture_goes_on(
    runner: Runner, clock: StandingClock
) -> None:
    seen: list[int] = []

    class Watching(MemoryLog):
        def append(self, job_id: str, *entries: Entry) -> None:
            seen.append(len(session.picture.entries))
            super().append(job_id, *entries)

    log = Watching()
    session = Session(runner, log, "job", now=clock)
    answer(session, "yes")
    assert seen == [0]
    assert tuple(log.entries) == session.picture.entries


def test_what_the_log_does_not_take_is_not_in_the_picture(
    runner: Runner, clock: StandingClock
) -> None:
    session = Session(runner, FullDisk(), "job", now=clock)
    with pytest.raises(RackwalkError):
        session.answer("yes")
    assert session.picture.entries == ()
    assert session.current is not None
    assert session.current.key == "hot-surfaces"


def test_the_log_is_told_when_the_job_is_finished_and_when_it_is_open_again(
    runner: Runner, clock: StandingClock
) -> None:
    log = MemoryLog()
    session = Session(runner, log, "job", now=clock)
    finish(session)
    assert log.finished == [clock.time]
    session.back()
    assert log.finished == [clock.time, None]


def test_entries_are_numbered_and_carry_the_time(session: Session, clock: StandingClock) -> None:
    answer(session, "yes")
    clock.pass_minutes(1)
    answer(session, "done")
    assert [entry.seq for entry in session.picture.entries] == [1, 2]
    assert session.picture.entries[1].at == clock.time


def test_a_finished_session_takes_no_more_answers(session: Session) -> None:
    finish(session)
    with pytest.raises(RackwalkError, match="finished"):
        session.answer("yes")


def beside(runner: Runner, clock: StandingClock, log: MemoryLog, who: str) -> Session:
    """A session over entries that another one keeps too."""
    return Session(
        runner, log, "job", log.entries, now=clock, who=who,
        others=lambda seq: log.entries[seq:],
    )  # fmt: skip


class SharedLog(MemoryLog):
    def append(self, job_id: str, *entries: Entry) -> None:
        if entries[0].seq != len(self.entries) + 1:
            raise MovedOnError("somebody else has entered something")
        super().append(job_id, *entries)


def test_what_another_session_entered_is_taken_in(runner: Runner, clock: StandingClock) -> None:
    log = SharedLog()
    first, second = (beside(runner, clock, log, who) for who in ("A. Sample", "B. Sample"))
    assert second.catch_up() == ()
    first.answer("yes")
    with pytest.raises(MovedOnError):
        second.answer("yes")
    assert second.picture.entries == ()
    assert [entry.who for entry in second.catch_up()] == ["A. Sample"]
    assert second.current == first.current
    answer(second)
    assert [entry.who for entry in log.entries] == ["A. Sample", "B. Sample"]
    assert first.catch_up() and first.picture == second.picture


def test_a_job_that_another_session_finished_is_finished(
    runner: Runner, clock: StandingClock
) -> None:
    log = SharedLog()
    first, second = (beside(runner, clock, log, who) for who in ("A. Sample", "B. Sample"))
    finish(first)
    second.catch_up()
    assert second.finished
    second.back()
    first.catch_up()
    assert not first.finished
    finish(first)
    assert [each is None for each in log.finished] == [False, True, False]
