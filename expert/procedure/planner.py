"""What a checklist asks now on a subject, and what the readings given so far say."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from expert.inference.evaluation_model import Evaluation, Finding, NextReading, Reading
from expert.inference.hangs_on import KindsBehind
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.plants import cautions_on, suited
from expert.knowledge.site import Subject
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Foreign, Step
from expert.procedure.fitting import why_not
from expert.procedure.hazards import Hazards, fits, foreign_to, hazards_of
from expert.procedure.history import History
from expert.procedure.judging import Evaluate, Judgement, JudgeOver, Readings
from expert.procedure.left_out import LeftOut, guards
from expert.procedure.picture import Picture
from expert.procedure.plan_again import Plan, PlanMaker
from expert.procedure.search import leading, suggested
from expert.procedure.world import AS_FOUND, AS_LEFT

NONE = History()


class Planner:
    """A checklist on a subject, seen by pictures of what was entered. Pure.

    `evaluate` says what follows from readings and the site's values, `facts` judges the
    conditions of steps over them; both also take the readings as found, None where those are
    judged, and the member as which they judge, '' for the subject itself. `members` are the
    circuits, compressors and cases of its rack. `history` is what earlier jobs left. `same` says
    that checklist and rulebase are those the job was begun with.
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
        history: History = NONE,
        same: bool = True,
    ) -> None:
        self.history = history
        self.same = same
        self.checklist = checklist
        self.rulebase = rulebase
        self.subject = subject
        self.members = {member.id: member for member in members}
        self._judge = Judgement(evaluate, facts)
        self._evaluate = self._judge.evaluate
        self.holds = self._judge.holds
        self._kinds = KindsBehind(rulebase)
        self._maker = PlanMaker(checklist, self)
        self._planned: tuple[tuple[Picture, Plan], ...] = ()
        self._hazards: dict[str, tuple[Caution, ...]] = {}

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
            found = [self._maker.plan(picture)]
            self._planned = ((picture, found[0]), *self._planned[:2])
        return found[0]

    def current(self, picture: Picture) -> Active | None:
        """The first step that is not closed; None when the checklist is finished."""
        return next((active for active in self.plan(picture) if not active.closed), None)

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

    def states(self, picture: Picture, active: Active) -> Callable[[str], str]:
        """What gives the word of a quantity's state in the stage of a step: 'low', 'unknown'."""
        readings, found = self.judged(picture, active.stage, active.round)
        return self._judge.states(readings, found, active.subject)

    def signed_by(self, picture: Picture) -> str:
        """Who signed last for everything as it now stands, empty where nobody did."""
        signed = [active for active in self.plan(picture) if active.step.type == "sign"]
        last = signed[-1].entry if signed else None
        return last.text("name") if last else ""

    def wanted(
        self, readings: Readings, subject: str, skip: frozenset[str], foreign: Iterable[Foreign]
    ) -> NextReading | None:
        """The reading that a search asks next; None when a cause leads or nothing tells more."""
        found = self._evaluate(readings, None, subject)
        not_here = foreign_to(self.members.get(subject, self.subject), foreign)
        return None if leading(found, self.rulebase) else suggested(found, skip | not_here)

    def kinds_behind(self, quantity: str) -> tuple[str, ...]:
        """The kinds of plant without which what is computed from a reading stays unknown."""
        return self._kinds(quantity)

    def guards(self, step: Step, member: str) -> frozenset[str]:
        """Ids of the cautions without which a step is not done, those of the plant too."""
        return guards(step, self.rulebase) | {*self.hazards(step, member).names}

    def hazards(self, step: Step, member: str) -> Hazards:
        """The cautions that the plant asks for before a step, whoever wrote it."""
        if member not in self._hazards:
            on = self.members.get(member, self.subject)
            self._hazards[member] = cautions_on(self.rulebase, on)
        return hazards_of(step, self._hazards[member], self.rulebase)

    def fits(self, step: Step, member: str) -> bool:
        """Whether a step is not known to be for another kind of plant than a member's."""
        return fits(step, self.members.get(member, self.subject))

    def why_not(self, checklist: Checklist) -> str:
        """Why a checklist is not for the subject; nothing where it is."""
        return why_not(checklist, self.subject)

    def members_of(self, kind: str) -> tuple[str, ...]:
        """The ids of the members of a kind; of the cases, a circuit has only its own."""
        own = kind == "case" and self.subject.kind == "circuit"
        return tuple(
            name
            for name, member in self.members.items()
            if member.kind == kind and (not own or member.part_of == self.subject.id)
        )

    def _suited(self, quantity: Quantity, member: str) -> Quantity:
        """A quantity with the edges that hold on the plant of a member."""
        return suited(quantity, self.members.get(member, self.subject))
