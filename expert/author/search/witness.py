"""A case that shows what the analysis says: found by search, written as a file, and run."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

from expert.author.search.case_text import case_text
from expert.author.search.cells import Space
from expert.author.search.rule_closure import RuleClosure
from expert.author.search.solver import Goal, Solver
from expert.author.search.subjects import contexts
from expert.errors import PackError, ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import read_subject_file
from expert.inference.truth import limit_for
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.plants import applies_to
from expert.knowledge.site import Subject

_TRIES = 5  # assignments of one kind of subject that are written and run


def limits_of(part: Rulebase, subject: Subject) -> dict[str, Limit]:
    """The limit in force on a subject for every quantity that has one."""
    found = ((name, limit_for(name, part.limits, subject)) for name in part.quantities)
    return {name: limit for name, limit in found if limit is not None}


class Witnesses:
    """Finds and runs cases over one rulebase; evaluators are kept."""

    def __init__(self, rulebase: Rulebase):
        self.rulebase = rulebase
        self.closure = RuleClosure(rulebase)
        self._evaluators: dict[object, Evaluator] = {}
        self._spaces: dict[object, Space] = {}

    def space(self, part: Rulebase, subject: Subject) -> Space:
        """The space of the whole rulebase for the limits of a closure on a subject; kept."""
        limits = limits_of(part, subject)
        key = frozenset(limit.id for limit in limits.values())
        if key not in self._spaces:
            self._spaces[key] = Space(self.rulebase, limits)
        return self._spaces[key]

    def solver(self, part: Rulebase, subject: Subject, *, deep: bool) -> Solver:
        """A solver over the rules of a closure that apply to a subject."""
        rules = {n: r for n, r in part.rules.items() if applies_to(r.applies, subject)}
        return Solver(self.space(part, subject), rules, deep=deep)

    def case(self, fire: Sequence[Rule], remark: str, part: Rulebase | None = None) -> str:
        """The text of a file on which all of some rules fire; it was run. Nothing if none is found.

        The search follows the closures of the rules.
        """
        part = part or self.joined(fire)
        for subject in contexts(fire, part):
            solver = self.solver(part, subject, deep=True)
            goals = [Goal(rule, "true") for rule in fire]
            for assignment in islice(solver.assignments(goals), _TRIES):
                text = case_text(assignment, subject, solver.space, remark)
                if {rule.id for rule in fire} <= self.fired(text):
                    return text
        return ""

    def joined(self, rules: Sequence[Rule]) -> Rulebase:
        """The closures of some rules together."""
        parts = [self.closure.of(rule.id) for rule in rules]
        if len(parts) == 1:
            return parts[0]
        names = {name for part in parts for name in part.rules}
        quantities = {name for part in parts for name in part.quantities}
        limits = {limit.id for part in parts for limit in part.limits}
        return self.closure.cut(names, quantities, limits)

    def fired(self, text: str) -> frozenset[str]:
        """Ids of the rules that fire on the text of a file of readings."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "case.yaml"
            path.write_text(text, encoding="utf-8")
            try:
                given = read_subject_file(path, self.rulebase)
            except (PackError, ReadingError):
                return frozenset()
        subject = given.subject
        key = (tuple(subject.facts.items()), subject.has, tuple(m.id for m in given.members))
        if key not in self._evaluators:
            self._evaluators[key] = Evaluator(
                self.rulebase, subject, members=given.members, backend="plain"
            )
        evaluator = self._evaluators[key]
        facts, _ = evaluator.facts(given.readings, given.found)
        return frozenset(rule.id for rule in evaluator.run(facts))


def first_goals(rule: Rule) -> Iterator[tuple[int, list[Goal]]]:
    """Goals for the first n conditions of a rule, n rising, with its exceptions last."""
    goals: list[Goal] = []
    for number, condition in enumerate(rule.when):
        goals.append(Goal(condition, "true"))
        yield number, list(goals)
    for number, condition in enumerate(rule.unless, start=len(rule.when)):
        goals.append(Goal(condition, "open"))
        yield number, list(goals)
