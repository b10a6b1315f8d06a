"""Runs the tests of the rules, those beside them and those in proof."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.inference.findings import weighed
from expert.inference.kleene import Truth
from expert.inference.make_engine import Backend
from expert.inference.sign_truth import rule_truth
from expert.inference.truth import Facts
from expert.knowledge.certainty_scale import NOT_FOUND
from expert.knowledge.judge import in_words, split_time
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.rule_test_model import Given, RuleTest
from expert.knowledge.site import Subject
from expert.units.kinds import Kind
from expert.units.measure import Measure
from expert.units.parse import parse_measure

DEFAULT_FACTS = {
    "application": "low temperature", "defrost": "hot gas", "refrigerant": "R-449A",
}  # fmt: skip
_WORDS: dict[Truth, str] = {True: "fires", False: "silent", None: "undecided"}


@dataclass(frozen=True)
class Outcome:
    """What one test of one rule came to: what the rule does, and the causes the test asks for."""

    rule: Rule
    test: RuleTest
    got: str
    found: Mapping[str, str] = field(default_factory=dict)

    @property
    def passed(self) -> bool:
        """Whether the rule did what its test expects."""
        return self.got == self.test.expect and self.found == self.test.finds

    @property
    def otherwise(self) -> tuple[str, ...]:
        """What came out otherwise than expected, in words."""
        does = () if self.got == self.test.expect else (f"{self.got}, expected {self.test.expect}",)
        return does + tuple(
            f"{cause}: {self.found[cause]}, expected {word}"
            for cause, word in self.test.finds.items()
            if self.found[cause] != word
        )

    def __str__(self) -> str:
        message = "; ".join(self.otherwise) or f"{self.got}, as expected"
        return f"{self.test.place}: {self.rule.id}: {message}"


def run_rule_tests(
    rulebase: Rulebase, backend: Backend = "auto", only: str = ""
) -> tuple[Outcome, ...]:
    """Every test of the rules with a word in their id or file, in the order of the files."""
    evaluators: dict[object, Evaluator] = {}
    outcomes = []
    for rule in (each for each in rulebase.rules.values() if named(each, only)):
        for test in rule.tests:
            evaluator = evaluator_for(test, rulebase, backend, evaluators)
            does = outcome_of(rule, test, evaluator)
            outcomes.append(Outcome(rule, test, does, found_of(test, evaluator)))
    return tuple(outcomes)


def named(rule: Rule, word: str) -> bool:
    """Whether a rule has a word in its id, or in the path of its file or of one with its proof."""
    paths = {rule.place.path, *(test.place.path for test in rule.tests)}
    return word in rule.id or any(word in path for path in paths)


def evaluator_for(
    test: RuleTest, rulebase: Rulebase, backend: Backend, made: dict[object, Evaluator]
) -> Evaluator:
    """The evaluator of a test's subject; `made` keeps those that were made already."""
    facts = {**DEFAULT_FACTS, **test.facts}
    has = tuple(filter(None, [facts.pop("has", "")]))
    members = dict.fromkeys((g.kind, g.subject) for g in test.given if g.subject)
    key = (tuple(sorted(facts.items())), has, tuple(members))
    if key not in made:
        subject = Subject("test", "rule test", "circuit", "test", facts, has=has)
        others = [replace(subject, id=name, kind=kind) for kind, name in members]
        made[key] = Evaluator(rulebase, subject, members=others, backend=backend)
    return made[key]


def outcome_of(rule: Rule, test: RuleTest, evaluator: Evaluator) -> str:
    """fires, silent or undecided: what a rule does on what a test gives."""
    return judged(rule, test, evaluator)[0]


def judged(rule: Rule, test: RuleTest, evaluator: Evaluator) -> tuple[str, Facts]:
    """What a rule does on what a test gives, and the facts with the signs it met."""
    fired, facts = _fired(test, evaluator)
    if rule.id not in evaluator.rules:
        return "silent", facts
    if rule in fired:
        return "fires", facts
    return _WORDS[rule_truth(rule, facts)], facts


def found_of(
    test: RuleTest, evaluator: Evaluator, causes: Collection[str] | None = None
) -> dict[str, str]:
    """The words for the certainty of each cause that a test asks for, or of some of them.

    Of one that is not found, what speaks against it, unless the test says no more than that.
    """
    causes = test.finds if causes is None else causes
    if not causes:
        return {}
    scale = evaluator.rulebase.certainty
    weights = weighed(fired_on(test, evaluator), evaluator.rulebase)

    def word(cause: str) -> str:
        weight = weights.get(cause, 0.0)
        if round(weight, 4) >= scale.threshold:
            return scale.say(weight)
        bare = test.finds[cause] == NOT_FOUND
        return NOT_FOUND if bare else scale.say_against(round(-weight, 4))

    return {cause: word(cause) for cause in causes}


def fired_on(test: RuleTest, evaluator: Evaluator) -> tuple[Rule, ...]:
    """The rules that fire on what a test gives."""
    return _fired(test, evaluator)[0]


def _fired(test: RuleTest, evaluator: Evaluator) -> tuple[tuple[Rule, ...], Facts]:
    """The rules that fire on what a test gives, and the facts."""
    base = evaluator.rulebase
    readings = [r for given in test.given for r in _readings(given, base)]
    found = [r for r in readings if r.stage == "as found"]
    now = [r for r in readings if r.stage != "as found"]
    facts, _ = evaluator.facts(now, found or None)
    fixed = {
        given.name: given.texts[0] == "yes" for given in test.given if given.name in base.signs
    }
    return evaluator.run(facts, fixed), facts


def _readings(given: Given, rulebase: Rulebase) -> list[Reading]:
    quantity = rulebase.quantities.get(given.name)
    if quantity is None:
        return []
    readings = []
    for timed in given.texts:
        text, seconds = split_time(timed)
        value: Measure | str = text
        if quantity.kind not in (Kind.CHOICE, Kind.TEXT) and not in_words(text):
            number = parse_measure(text, quantity.kind).value
            value = Measure(quantity.kind, number, quantity.accuracy)
        readings.append(
            Reading(
                quantity.id,
                value,
                text,
                given.stage or "as left",
                seconds=seconds,
                subject=given.subject,
            )
        )
    return readings
