"""What stands in a rulebase and bears on nothing."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from expert.author.coverage.gap import Gap
from expert.author.coverage.tell_apart import alike
from expert.knowledge.conditions import (
    Condition,
    HasSign,
    Is,
    everywhere,
    parts,
    quantities_anywhere,
)
from expert.knowledge.model import Rulebase
from expert.knowledge.resolve import NUMBER_STATES


def unused(rulebase: Rulebase, elsewhere: Collection[str] = ()) -> Iterator[Gap]:
    """Limits, quantities, signs and causes that nothing uses or supports, and causes alike.

    `elsewhere` are quantities used outside the rulebase, as in checklists.
    """
    yield from _quantities(rulebase, elsewhere)
    yield from _limits(rulebase)
    yield from _signs(rulebase)
    yield from _causes(rulebase)


def _conditions(rulebase: Rulebase) -> Iterator[Condition]:
    for rule in rulebase.rules.values():
        yield from (*rule.when, *rule.unless)
    for limit in rulebase.limits:
        yield from limit.cannot_judge_when
    for quantity in rulebase.quantities.values():
        yield from quantity.asked_when
    for cause in rulebase.causes.values():
        yield from cause.can_be_when
    for complaint in rulebase.complaints.values():
        yield from complaint.or_when
    for gate in rulebase.gates.values():
        yield from gate.needs
    for state in rulebase.plant_states.values():
        for way in state.seen_in:
            yield from (*way.high, *way.normal, *way.low)
    for arrow in rulebase.influences.values():
        yield from arrow.when


def _quantities(rulebase: Rulebase, elsewhere: Collection[str]) -> Iterator[Gap]:
    used = set(elsewhere)
    for condition in _conditions(rulebase):
        used |= set(quantities_anywhere(condition))
    for quantity in rulebase.quantities.values():
        if quantity.derivation is not None:
            used |= set(quantity.derivation.rests_on)
    for quantity in rulebase.quantities.values():
        if quantity.id not in used:
            what = "no rule, limit, gate, derived value or checklist uses it"
            yield Gap(f"quantity {quantity.id} / unused", "quantity", what, quantity.place)


def _limits(rulebase: Rulebase) -> Iterator[Gap]:
    judged = {
        part.quantity
        for condition in _conditions(rulebase)
        for part in everywhere(condition)
        if isinstance(part, Is) and part.word in NUMBER_STATES
    }
    for limit in rulebase.limits:
        if limit.quantity not in judged:
            what = f"no rule or gate looks at a state of {limit.quantity}"
            yield Gap(f"limit {limit.id} / unused", "limit", what, limit.place)


def _signs(rulebase: Rulebase) -> Iterator[Gap]:
    concluded = {sign for rule in rulebase.rules.values() for sign in rule.concludes}
    used = {
        part.sign
        for condition in _conditions(rulebase)
        for part in parts(condition)
        if isinstance(part, HasSign)
    }
    for sign in rulebase.signs.values():
        if sign.id not in used:
            yield Gap(f"sign {sign.id} / unused", "sign", "no rule uses it", sign.place)
        if sign.id not in concluded:
            what = "no rule concludes it, so it never holds"
            yield Gap(f"sign {sign.id} / never concluded", "sign", what, sign.place)


def _causes(rulebase: Rulebase) -> Iterator[Gap]:
    supported = {cause for rule in rulebase.rules.values() for cause in rule.evidence_for}
    for cause in rulebase.causes.values():
        if cause.id not in supported:
            what = "no rule is evidence for it, so it is never found"
            yield Gap(f"cause {cause.id} / no support", "cause", what, cause.place)
    for group in alike(rulebase):
        for cause_id in group[1:]:
            what = f"no reading tells it from '{group[0]}': the same readings speak for both"
            place = rulebase.causes[cause_id].place
            yield Gap(f"cause {cause_id} / like {group[0]}", "cause", what, place)
