"""Whether a rule fires and a sign is so, false, or still unknown, by all that is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from expert.inference.kleene import Truth
from expert.inference.program import Stratum
from expert.inference.truth import Facts
from expert.knowledge.model import Rule


class SignTruth:
    """Settles signs by the rules that conclude them; `needed` are those a rule waits for."""

    def __init__(
        self, needed: Mapping[str, Sequence[str]], concluding: Mapping[str, Sequence[Rule]]
    ) -> None:
        self.needed = needed
        self.concluding = concluding

    def settle(self, stratum: Stratum, facts: Facts) -> None:
        """Signs that were not concluded: false if no rule could, unknown if one still might."""
        waiting = [sign for rule in stratum.rules for sign in rule.concludes]
        for sign in dict.fromkeys(waiting):
            self._sign(sign, facts)

    def _sign(self, sign: str, facts: Facts) -> Truth:
        if facts.signs.get(sign) is not None or sign not in self.concluding:
            return facts.signs.get(sign)
        truths = [self._rule(rule, facts) for rule in self.concluding[sign]]
        truth: Truth = True if True in truths else None if None in truths else False
        facts.signs[sign] = truth
        return truth

    def _rule(self, rule: Rule, facts: Facts) -> Truth:
        for sign in self.needed[rule.id]:
            self._sign(sign, facts)
        return rule_truth(rule, facts)


def rule_truth(rule: Rule, facts: Facts) -> Truth:
    """Whether a rule fires: its conditions, unless an exception is known to be true."""
    truth: Truth = True
    for condition in rule.when:
        held = facts.holds(condition)
        if held is False:
            return False
        truth = None if held is None else truth
    return False if any(map(facts.holds, rule.unless)) else truth
