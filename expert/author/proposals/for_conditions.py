"""Proposes tests for conditions on which no rule has hung yet: a test of the rule with one reading
(or two) changed, so that the condition alone decides."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from itertools import chain, islice

from expert.author.coverage.gap import Gap
from expert.author.coverage.observe import Seen, SeenPart, SeenRule, look
from expert.author.proposals.for_mutants import Proposal
from expert.author.rule_tests import evaluator_for, judged
from expert.author.search.rule_closure import RuleClosure
from expert.inference.evaluate import Evaluator
from expert.inference.truth import Facts
from expert.knowledge.conditions import Compare, HasSign, Is, quantities_anywhere
from expert.knowledge.entry_model import NOWHERE
from expert.knowledge.model import Rulebase
from expert.knowledge.rule_test_model import Given, RuleTest

_TEXTS = 12  # values of a quantity that are tried, taken from tests that give it
_TRIES = 400  # changed tests that are run for one condition


class CaseProposer:
    """Proposes over one rulebase, given what its tests and scenarios have tried."""

    def __init__(self, rulebase: Rulebase, seen: Seen):
        self.rulebase = rulebase
        self._seen = seen
        self._closure = RuleClosure(rulebase)
        self._texts: dict[str, dict[tuple[str, ...], None]] = {}
        for rule in rulebase.rules.values():
            for test in rule.tests:
                for given in test.given:
                    if len(given.texts) == 1:
                        self._texts.setdefault(given.name, {})[given.texts] = None

    def propose(self, word: str = "") -> Iterator[Proposal]:
        """Tests for the rules whose id or file has a word; each shows what no other does."""
        for each in self._seen.rules.values():
            if word in each.rule.id or word in each.rule.place.path:
                yield from self._of(each)

    def _of(self, each: SeenRule) -> list[Proposal]:
        before = deepcopy(each.parts)
        found: list[tuple[Proposal, Facts]] = []
        for number, part in enumerate(each.parts):
            while (lacking := _lacking(part)) and (more := self._for(each, number, lacking)):
                found.append(more)
        whole = _shown(each, before, found)
        for one in tuple(found):  # an early one may show nothing that later ones do not
            others = [other for other in found if other is not one]
            if _shown(each, before, others) == whole:
                found = others
        return [proposal for proposal, _ in found]

    def _for(self, each: SeenRule, number: int, lacking: str) -> tuple[Proposal, Facts] | None:
        """The test that shows most of a condition; what it shows is then noted."""
        rule, made = each.rule, dict[object, Evaluator]()
        most, best = _count(each.parts[number]), None
        for given, old in islice(self._changed(each, number), _TRIES):
            test = replace(old, given=given, finds={})
            evaluator = evaluator_for(test, self._closure.of(rule.id), "plain", made)
            outcome, facts = judged(rule, test, evaluator)
            tried = deepcopy(each.parts)
            look(SeenRule(rule, tried), facts)
            if (count := _count(tried[number])) > most:
                most, best = count, (replace(test, expect=outcome), facts)
            if tried[number].shown:
                break
        if best is None:
            return None
        look(each, best[1])
        name = f"{rule.id} / {each.parts[number].part} / undecided"
        return Proposal(rule.id, best[0], Gap(name, "condition", lacking, rule.place)), best[1]

    def _changed(self, each: SeenRule, number: int) -> Iterator[tuple[tuple[Given, ...], RuleTest]]:
        """What tests of a rule give, firing ones first, with the condition's reading changed; then
        also that of another condition."""
        tests = sorted(each.rule.tests, key=lambda test: test.expect != "fires")
        own = tuple(self._settings(each.parts[number]))
        for test in tests:
            yield from ((_with(test.given, given), test) for given in own)
        others = chain.from_iterable(
            self._settings(part) for part in each.parts if part is not each.parts[number]
        )
        for other in others:
            for test in tests:
                twice = (_with(_with(test.given, given), other) for given in own)
                yield from ((given, test) for given in twice)

    def _settings(self, seen: SeenPart) -> Iterator[Given]:
        """Readings and signs that bear on a condition, one at a time."""
        part = seen.part
        if isinstance(part, HasSign):
            yield from (Given(part.sign, (word,), NOWHERE) for word in ("yes", "no"))
        elif isinstance(part, Is | Compare):
            for name in quantities_anywhere(part):
                texts = dict(islice(self._texts.get(name, {}).items(), _TEXTS))
                choices = self.rulebase.quantities[name].choices
                for each in dict.fromkeys((*((choice,) for choice in choices), *texts)):
                    yield Given(name, each, NOWHERE)


def _with(given: tuple[Given, ...], more: Given) -> tuple[Given, ...]:
    kept = (each for each in given if each.name != more.name or each.subject or each.stage)
    return (*kept, more)


def _shown(
    each: SeenRule, before: tuple[SeenPart, ...], found: list[tuple[Proposal, Facts]]
) -> list[int]:
    tried = SeenRule(each.rule, deepcopy(before))
    for _, facts in found:
        look(tried, facts)
    return [_count(part) for part in tried.parts]


def _count(seen: SeenPart) -> int:
    return len(seen.truths & {True, False}) + seen.fired_by + seen.kept_silent


def _lacking(seen: SeenPart) -> str:
    """What no test has shown of a condition yet."""
    words = [f"never {str(truth).lower()}" for truth in (True, False) if truth not in seen.truths]
    words += [] if seen.fired_by else ["the rule never fires by it alone"]
    words += [] if seen.kept_silent else ["it alone never keeps the rule silent"]
    return ", ".join(words)
