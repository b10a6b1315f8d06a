"""Proposes tests: for a mutant that nothing notices, a case that tells it from the rule as it is.

A proposal says what the rule does now. Whether that is right is for a person to judge; where it
is not, the rule is wrong and the proposal has found it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations, islice

from expert.author.coverage.gap import Gap
from expert.author.mutation.changed_limits import EDGES
from expert.author.mutation.mutants import HEADS, Mutant, with_mutant
from expert.author.proposals.edge_named import edge_named
from expert.author.proposals.for_evidence import FindsProposer
from expert.author.rule_tests import DEFAULT_FACTS, evaluator_for, outcome_of
from expert.author.search.case_text import Readings, inline, readings_in, value_text
from expert.author.search.cells import UNKNOWN, Space
from expert.author.search.rule_closure import RuleClosure
from expert.author.search.solver import Assignment, Goal, Solver, Want
from expert.author.search.subjects import contexts
from expert.author.search.witness import limits_of
from expert.errors import ReadingError
from expert.inference.truth import limit_for
from expert.knowledge.entry_model import NOWHERE
from expert.knowledge.judge import refused, split_time
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.plants import applies_to
from expert.knowledge.read_tests import PLURALS
from expert.knowledge.rule_test_model import Given, RuleTest
from expert.knowledge.site import Subject
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

_ASSIGNMENTS = 6  # tried of each kind before another kind of subject is taken
_SUBJECTS = 3
# Best first: a test that is silent because something is known says more than an undecided one.
_PAIRS: tuple[tuple[Want, Want], ...] = (
    ("false", "true"), ("true", "false"), ("true", "open"), ("open", "true"),
    ("open", "false"), ("false", "open"),
)  # fmt: skip


@dataclass(frozen=True)
class Proposal:
    """A test for a rule, as it would be written, and what it would notice or show.

    `old` is a test that is there already and would only say more.
    """

    rule: str
    test: RuleTest
    because: Mutant | Gap
    old: RuleTest | None = None

    def lines(self) -> tuple[str, ...]:
        """The test as an item of `tests:`, without indentation."""
        places: Readings = {}
        for given in self.test.given:
            where = given.stage if given.stage == "as found" else f"{given.kind} {given.subject}"
            places.setdefault(where.strip(), {})[given.name] = given.texts
        own = places.pop("", {})
        found = [f"- given: {{{inline(own)}}}"]
        if "as found" in places:
            found.append(f"  as found: {{{inline(places.pop('as found'))}}}")
        plurals = {kind: plural for plural, kind in PLURALS.items()}
        kinds: dict[str, list[str]] = {}
        for where, values in places.items():
            kind, _, subject = where.partition(" ")
            kinds.setdefault(plurals[kind], []).append(f"{subject}: {{{inline(values)}}}")
        found += [f"  {plural}: {{{', '.join(each)}}}" for plural, each in kinds.items()]
        if self.test.facts:
            facts = ", ".join(f"{key}: {word}" for key, word in self.test.facts.items())
            found.append(f"  facts: {{{facts}}}")
        found.append(f"  expect: {self.test.expect}")
        if self.test.finds:
            found.append(f"  {self.finds()}")
        if self.test.edge:
            quote = '"' if set(self.test.edge) & set(",:[]{}#") else ""
            found.append(f"  edge: {quote}{self.test.edge}{quote}")
        return tuple(found)

    @property
    def reason(self) -> str:
        """Why it is proposed, in a line."""
        if isinstance(self.because, Gap):
            return f"{self.because.about.partition(' / ')[2]}: {self.because.what}"
        return f"nothing notices if {self.because.what}"

    def finds(self) -> str:
        """What the test says of causes, as a line."""
        findings = ", ".join(f"{cause}: {word}" for cause, word in self.test.finds.items())
        return f"finds: {{{findings}}}"


class Proposer:
    """Proposes tests over one rulebase."""

    def __init__(self, rulebase: Rulebase):
        self.rulebase = rulebase
        self.closure = RuleClosure(rulebase)
        self._seen = {
            pair
            for rule in rulebase.rules.values()
            for test in rule.tests
            for pair in _pairs({**DEFAULT_FACTS, **test.facts})
        }
        self._finds = FindsProposer(rulebase, self.closure)

    def propose(self, mutant: Mutant) -> Proposal | None:
        """A test that notices a mutant; None where none was found, or only a scenario can."""
        if mutant.gate is not None:
            return None
        if mutant.kind in HEADS:
            assert mutant.rule is not None
            found = self._finds.propose(mutant)
            return Proposal(mutant.rule.id, found[0], mutant, found[1]) if found else None
        for rule in self._rules(mutant):
            for test in self._tests(rule, mutant):
                named = replace(test, edge=edge_named(mutant, self.rulebase))
                return Proposal(rule.id, named, mutant)
        return None

    def _rules(self, mutant: Mutant) -> Iterator[Rule]:
        """The rules beside which a test could stand, nearest first."""
        if mutant.rule is not None:
            names = self.closure.reached_by_rule(mutant.rule.id)
        else:
            assert mutant.limit is not None
            names = self.closure.reached_by_limit(mutant.limit.quantity)
        yield from (self.rulebase.rules[name] for name in names)

    def _tests(self, rule: Rule, mutant: Mutant) -> Iterator[RuleTest]:
        """Tests of a rule that come out otherwise with the mutant in place; each was run."""
        part = self.closure.of(rule.id)
        changed = with_mutant(part, mutant)
        new = changed.rules[rule.id]
        # Where the mutant is a rule below, its conclusion must come from readings.
        chained = new is rule and mutant.rule is not None
        for subject in self._subjects(rule, new, mutant):
            cases: Iterator[Iterable[Given]]
            if mutant.kind == "edge moved" and mutant.limit is not None:
                cases = self._beside_edge(rule, mutant.limit, subject)
            elif rule.applies != new.applies:
                cases = (test.given for test in rule.tests if test.expect == "fires")
            else:
                found = self._assignments(rule, new, mutant, subject, chained)
                cases = (_given(readings_in(b, s), {} if chained else b) for b, s in found)
            for given in cases:
                test = self._test(rule, tuple(given), subject)
                if test is not None and _notices(test, rule, new, part, changed):
                    yield test

    def _subjects(self, rule: Rule, new: Rule, mutant: Mutant) -> Iterator[Subject]:
        """Kinds of subject on which the mutant can make a difference."""
        part = self.closure.of(rule.id)
        found = contexts([new], part)
        if rule.applies != new.applies:
            found = (subject for subject in found if not applies_to(rule.applies, subject))
        if (limit := mutant.limit) is not None:
            found = (
                subject
                for subject in found
                if getattr(limit_for(limit.quantity, part.limits, subject), "id", "") == limit.id
            )
        # Kinds of subject that tests know, as a dairy case of medium temperature, come first.
        known = sorted(found, key=lambda subject: len(_pairs(subject.facts) - self._seen))
        yield from islice(known, _SUBJECTS)

    def _assignments(
        self, rule: Rule, new: Rule, mutant: Mutant, subject: Subject, chained: bool
    ) -> Iterator[tuple[Assignment, Space]]:
        part, changed = self.closure.of(rule.id), with_mutant(self.closure.of(rule.id), mutant)
        limits, others = limits_of(part, subject), limits_of(changed, subject)
        more = (mutant.limit,) if mutant.limit else ()
        both = replace(part, rules={**part.rules, "the mutant": new}, limits=(*part.limits, *more))
        spaces = (Space(both, limits, others.values()), Space(both, others, limits.values()))
        solvers = [
            Solver(space, _applying(base, subject), deep=chained, inside=True)
            for space, base in zip(spaces, (part, changed), strict=True)
        ]
        if chained:
            assert mutant.rule is not None
            old = self.rulebase.rules[mutant.rule.id]
            yield from self._chained(rule, old, solvers[0], spaces[0])
            return
        for want, other in _PAIRS:
            sides = [(solvers[0], Goal(rule, want)), (solvers[1], Goal(new, other))]
            # What must fire leaves the fewest ways, so it is looked for first.
            sides.sort(key=lambda side: side[1].want != "true")
            (first, goal), (second, beside) = sides
            for assignment in islice(first.assignments([goal]), _ASSIGNMENTS):
                for met in islice(second.assignments([beside], assignment), _ASSIGNMENTS):
                    yield met, spaces[0]

    def _beside_edge(
        self, rule: Rule, changed: Limit, subject: Subject
    ) -> Iterator[Iterator[Given]]:
        """Cases with a value just on one side of an edge, so that it is not as it was moved."""
        part = self.closure.of(rule.id)
        old = next(limit for limit in part.limits if limit.id == changed.id)
        edges = [(getattr(old, edge), getattr(changed, edge)) for edge in EDGES]
        before, after = next(pair for pair in edges if pair[0] != pair[1])
        quantity = part.quantities[old.quantity]
        aside = (quantity.accuracy or 0.0) * (1.0 if after > before else -1.0)
        value = (before + after) / 2 + aside
        space = Space(part, limits_of(part, subject))
        solver = Solver(space, _applying(part, subject), deep=False, inside=True)
        cells = frozenset(
            cell
            for cell in space.cells(quantity.id)
            if isinstance(cell, int) and _inside(value, space.span(quantity.id, cell))
        )
        wants: tuple[Want, ...] = ("true", "false", "open")
        for want in wants:
            found = solver.assignments([Goal(rule, want)], {("", quantity.id): cells})
            for assignment in islice(found, _ASSIGNMENTS):
                readings = readings_in(assignment, space)
                readings[""][quantity.id] = (value_text(quantity, value),)
                yield _given(readings, assignment)

    def _chained(
        self, rule: Rule, below: Rule, solver: Solver, space: Space
    ) -> Iterator[tuple[Assignment, Space]]:
        """Readings that fire a rule below, and all else that the rule above wants."""
        absent = {sign for sign, negative in rule.needed_signs.items() if negative}
        if absent & set(below.concludes):
            goals = [Goal(below, "true"), *(Goal(each, "true") for each in rule.when)]
        else:
            goals = [Goal(below, "true"), Goal(rule, "true")]
        yield from (
            (assignment, space) for assignment in islice(solver.assignments(goals), _ASSIGNMENTS)
        )

    def _test(self, rule: Rule, given: tuple[Given, ...], subject: Subject) -> RuleTest | None:
        facts = {
            key: word
            for key, word in subject.facts.items()
            if DEFAULT_FACTS.get(key) != word and word
        }
        if subject.has:
            facts["has"] = subject.has[0]
        if len(subject.has) > 1 or not given:
            return None
        test = RuleTest(given, "fires", facts, rule.place)
        part = self.closure.of(rule.id)
        if not all(_can_be(each, part) for each in given):
            return None
        return replace(test, expect=outcome_of(rule, test, evaluator_for(test, part, "plain", {})))


def _pairs(facts: Mapping[str, str]) -> set[tuple[tuple[str, str], ...]]:
    """Each two facts of a subject together."""
    return set(combinations(sorted((key, word) for key, word in facts.items() if key != "has"), 2))


def _inside(value: float, span: tuple[float, float]) -> bool:
    return span[0] < value < span[1] or span == (value, value)


def _applying(part: Rulebase, subject: Subject) -> Mapping[str, Rule]:
    return {name: r for name, r in part.rules.items() if applies_to(r.applies, subject)}


def _can_be(given: Given, part: Rulebase) -> bool:
    """Whether a reading would be taken at all."""
    quantity = part.quantities.get(given.name)
    if quantity is None or quantity.kind in (Kind.CHOICE, Kind.TEXT):
        return True
    try:
        values = [parse_measure(split_time(text)[0], quantity.kind).value for text in given.texts]
    except ReadingError:
        return False
    return not any(refused(value, quantity, "us") for value in values)


def _notices(test: RuleTest, rule: Rule, new: Rule, part: Rulebase, changed: Rulebase) -> bool:
    return test.expect != outcome_of(new, test, evaluator_for(test, changed, "plain", {}))


def _given(readings: Readings, assignment: Assignment) -> Iterator[Given]:
    for place, values in readings.items():
        stage = place if place == "as found" else ""
        kind, _, subject = ("", "", "") if stage else place.partition(" ")
        for name, texts in values.items():
            yield Given(name, texts, NOWHERE, kind, subject, stage)
    for (_, name), cells in assignment.items():
        sign = name.removeprefix("sign ")
        if sign != name and UNKNOWN not in cells and len(cells) == 1:
            yield Given(sign, (str(next(iter(cells))),), NOWHERE)
