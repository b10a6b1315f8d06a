"""What to measure next: the reading that tells the open causes apart best, for its effort.

A reading is worth the chance that it makes a cause lead, by each rule that waits for it (it fires
where its cause is so, and hardly else), and what it is expected to tell, in bits, by rules that
would speak against causes, by the state of the plant it would show, which each cause predicts, and
by how often plants with each cause show what.
The expected fall of the candidates' entropy is the measure of de Kleer and Williams 1987,
Diagnosing multiple faults, Artificial Intelligence 32. It rises ever slower with the share of a
cause, so that by it alone two looks at unlikely causes come before the test of the likeliest;
a chance does not. Effort divides both as the cost of a test does in Heckerman, Breese and Rommelse
1995, Communications of the ACM 38(3), where what is likeliest for its cost is looked at first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import cached_property

from expert.inference.certainty import both
from expert.inference.evaluation_model import Finding, NextReading, Suspect
from expert.inference.influences import Influences
from expert.inference.open_causes import CalledAbout, open_causes, shares
from expert.inference.told_by import (
    bits_told,
    by_kinds,
    by_likeness,
    by_rules,
    by_states,
    effort,
)
from expert.inference.truth import Facts
from expert.inference.waiting import Waiting
from expert.knowledge.conditions import Is, parts, quantities_in
from expert.knowledge.model import Quantity, Rule, Rulebase

AT_MOST = 5
_LOOK_MINUTES = 10  # what takes longer is a job, not a look (own choice)
_WORTHWHILE = 0.6  # of the best; what tells less is not worth a word (own choice)
_IN_VAIN = 0.75  # what a look that would have shown it takes from a cause (own choice)
_OPENED = 2  # the last step, at which the system is opened
_KIND_FITS = 0.95, 0.5  # a plant is of the kind that a cause needs where it is so, and else
_STATE = 0.3  # what a state tells counts less: it makes no cause lead by itself (own choice)
_LIKENESS = 2.0  # what a likeness tells counts more: it brings a suspect to the lead (own choice)
_SUSPECTS = 3  # so many of the causes that are open are named
_LOOKS = 2  # with so many of the quantities that speak for each


class StillOpen:
    """The causes that are still open after some findings, and what would tell them apart.

    `waiting` are the rules with the facts, `call` is what the call is about, anything where there
    is none; what is in `skip` cannot be had.
    """

    def __init__(
        self,
        waiting: Waiting,
        findings: tuple[Finding, ...],
        influences: Influences,
        *,
        fired: Collection[str] = (),
        call: CalledAbout | None = None,
        skip: Collection[str] = (),
    ) -> None:
        self.waiting, self.influences, self.skip = waiting, influences, skip
        self.rulebase, facts = influences.rulebase, influences.facts
        self.facts = facts
        self.kinds = _kinds(self.rulebase, facts, self.waiting)
        self.asks = self._asks()
        waits = [rule for rule in self.waiting.rules if self.asks[rule.id]]
        findable = {cause for rule in waits for cause in rule.evidence_for}
        against = _against(self.waiting.rules, fired, facts, self.rulebase)
        counted = open_causes(findings, influences, against, findable, call or CalledAbout())
        self.causes: Mapping[str, float] = shares(counted)

    def _asks(self) -> dict[str, tuple[str, ...]]:
        """The readings that each rule waits for, where all that it needs can be had."""
        asks = {rule.id: self.waiting.readings(rule) for rule in self.waiting.rules}
        there = {name for name in {n for names in asks.values() for n in names} if self.can(name)}
        return {
            rule.id: tuple(each for each in asks[rule.id] if each in there)
            if asks[rule.id] and self.waiting.could_fire(rule, there)
            else ()
            for rule in self.waiting.rules
        }

    def can(self, name: str) -> bool:
        """Whether a reading can be had."""
        asked_when, holds = self.rulebase.quantities[name].asked_when, self.facts.holds
        return name not in self.skip and all(holds(each) is not False for each in asked_when)

    @cached_property
    def suspects(self) -> tuple[Suspect, ...]:
        """The likeliest of the causes that are open."""
        first = sorted(self.causes, key=lambda name: (-self.causes[name], name))[:_SUSPECTS]
        looks = self.influences.resemblance
        return tuple(
            Suspect(self.rulebase.causes[name], round(self.causes[name], 4),
                    looks.tells_most(name, self.facts, _LOOKS))
            for name in first
        )  # fmt: skip

    @cached_property
    def readings(self) -> tuple[NextReading, ...]:
        """At most five readings, best first."""
        rulebase = self.rulebase
        tells, about = by_rules(self.waiting.rules, self.asks, self.causes, rulebase)
        for weight, found in (
            (_STATE, by_states(self.influences, self.waiting, self.causes)),
            (_LIKENESS, by_likeness(self.influences, self.waiting, self.causes)),
        ):
            for name, (bits, names) in found.items():
                tells[name] = tells.get(name, 0.0) + weight * bits
                about.setdefault(name, dict.fromkeys(names, bits))
        for name, fits in by_kinds(self.kinds, self.causes).items():
            tells[name] = tells.get(name, 0.0) + bits_told(sum(fits.values()), *_KIND_FITS)
            about.setdefault(name, fits)
        ranked = []
        for name, bits in tells.items():
            if bits > 1e-6 and self.can(name):
                quantity = rulebase.quantities[name]
                worth = round(bits / effort(quantity), 6)
                ranked.append(NextReading(quantity, _why(about[name], rulebase), worth))
        best = max((each.worth for each in ranked), default=0.0)
        ranked = [each for each in ranked if each.worth >= _WORTHWHILE * best]

        def order(each: NextReading) -> tuple[int, float, float, str]:
            # of what tells about as much looks come before gauges, gauges before anything is opened
            step = _step(each.quantity, rulebase)
            return step, -each.worth, effort(each.quantity), each.quantity.id

        return tuple(sorted(ranked, key=order)[:AT_MOST])


def _against(
    rules: Iterable[Rule], fired: Collection[str], facts: Facts, rulebase: Rulebase
) -> dict[str, float]:
    """What speaks against each cause (0 to 1): rules that fired, and what was looked for in vain.

    A rule that rests on one look alone says what the look would have shown.
    """
    strengths = rulebase.certainty.strengths
    taken: dict[str, float] = {}
    in_vain: dict[str, set[str]] = {}
    shown: dict[str, set[str]] = {}
    for rule in rules:
        if rule.id in fired:
            for cause, strength in rule.evidence_against.items():
                taken[cause] = both(taken.get(cause, 0.0), strengths[strength])
        look = _look(rule, facts, rulebase)
        for cause in rule.evidence_for if look else ():
            (shown if rule.id in fired else in_vain).setdefault(cause, set()).add(look)
    for cause, looks in in_vain.items():
        for _ in looks - shown.get(cause, set()):
            taken[cause] = both(taken.get(cause, 0.0), _IN_VAIN)
    return taken


def _look(rule: Rule, facts: Facts, rulebase: Rulebase) -> str:
    """The look on which alone a rule rests, if it was taken; else ''."""
    if not rule.evidence_for or (len(rule.when) != 1 and not rule.seen):
        return ""
    if any(isinstance(each, Is) and each.quantity not in facts.known for each in rule.when):
        return ""  # most rules wait for what was not read; the rest is worked out for few
    names = {name for each in rule.when for part in parts(each) for name in quantities_in(part)}
    if len(names) != 1:
        return ""
    name = next(iter(names))
    return name if name in facts.known and rulebase.quantities[name].is_choice else ""


def _kinds(rulebase: Rulebase, facts: Facts, waiting: Waiting) -> dict[str, tuple[str, ...]]:
    """For each cause that only some plants can have the readings that tell the kind, if unknown."""
    found = {}
    for cause in rulebase.causes.values():
        unknown = [each for each in cause.can_be_when if facts.holds(each) is None]
        if names := tuple(dict.fromkeys(n for each in unknown for n in waiting.under(each))):
            found[cause.id] = names
    return found


def _step(quantity: Quantity, rulebase: Rulebase) -> int:
    """0 for a look, 1 for an instrument, 2 where the system is opened."""
    takes = {rulebase.cautions[name].access for name in quantity.cautions}
    if "opening" in takes:
        return _OPENED
    look = quantity.is_choice or quantity.spot == "display"  # a display is looked at, too
    free = look and "gauges" not in takes and quantity.effort <= _LOOK_MINUTES
    return 0 if free else 1


def _why(about: Mapping[str, float], rulebase: Rulebase) -> str:
    first = sorted(about, key=lambda cause: (-about[cause], cause))[:2]
    titles = [f"'{rulebase.causes[cause].title}'" for cause in first]
    return f"It would speak for or against {' and '.join(titles)}."
