"""The checklist runner: what is asked now, and what follows from an answer."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import datetime

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation
from expert.inference.truth import Facts
from expert.knowledge import judge
from expert.knowledge.conditions import signs_in
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.knowledge.where import ROOMS
from expert.physics.air.barometer import barometer
from expert.procedure.active import Active
from expert.procedure.answering import Accepted, Answering, NeedsConfirmation
from expert.procedure.asked import answers, asked
from expert.procedure.checklist import Checklist
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.closing import closed
from expert.procedure.entries import CLOSING, Draft, Entry
from expert.procedure.expectations import expected
from expert.procedure.history import NOT_LOOKED_AT, History, OpenItem
from expert.procedure.judging import Evaluate, JudgeOver, Readings
from expert.procedure.left_out import to_put_back
from expert.procedure.offered import offered_entry
from expert.procedure.open_items import TYPE as OPEN_ITEM
from expert.procedure.open_items import answered, open_steps
from expert.procedure.people import step_before
from expert.procedure.picture import Picture
from expert.procedure.planner import NONE, Planner
from expert.procedure.reading_time import is_of_day, time_behind, without_time
from expert.procedure.search import typed_before
from expert.procedure.searching import in_search, search_of
from expert.procedure.set_points import with_set_point
from expert.procedure.step_clock import Elapsed, due, elapsed, last_started
from expert.procedure.stops import asked_again, stopped

Ways = tuple[str, ...]
NEVER_SKIPPED = ("sign", CLOSE)


class Runner(Planner):
    """Answers, as drafts of entries. Pure: pictures in, drafts out.

    `system` is the unit system of bare numbers; `instruments` are the ways of reading that the
    crew has.
    """

    def __init__(
        self,
        checklist: Checklist,
        rulebase: Rulebase,
        subject: Subject,
        evaluate: Evaluate,
        facts: JudgeOver,
        *,
        members: Iterable[Subject] = (),
        system: str = "us",
        history: History = NONE,
        same: bool = True,
        instruments: Ways = (),
    ) -> None:
        super().__init__(
            checklist, rulebase, subject, evaluate, facts,
            members=members, history=history, same=same,
        )  # fmt: skip
        self.system = system
        air = barometer(subject.altitude)
        self._answering = Answering(rulebase, air, system, self._suited, instruments)
        self.takes = self._answering.takes

    def accept(
        self,
        picture: Picture,
        active: Active,
        text: str,
        now: datetime,
        *,
        sure: bool = False,
        minute: float | None = None,
        taken: datetime | None = None,
    ) -> Accepted | NeedsConfirmation:
        """What follows from a text typed at a step.

        Raises ReadingError for what is refused: what was wrong and what is accepted. An unusual
        value gives NeedsConfirmation; call again with `sure` when the person stands by it.
        `minute` is the time of a watch sample since its clock was started, `taken` the time at
        which a value was read, where it is known.
        """
        if active.step.type == "sign" and (waiting := to_put_back(self.plan(picture), picture)):
            raise ReadingError(f"Not signed: still to be put back: {'; '.join(waiting)}.")
        if active.refused is not None:
            raise ReadingError(self.expected(active))
        if item := self.item(active):
            return Accepted((answered(active, item, text),))
        if active.step.type == CLOSE:
            return Accepted((self.close(text),))
        if active.step.type == "stop":
            again = asked_again(self.plan(picture), active, self.rulebase)
            return Accepted(stopped(active, again, text))
        if (search := search_of(self.plan(picture), active)) is not None:
            return in_search(self, picture, active, search, text, now, sure)
        if active.quantity and not text.strip():
            text = typed_before(picture, active.key)
        return self.answered(picture, active, text, now, sure, minute, taken)

    def answered(
        self, picture: Picture, active: Active, text: str, now: datetime, sure: bool,
        minute: float | None = None, taken: datetime | None = None,
    ) -> Accepted | NeedsConfirmation:  # fmt: skip
        """What follows from a text that answers a step. Raises ReadingError.

        A value may have its time behind it: '112 psig at 8:00'.
        """
        clock = self.elapsed(picture, active, now)
        if taken is None and minute is None:
            quantity = self.rulebase.quantities.get(active.quantity)
            started = self.counted_from(picture, active, without_time(text)[1], now)
            text, taken = time_behind(text, quantity, now, started)
        outcome = self._answering.accept(
            active, text, now, earlier=self.before(picture, active),
            started=clock.started if clock else None, sure=sure, minute=minute, taken=taken,
        )  # fmt: skip
        if isinstance(outcome, Accepted):
            return replace(outcome, drafts=tuple(self.on(active, each) for each in outcome.drafts))
        return outcome

    def adjust(self, active: Active, what: str, before: str, after: str) -> Accepted:
        """The entry of an adjustment from its three answers. Raises ReadingError."""
        outcome = self._answering.adjust(active, what, before, after)
        return replace(outcome, drafts=tuple(self.on(active, each) for each in outcome.drafts))

    def item(self, active: Active) -> OpenItem | None:
        """The open item that a step asks about, None where it asks something else."""
        found = (item for key, _, _, item in open_steps(self.history.open) if key == active.key)
        return next(found, None) if active.step.type == OPEN_ITEM else None

    def expected(self, active: Active) -> str:
        """A sentence that says what is accepted at a step."""
        return expected(active, self._answering)

    def default(self, picture: Picture, active: Active, now: datetime) -> str:
        """The answer that Enter alone gives, as text: the earlier one, or the clock's time."""
        if active.quantity and (typed := typed_before(picture, active.key)):
            return typed
        clock = self.elapsed(picture, active, now)
        return self._answering.default(
            active, self.before(picture, active), clock.seconds if clock else None
        )

    def before(self, picture: Picture, active: Active) -> Entry | None:
        """What stands at a step or stood there before it was reopened, if that was asked."""
        entry = picture.before(active.key)
        if entry is None:
            return offered_entry(self, picture, active)
        fits = answers(entry, active.step, active.quantity, self.rulebase, same=self.same)
        return entry if fits else None

    def skip(
        self, active: Active, reason: str, *, rest: bool = False, member: bool = False
    ) -> Draft:
        """The entry that leaves a step out; `rest` ends a whole watch, `member` leaves out all
        that is still to be done on a member. At a caution it is a no, at a stop the way out.
        Raises ReadingError."""
        if item := self.item(active):
            return answered(active, item, f"{NOT_LOOKED_AT}: {reason}")
        if member and active.subject:
            return self.on(
                active, Draft("skip", active.member_key, {"reason": judge.reason(reason)})
            )
        if active.step.type in NEVER_SKIPPED:
            raise ReadingError(
                f"A {active.step.type} step cannot be skipped. Leave the job instead: "
                "it is kept and goes on here."
            )
        if active.step.type == "caution" and not active.quantity:
            return self.on(active, self._answering.refused(active, judge.reason(reason)))
        if active.step.type == "stop":
            return self.on(active, Draft("leave", active.key, {"reason": judge.reason(reason)}))
        key = active.step_key if rest else active.key
        return self.on(active, Draft("skip", key, {"reason": judge.reason(reason)}))

    def close(self, text: str) -> Draft:
        """The entry with which a job is closed that is not done. Raises ReadingError."""
        return closed(text)

    def note(self, active: Active | None, text: str) -> Draft:
        """The entry of a note, at a step or on the whole job."""
        return Draft("note", active.key if active else "", {"text": judge.words(text, "the note")})

    def back(
        self, picture: Picture, active: Active | None, rooms: Collection[str] = ROOMS
    ) -> Draft:
        """The entry that reopens the step before, of those in some rooms; from the end (None)
        the last one."""
        before = step_before(self.plan(picture), active, rooms, self.rulebase)
        if before is None:
            raise ReadingError("This is the first step.")
        return self.reopen(picture, before.key)

    def reopen(self, picture: Picture, key: str, why: str = "") -> Draft:
        """The entry that reopens any closed step; its answer stays as the default."""
        if key not in picture.closed:
            raise ReadingError(f"The step '{key}' is not closed.")
        return Draft("reopen", key, {"why": why} if why else {})

    def elapsed(self, picture: Picture, active: Active, now: datetime) -> Elapsed | None:
        """The clock that a step reads: the nearest start of that name above it."""
        return elapsed(self.plan(picture), picture, active, now)

    def counted_from(
        self, picture: Picture, active: Active, time: str, now: datetime
    ) -> datetime | None:
        """From when a time behind a value counts: 'at 3 min' is that of the clock of the step, or
        of the last one that was started above it. 'at 3:00' is one of day but at a watch."""
        clock = self.elapsed(picture, active, now)
        if active.sample or is_of_day(time):
            return clock.started if clock and active.sample else None
        return clock.started if clock else last_started(self.plan(picture), active)

    def due(self, picture: Picture, active: Active, now: datetime) -> datetime | None:
        """When a sample of a watch is to be taken, where its clock runs."""
        return due(active, self.elapsed(picture, active, now))

    def on(self, active: Active, draft: Draft) -> Draft:
        """The draft with the member it is about, and the value of the site that it sets."""
        member = self.members.get(active.subject, self.subject)
        air = barometer(self.subject.altitude)
        draft = with_set_point(draft, self.rulebase, member, air, self.system)
        more: dict[str, object] = {"subject": active.subject} if active.subject else {}
        if draft.kind in CLOSING and draft.step == active.key:
            more["asked"] = asked(active.step, active.quantity, self.rulebase)
        return replace(draft, data={**draft.data, **more})


def runner_for(
    checklist: Checklist,
    evaluator: Evaluator,
    *, system: str = "us", history: History = NONE, same: bool = True, instruments: Ways = (),
) -> Runner:  # fmt: skip
    """The runner of a checklist on the subject of an evaluator."""
    chained = any(signs_in(condition) for condition in checklist.conditions)

    def facts(readings: Readings, found: Readings | None, subject: str) -> Facts:
        judge_of = evaluator.member(subject)
        known, _ = judge_of.facts(readings, found)
        if chained:
            judge_of.run(known)
        return known

    def evaluate(readings: Readings, found: Readings | None, subject: str) -> Evaluation:
        return evaluator.member(subject).evaluate(readings, found)

    return Runner(
        checklist, evaluator.rulebase, evaluator.subject, evaluate, facts, system=system,
        members=evaluator.members, history=history, same=same, instruments=instruments,
    )  # fmt: skip
