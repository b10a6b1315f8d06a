"""The checklist runner: what is asked now, and what follows from an answer."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from datetime import datetime

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Finding, NextReading, Reading
from expert.inference.truth import Facts
from expert.knowledge import judge
from expert.knowledge.conditions import signs_in
from expert.knowledge.model import Caution, Quantity, Rulebase
from expert.knowledge.plants import cautions_on, suited
from expert.knowledge.site import Subject
from expert.knowledge.where import ROOMS
from expert.physics.air.barometer import barometer
from expert.procedure.active import Active
from expert.procedure.answering import Accepted, Answering, NeedsConfirmation
from expert.procedure.asked import answers, asked
from expert.procedure.checklist import Checklist, Foreign, Step
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.closing import closed
from expert.procedure.entries import CLOSING, Draft, Entry
from expert.procedure.expectations import expected
from expert.procedure.fitting import why_not
from expert.procedure.hazards import Hazards, fits, foreign_to, hazards_of
from expert.procedure.history import NOT_LOOKED_AT, History, OpenItem
from expert.procedure.judging import Evaluate, Judgement, JudgeOver, Readings
from expert.procedure.left_out import LeftOut, guards, to_put_back
from expert.procedure.offered import offered_entry
from expert.procedure.open_items import TYPE as OPEN_ITEM
from expert.procedure.open_items import answered, open_steps
from expert.procedure.people import step_before
from expert.procedure.picture import Picture
from expert.procedure.planning import Plan, Planner
from expert.procedure.reading_time import time_behind
from expert.procedure.search import leading, suggested, typed_before
from expert.procedure.searching import in_search, search_of
from expert.procedure.set_points import with_set_point
from expert.procedure.step_clock import Elapsed, due, elapsed
from expert.procedure.stops import asked_again, stopped
from expert.procedure.world import AS_FOUND, AS_LEFT

Ways = tuple[str, ...]
NONE = History()
NEVER_SKIPPED = ("sign", CLOSE)


class Runner:
    """A checklist on a subject. Pure: pictures in, drafts of entries out.

    `evaluate` says what follows from readings and the site's values, `facts` judges the
    conditions of steps over them; both also take the readings as found, None where those are
    judged, and the member as which they judge, '' for the subject itself. `members` are the
    circuits, compressors and cases of its rack. `system` is the unit system of bare numbers,
    `history` what earlier jobs left. `same` says that checklist and rulebase are those the job
    was begun with; `instruments` are the ways of reading that the crew has.
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
        self.history = history
        self.same = same
        self.checklist = checklist
        self.rulebase = rulebase
        self.subject = subject
        self.members = {member.id: member for member in members}
        self.system = system
        self._judge = Judgement(evaluate, facts)
        self._evaluate = self._judge.evaluate
        self.holds = self._judge.holds
        self._planner = Planner(checklist, self)
        self._planned: tuple[tuple[Picture, Plan], ...] = ()
        self._hazards: dict[str, tuple[Caution, ...]] = {}
        air = barometer(subject.altitude)
        self._answering = Answering(rulebase, air, system, self._suited, instruments)
        self.takes = self._answering.takes

    def plan(self, picture: Picture) -> tuple[Active, ...]:
        """Every step that now applies, in order, judged again from the top."""
        return self._plan(picture).steps

    def whole_plan(self, picture: Picture) -> Plan:
        """The plan with what is left out and what nothing asks for now."""
        return self._plan(picture)

    def left_out(self, picture: Picture) -> tuple[LeftOut, ...]:
        """What is left out because of a no at a caution or a stop, or since the job was closed."""
        return self._plan(picture).left_out

    def _plan(self, picture: Picture) -> Plan:
        found = [plan for each, plan in self._planned if each is picture]
        if not found:  # screens also speak of the one or two pictures before
            found = [self._planner.plan(picture)]
            self._planned = ((picture, found[0]), *self._planned[:2])
        return found[0]

    def current(self, picture: Picture) -> Active | None:
        """The first step that is not closed; None when the checklist is finished."""
        return next((active for active in self.plan(picture) if not active.closed), None)

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
            started = clock.started if clock and active.sample else None
            text, taken = time_behind(text, quantity, now, started)
        outcome = self._answering.accept(
            active, text, now, earlier=self.before(picture, active),
            started=clock.started if clock else None, sure=sure, minute=minute, taken=taken,
        )  # fmt: skip
        if isinstance(outcome, Accepted):
            return replace(outcome, drafts=tuple(self.on(active, each) for each in outcome.drafts))
        return outcome

    def guards(self, step: Step, member: str) -> frozenset[str]:
        """Ids of the cautions without which a step is not done, those of the plant too."""
        return guards(step, self.rulebase) | {*self.hazards(step, member).names}

    def wanted(
        self, readings: Readings, subject: str, skip: frozenset[str], foreign: Iterable[Foreign]
    ) -> NextReading | None:
        """The reading that a search asks next; None when a cause leads or nothing tells more."""
        found = self._evaluate(readings, None, subject)
        not_here = foreign_to(self.members.get(subject, self.subject), foreign)
        return None if leading(found, self.rulebase) else suggested(found, skip | not_here)

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

    def due(self, picture: Picture, active: Active, now: datetime) -> datetime | None:
        """When a sample of a watch is to be taken, where its clock runs."""
        return due(active, self.elapsed(picture, active, now))

    def readings(self, picture: Picture) -> tuple[Reading, ...]:
        """The answers of all steps that now apply, in their order."""
        return tuple(active.reading for active in self.plan(picture) if active.reading)

    def set_aside(self, picture: Picture) -> tuple[Reading, ...]:
        """Answers in force at steps that no longer apply: kept, but not judged."""
        used = {active.key for active in self.plan(picture) if active.reading}
        return tuple(reading for reading in picture.readings if reading.step not in used)

    def rounds(self, picture: Picture) -> int:
        """How many rounds of adjusting were begun."""
        return max((active.round for active in self.plan(picture)), default=0)

    def evaluation(
        self,
        picture: Picture,
        stage: str = AS_FOUND,
        round_: int | None = None,
        subject: str = "",
    ) -> Evaluation:
        """What follows from the readings of a stage; of as left, only from its last round.

        What was not measured again in that round is unknown, never carried over. `subject` is
        the member it is about, '' for the job's own subject.
        """
        return self._evaluate(*self.judged(picture, stage, round_), subject)

    def found_on_members(
        self, picture: Picture, stage: str = AS_FOUND, round_: int | None = None
    ) -> tuple[tuple[Subject, tuple[Finding, ...]], ...]:
        """Each member on which something was read in a stage, in the order of the site, with
        what its readings show beyond those of the subject itself."""
        readings, _ = self.judged(picture, stage, round_)
        read = {reading.subject for reading in readings}
        own = self.evaluation(picture, stage, round_)
        return tuple(
            (member, self.evaluation(picture, stage, round_, name).beyond(own))
            for name, member in self.members.items()
            if name in read
        )

    def without_last(self, picture: Picture, subject: str = "") -> Evaluation | None:
        """What followed as found before the last reading; None where there is none."""
        readings, _ = self.judged(picture, AS_FOUND, 0)
        return self._evaluate(readings[:-1], None, subject) if readings else None

    def judged(
        self, picture: Picture, stage: str, round_: int | None = None
    ) -> tuple[Readings, Readings | None]:
        """The readings of a stage, and of as left those as found beside them."""
        readings = self.readings(picture)
        found = tuple(reading for reading in readings if reading.stage == AS_FOUND)
        if stage == AS_FOUND:
            return found, None
        wanted = self.rounds(picture) if round_ is None else round_
        left = (each for each in readings if each.stage == AS_LEFT and each.round == wanted)
        return tuple(left), found

    def signed_by(self, picture: Picture) -> str:
        """Who signed last for everything as it now stands, empty where nobody did."""
        signed = [active for active in self.plan(picture) if active.step.type == "sign"]
        last = signed[-1].entry if signed else None
        return last.text("name") if last else ""

    def states(self, picture: Picture, active: Active) -> Callable[[str], str]:
        """What gives the word of a quantity's state in the stage of a step: 'low', 'unknown'."""
        readings, found = self.judged(picture, active.stage, active.round)
        return self._judge.states(readings, found, active.subject)

    def members_of(self, kind: str) -> tuple[str, ...]:
        """The ids of the members of a kind; of the cases, a circuit has only its own."""
        own = kind == "case" and self.subject.kind == "circuit"
        return tuple(
            name
            for name, member in self.members.items()
            if member.kind == kind and (not own or member.part_of == self.subject.id)
        )

    def why_not(self, checklist: Checklist) -> str:
        """Why a checklist is not for the subject; nothing where it is."""
        return why_not(checklist, self.subject)

    def fits(self, step: Step, member: str) -> bool:
        """Whether a step is not known to be for another kind of plant than a member's."""
        return fits(step, self.members.get(member, self.subject))

    def hazards(self, step: Step, member: str) -> Hazards:
        """The cautions that the plant asks for before a step, whoever wrote it."""
        if member not in self._hazards:
            on = self.members.get(member, self.subject)
            self._hazards[member] = cautions_on(self.rulebase, on)
        return hazards_of(step, self._hazards[member], self.rulebase)

    def _suited(self, quantity: Quantity, member: str) -> Quantity:
        """A quantity with the edges that hold on the plant of a member."""
        return suited(quantity, self.members.get(member, self.subject))

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
