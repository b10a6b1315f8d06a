"""What tests and scenarios have tried of each rule: which truths its conditions took, and whether
the rule ever hung on one of them alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from expert.author.rule_tests import evaluator_for, judged
from expert.author.scenarios.read import Scenario, ScenarioRunner
from expert.author.search.rule_closure import RuleClosure
from expert.inference.evaluate import Evaluator
from expert.inference.kleene import Truth, all_, at_least
from expert.inference.truth import Facts
from expert.knowledge.conditions import Condition, Elementary, Group, parts
from expert.knowledge.model import Rule, Rulebase
from expert.units.measure import Measure

_TINY = 1e-9


@dataclass
class SeenPart:
    """An elementary condition of a rule, as often as it stands there.

    `fired_by` says that the rule once fired and would not have with this condition turned;
    `kept_silent` that it once did not fire and would have.
    """

    part: Elementary
    exception: bool
    truths: set[Truth] = field(default_factory=set)
    fired_by: bool = False
    kept_silent: bool = False

    @property
    def shown(self) -> bool:
        """Whether nothing is lacking."""
        return self.fired_by and self.kept_silent and self.truths >= {True, False}


@dataclass
class SeenRule:
    """A rule, its conditions in the order of the file, and what its own tests made of it."""

    rule: Rule
    parts: tuple[SeenPart, ...]
    outcomes: set[str] = field(default_factory=set)


@dataclass
class Seen:
    """Everything that was tried. `edges` holds (limit, edge, side) with side 'below' or 'above'."""

    rules: dict[str, SeenRule]
    edges: set[tuple[str, str, str]] = field(default_factory=set)


def observe(rulebase: Rulebase, scenarios: Iterable[Scenario] = ()) -> Seen:
    """What the tests beside the rules and some scenarios try."""
    seen = Seen({rule.id: SeenRule(rule, _parts(rule)) for rule in rulebase.rules.values()})
    closure = RuleClosure(rulebase)
    for rule in rulebase.rules.values():
        part = closure.of(rule.id)
        made: dict[object, Evaluator] = {}
        for test in rule.tests:
            evaluator = evaluator_for(test, part, "plain", made)
            outcome, facts = judged(rule, test, evaluator)
            seen.rules[rule.id].outcomes.add(outcome)
            if rule.id in evaluator.rules:
                look(seen.rules[rule.id], facts)
            seen.edges |= set(_edges(facts))
    scenario_runner = ScenarioRunner(rulebase, "plain")
    for scenario in scenarios:
        evaluator = scenario_runner.evaluator(scenario)
        facts, _ = evaluator.facts(scenario.given.readings, scenario.given.found)
        evaluator.run(facts)
        for name in evaluator.rules:
            look(seen.rules[name], facts)
        seen.edges |= set(_edges(facts))
    return seen


def _parts(rule: Rule) -> tuple[SeenPart, ...]:
    return tuple(
        SeenPart(part, exception)
        for exception, conditions in ((False, rule.when), (True, rule.unless))
        for condition in conditions
        for part in parts(condition)
    )


def look(seen: SeenRule, facts: Facts) -> None:
    """Note on the conditions of a rule what they are on some facts, and what hangs on each."""
    if all(each.shown for each in seen.parts):
        return
    truths = [facts.holds(each.part) for each in seen.parts]
    for each, truth in zip(seen.parts, truths, strict=True):
        each.truths.add(truth)
    fires = outcome(seen.rule, truths) is True
    for number, each in enumerate(seen.parts):
        truth = truths[number]
        if truth is None or (each.fired_by if fires else each.kept_silent):
            continue
        turned = [*truths[:number], not truth, *truths[number + 1 :]]
        if (outcome(seen.rule, turned) is True) != fires:
            each.fired_by |= fires
            each.kept_silent |= not fires


def outcome(rule: Rule, truths: Iterable[Truth]) -> Truth:
    """What a rule does, from the truths of its elementary conditions in the order of the file."""
    waiting = iter(truths)
    when = [_fold(condition, waiting) for condition in rule.when]
    unless = [_fold(condition, waiting) for condition in rule.unless]
    return False if True in unless else all_(when)


def _fold(condition: Condition, truths: Iterator[Truth]) -> Truth:
    if isinstance(condition, Group):
        members = tuple(_fold(member, truths) for member in condition.members)
        return at_least(condition.at_least, members)
    return next(truths)


def _edges(facts: Facts) -> Iterator[tuple[str, str, str]]:
    """The edges of limits met by values, with the side the whole interval of the value lies on."""
    everyone = [facts, *facts.stages.values()]
    everyone += [member for group in facts.members.values() for member in group]
    for one in everyone:
        for name, known in one.known.items():
            limit = one.limits.get(name)
            if limit is None or not isinstance(known.value, Measure):
                continue
            tiny = _TINY * max(1.0, abs(known.value.value))
            for edge in ("very_low", "low", "high", "very_high"):
                value = getattr(limit, edge)
                if value is None:
                    continue
                # An edge belongs to the normal side: low from it upwards, high up to it.
                slack = tiny if edge.endswith("high") else -tiny
                if known.value.high < value + slack:
                    yield limit.id, edge, "below"
                elif known.value.low >= value + slack:
                    yield limit.id, edge, "above"
