"""The whole way from readings to findings, computed from scratch every time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import field
from functools import cache, cached_property
from typing import TYPE_CHECKING

from expert.inference.evaluation_model import Evaluation, Finding, Missing, Reading
from expert.inference.held_here import HeldHere
from expert.inference.truth import Facts
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.site import Subject
from expert.made_when_used import dataclass

if TYPE_CHECKING:  # a first question needs none of it: loaded when something is evaluated
    from expert.inference.compiled import Compiled
    from expert.inference.derive import Deriver
    from expert.inference.influences import Influences, Reach
    from expert.inference.looked_at import LookedAt
    from expert.inference.make_engine import Backend
    from expert.inference.program import Stratum
    from expert.inference.sign_truth import SignTruth


@dataclass
class _Shared:
    """What the evaluators of a subject and of its members have in common, each part made once.

    `home` is the subject of readings that name none.
    """

    home: Subject
    rulebase: Rulebase
    strata: Compiled = field(default_factory=dict)
    limits: dict[object, dict[str, Limit]] = field(default_factory=dict)
    member_limits: dict[str, dict[str, Limit]] = field(default_factory=dict)
    derivers: dict[str, Deriver] = field(default_factory=dict)
    evaluators: dict[str, Evaluator] = field(default_factory=dict)
    counted: dict[str, _Counted] = field(default_factory=dict)

    @cached_property
    def reach(self) -> Reach:
        """What follows from each cause."""
        from expert.inference.influences import Reach

        return Reach(self.rulebase)


@dataclass(frozen=True)
class _Counted:
    """The facts of a member, and what they were gathered from: of what was `given` what it sees."""

    given: tuple[Reading, ...]
    readings: tuple[Reading, ...]
    limits: Mapping[str, Mapping[str, Limit]]
    facts: Facts


class _WhenAsked(Mapping[str, tuple[Facts, ...]]):
    """The facts of members by their kind, gathered when a count first looks at them."""

    def __init__(self, kinds: tuple[str, ...], gather: Callable[[str], tuple[Facts, ...]]) -> None:
        self._kinds = kinds
        self._gather = gather
        self._found: dict[str, tuple[Facts, ...]] = {}

    def __getitem__(self, kind: str) -> tuple[Facts, ...]:
        if kind not in self._kinds:
            raise KeyError(kind)
        if kind not in self._found:
            self._found[kind] = self._gather(kind)
        return self._found[kind]

    def __iter__(self) -> Iterator[str]:
        return iter(self._kinds)

    def __len__(self) -> int:
        return len(self._kinds)


class Evaluator(HeldHere):
    """Evaluates readings of one subject; made once, used for every answer.

    `members` are the circuits, compressors and cases over which rules count. `system` is the
    unit system of the sentences ('us', 'si' or 'both'); `backend` chooses the engine ('auto',
    'durable', 'plain'). `compiled` is what evaluators of one rulebase and backend, all in one
    thread, compile once for all subjects to which the same rules apply.
    """

    def __init__(
        self,
        rulebase: Rulebase,
        subject: Subject,
        *,
        members: Iterable[Subject] = (),
        system: str = "us",
        backend: Backend = "auto",
        compiled: Compiled | None = None,
        shared: _Shared | None = None,
    ):
        self.shared = shared or _Shared(subject, rulebase, {} if compiled is None else compiled)
        super().__init__(rulebase, subject, self.shared.limits)
        self.members = tuple(members)
        self.system = system
        self.backend = backend

    @cached_property
    def member_limits(self) -> dict[str, dict[str, Limit]]:
        """The limits of each member by its id."""
        held = self.shared.member_limits
        for each in self.members:
            if each.id not in held:
                held[each.id] = self.limits_of(each)
        return held

    @property
    def engine(self) -> str:
        """Which engine runs, and why where it is not the one asked for."""
        engine_names = dict.fromkeys(stratum.engine.name for stratum in self.strata)
        failed = [s.engine.reason for s in self.strata if "failed" in s.engine.reason]
        return " and ".join(engine_names) + (f" ({failed[0]})" if failed else "")

    @cached_property
    def plain(self) -> Evaluator:
        """The same on the plain chainer, which is quicker where much is tried out."""
        if self.backend == "plain" or all(each.engine.name == "plain" for each in self.strata):
            return self
        return Evaluator(
            self.rulebase, self.subject, members=self.members, system=self.system,
            backend="plain", shared=_Shared(self.shared.home, self.rulebase),
        )  # fmt: skip

    def member(self, subject: str) -> Evaluator:
        """The evaluator of a member by its id, made when it is first asked for; '' is this one.

        It takes the same readings, of which it sees its own and those on what it belongs to.
        """
        if subject in ("", self.subject.id):
            return self
        made = self.shared.evaluators
        if subject not in made:
            own = next(each for each in self.members if each.id == subject)
            made[subject] = Evaluator(
                self.rulebase, own, members=self.members, system=self.system,
                backend=self.backend, shared=self.shared,
            )  # fmt: skip
        return made[subject]

    @cached_property
    def strata(self) -> tuple[Stratum, ...]:
        """The rules compiled for the engine, when they are first run."""
        from expert.inference.compiled import strata_of

        key, made = tuple(self.rules), self.shared.strata
        if key not in made:
            made[key] = strata_of(self.rulebase, self.rules, self.backend)
        return made[key]

    def prepare(self) -> None:
        """Compile the rules of the subject and of its members, which else the first answer of
        each kind waits for."""
        for name in ("", *(each.id for each in self.members)):
            self.member(name).evaluate(())

    def evaluate(
        self, readings: Iterable[Reading], found: Iterable[Reading] | None = None
    ) -> Evaluation:
        """Everything that follows from some readings and the site's values.

        `found` are the readings as found, given when `readings` are those as left.
        """
        from expert.inference.about_call import not_now, what_it_is_about
        from expert.inference.doubt import find_doubts, find_hidden
        from expert.inference.next_reading import StillOpen
        from expert.inference.not_judged import lacking_here, not_judged
        from expert.inference.sentences import Speaker
        from expert.inference.ties import find_ties
        from expert.inference.waiting import Waiting

        kept = tuple(readings)
        before = None if found is None else tuple(found)
        facts, missing = self.facts(kept, before)
        known = facts.known
        fired = self.run(facts)
        speaker = Speaker(self.rulebase, known, self.limits, self.system)
        influences = self.influences(facts)
        findings = self.found(facts, fired, influences)
        states = {name: facts.state(name) for name in known}
        fired_ids = frozenset(rule.id for rule in fired)
        later = not_now(self.rulebase, self.subject, known)

        @cache
        def waiting() -> Waiting:
            return Waiting(tuple(self.rules.values()), facts, self.rulebase.quantities)

        @cache
        def still_open(skip: frozenset[str]) -> StillOpen:
            return StillOpen(
                waiting(), findings, influences, fired=fired_ids,
                call=what_it_is_about(self.rulebase, self.subject, facts),
                skip=skip | self.foreign | later,
            )  # fmt: skip

        return Evaluation(
            known=known,
            states=states,
            findings=findings,
            rank=lambda skip: still_open(skip).readings,
            suspect=lambda skip: still_open(skip).suspects,
            cannot_judge=(
                *lacking_here(missing, known, self.foreign, self.rulebase.quantities),
                *not_judged(states, known, speaker, self.subject),
            ),
            engine=self.engine,
            fired=tuple(rule.id for rule in fired),
            hidden=(
                *find_hidden(fired, known, self.rulebase),
                *find_ties(findings, self.rules.values(), influences, self.foreign, later),
            ),
            doubt=cache(lambda: find_doubts(self.plain, kept, before)),
        )

    def found(
        self, facts: Facts, fired: tuple[Rule, ...], influences: Influences,
        rulebase: Rulebase | None = None,
    ) -> tuple[Finding, ...]:  # fmt: skip
        """The causes that some rules find which fired, weighed by the rulebase, or by another one
        that differs in its scale of certainty alone.
        """
        from expert.inference.findings import find_causes
        from expert.inference.sentences import Speaker

        by = rulebase or self.rulebase
        speaker = Speaker(by, facts.known, self.limits, self.system)
        return find_causes(fired, facts, self.concluding, speaker, influences, self.on_plant)

    @cached_property
    def settling(self) -> SignTruth:
        """What settles the signs that no rule has concluded."""
        from expert.inference.sign_truth import SignTruth

        return SignTruth(self.needed, self.concluding)

    @cached_property
    def looked_at(self) -> LookedAt:
        """The conditions that hang on each quantity."""
        from expert.inference.looked_at import LookedAt

        limits = [each for group in self.member_limits.values() for each in group.values()]
        return LookedAt(self.rulebase, self.rules.values(), (*self.limits.values(), *limits))

    def influences(self, facts: Facts) -> Influences:
        """What is odd about the plant by some facts, with what causes would do to it."""
        from expert.inference.influences import Influences

        return Influences(self.rulebase, facts, self.shared.reach)

    def facts(
        self, readings: Iterable[Reading], found: Iterable[Reading] | None = None
    ) -> tuple[Facts, tuple[Missing, ...]]:
        """What is known, not yet with the signs; and what could not be computed.

        What was before the visit is not asked again after a change, and still holds.
        """
        kept = tuple(readings)
        if found is not None:
            again = {(reading.quantity, reading.subject) for reading in kept}
            kept += tuple(
                reading
                for reading in found
                if self.rulebase.quantities[reading.quantity].carried_over
                and (reading.quantity, reading.subject) not in again
            )
        facts, missing = self._own(kept)
        kinds = dict.fromkeys(member.kind for member in self.members)
        facts.members = _WhenAsked(tuple(kinds), lambda kind: self._over(kind, kept))
        if found is None:
            facts.stages = {"as found": facts}
        else:
            before, _ = self._own(tuple(found))
            facts.stages = {"as found": before, "as left": facts}
        return facts, missing

    def _own(self, readings: tuple[Reading, ...]) -> tuple[Facts, tuple[Missing, ...]]:
        seen = [reading for reading in readings if self.sees(self.subject, reading)]
        known, missing = self._deriver(self.subject).derive(seen)
        return Facts(known, self.rulebase.quantities, self.limits), missing

    def _deriver(self, subject: Subject) -> Deriver:
        made = self.shared.derivers
        if subject.id not in made:
            from expert.inference.derive import Deriver

            made[subject.id] = Deriver(subject, self.rulebase.quantities)
        return made[subject.id]

    def sees(self, subject: Subject, reading: Reading) -> bool:
        """Whether a reading is of a subject: taken on it, or of what it belongs to."""
        home = self.shared.home
        taken_on = reading.subject or home.id
        if taken_on != home.id or subject.id == home.id:
            return taken_on == subject.id
        above = ("site", "rack", home.kind) if subject.part_of == home.id else ("site", "rack")
        return self.rulebase.quantities[reading.quantity].subject in above

    def _over(self, kind: str, readings: tuple[Reading, ...]) -> tuple[Facts, ...]:
        """The facts of each member; one on which nothing was read is there, and unknown."""
        return tuple(self._counted(each, readings) for each in self.members if each.kind == kind)

    def _counted(self, member: Subject, readings: tuple[Reading, ...]) -> Facts:
        """The facts of a member, kept until it is other readings that it sees: the evaluators of
        all members ask for them, and few readings are of more than one.
        """
        last = self.shared.counted.get(member.id)
        if last is not None and last.limits is not self.member_limits:
            last = None
        if last is not None and last.given == readings:
            return last.facts
        seen = tuple(reading for reading in readings if self.sees(member, reading))
        if last is not None and last.readings == seen:
            facts = last.facts
        else:
            known, _ = self._deriver(member).derive(seen)
            facts = Facts(known, self.rulebase.quantities, self.member_limits[member.id])
        self.shared.counted[member.id] = _Counted(readings, seen, self.member_limits, facts)
        return facts

    def run(self, facts: Facts, fixed: Mapping[str, bool] | None = None) -> tuple[Rule, ...]:
        """The rules that fire, in rulebase order; fills in the truth of every sign.

        `fixed` sets the truth of signs beforehand, for tests and what-if.
        """
        fired: set[str] = set()
        unsupported = [sign for sign in self.rulebase.signs if sign not in self.concluding]
        facts.signs.update(dict.fromkeys(unsupported, False))
        facts.signs.update(fixed or {})
        for stratum in self.strata:
            for firing in stratum.run(facts):
                fired.add(firing.rule.rpartition("#")[0])
                facts.signs.update(dict.fromkeys(firing.head[1:], True))
            self.settling.settle(stratum, facts)
        return tuple(rule for rule in self.rules.values() if rule.id in fired)
