"""What of a rulebase holds on a subject: its rules, limits and cautions."""

from __future__ import annotations

from functools import cached_property

from expert.inference.truth import limit_for
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.plants import applies_to, cautions_on, is_there
from expert.knowledge.site import Subject
from expert.knowledge.strata import rules_by_sign


class HeldHere:
    """Each part is made when it is first asked for: a first question needs few of them.

    `limits` are those found for subjects so far, by what they hang on.
    """

    def __init__(
        self, rulebase: Rulebase, subject: Subject, limits: dict[object, dict[str, Limit]]
    ) -> None:
        self.rulebase = rulebase
        self.subject = subject
        self._limits = limits

    @cached_property
    def rules(self) -> dict[str, Rule]:
        """The rules that hold for the subject."""
        rules = self.rulebase.rules
        return {
            name: each for name, each in rules.items() if applies_to(each.applies, self.subject)
        }

    @cached_property
    def needed(self) -> dict[str, tuple[str, ...]]:
        """The signs that each rule waits for."""
        return {rule.id: tuple(rule.needed_signs) for rule in self.rules.values()}

    @cached_property
    def concluding(self) -> dict[str, list[Rule]]:
        """The rules that conclude each sign."""
        return rules_by_sign(self.rules.values())

    @cached_property
    def limits(self) -> dict[str, Limit]:
        """The limit that holds for each quantity of the subject."""
        return self.limits_of(self.subject)

    @cached_property
    def on_plant(self) -> tuple[Caution, ...]:
        """The cautions that belong to the plant."""
        return cautions_on(self.rulebase, self.subject)

    @cached_property
    def foreign(self) -> frozenset[str]:
        """The quantities that the plant does not have."""
        quantities = self.rulebase.quantities.values()
        return frozenset(each.id for each in quantities if not is_there(each, self.subject))

    def limits_of(self, subject: Subject) -> dict[str, Limit]:
        """The limit that holds for each quantity of a subject."""
        made = self._limits
        # of members of one kind of plant they are the same, unless the site has some of its own
        own = subject.id if subject.limits else ""
        key = (tuple(sorted(subject.facts.items())), subject.has, own)
        if key not in made:
            groups: dict[str, list[Limit]] = {}
            for limit in (*self.rulebase.limits, *subject.limits):
                groups.setdefault(limit.quantity, []).append(limit)
            found = (limit_for(name, group, subject) for name, group in groups.items())
            made[key] = {limit.quantity: limit for limit in found if limit is not None}
        return made[key]
