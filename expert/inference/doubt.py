"""Readings to take again before acting, and what the readings cannot tell.

A first finding is fragile where one reading, moved by its plausible error (a fact of the
rulebase), brings another to the first rank. Of the readings on which it turns, those are named
whose error would explain most: fewest contradictions left, then least left to be found wrong.
Rules may name readings that cannot all be right; of these the same is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from expert.inference.evaluation_model import Doubt, Hidden, Known, Missing, Reading
from expert.inference.findings import findings_of, nest
from expert.inference.influences import Influences
from expert.inference.looked_at import LookedAt
from expert.inference.sentences import value_text
from expert.inference.sign_truth import rule_truth
from expert.inference.truth import Facts
from expert.knowledge.conditions import Elementary
from expert.knowledge.model import Quantity, Rule, Rulebase
from expert.knowledge.plants import suited
from expert.knowledge.site import Subject
from expert.made_when_used import dataclass
from expert.units.measure import Measure, difference_kind

AT_MOST = 2  # more names would send a technician over everything again (own choice)


class Evaluating(Protocol):
    """What is asked of an evaluator here: what is known from some readings, and what fires."""

    rulebase: Rulebase
    subject: Subject
    system: str

    def facts(
        self, readings: Iterable[Reading], found: Iterable[Reading] | None = None
    ) -> tuple[Facts, tuple[Missing, ...]]:
        """What is known, and what could not be computed."""

    def run(self, facts: Facts) -> tuple[Rule, ...]:
        """The rules that fire."""

    def influences(self, facts: Facts) -> Influences:
        """What is odd about the plant."""

    @property
    def looked_at(self) -> LookedAt:
        """The conditions that hang on each quantity."""


@dataclass(frozen=True)
class _LedTo:
    """What some readings lead to: the cause ranked first ('' for none), the rules that fire, and
    the certainties of all that stands for itself."""

    first: str
    fired: tuple[Rule, ...]
    wrong: float
    influences: Influences

    @property
    def contradictions(self) -> tuple[Rule, ...]:
        """The rules that find readings to contradict one another."""
        return tuple(rule for rule in self.fired if rule.doubts)

    @property
    def trouble(self) -> tuple[int, float]:
        """How much is left to be explained, contradictions before findings."""
        return len(self.contradictions), self.wrong


@dataclass(frozen=True)
class _Moved:
    """A reading moved by its plausible error, and what would then be."""

    quantity: Quantity
    by: Measure
    then: _LedTo


def find_doubts(
    evaluator: Evaluating, readings: Sequence[Reading], found: Sequence[Reading] | None
) -> tuple[Doubt, ...]:
    """At most two readings to take again, the likeliest to be wrong first."""
    facts, _ = evaluator.facts(readings, found)
    now = _picture(evaluator, evaluator.run(facts), evaluator.influences(facts))
    doubted = _doubted(now.contradictions, facts.known)
    likeliest: dict[str, tuple[tuple[int, float], _Moved]] = {}
    for moved in _moves(evaluator, readings, found, facts, now):
        name = moved.quantity.id
        if moved.then.first == now.first and name not in doubted:
            continue
        if name not in likeliest or moved.then.trouble < likeliest[name][0]:
            likeliest[name] = (moved.then.trouble, moved)
    if not now.first and len(likeliest) > AT_MOST:
        return ()  # nothing is to be acted on, and no reading stands out
    ranked = sorted(likeliest.values(), key=lambda each: each[0])
    return tuple(_told(moved, now, doubted, evaluator) for _, moved in ranked[:AT_MOST])


def find_hidden(
    fired: Iterable[Rule], known: Mapping[str, Known], rulebase: Rulebase
) -> tuple[Hidden, ...]:
    """What cannot be told while the readings that would show it are lacking."""
    hidden = []
    for rule in fired:
        if (unseen := rule.cannot_tell) and (left := [r for r in unseen.read if r not in known]):
            read = tuple(rulebase.quantities[name] for name in left)
            hidden.append(Hidden(unseen.what, rule.because, read))
    return tuple(hidden)


def _picture(evaluator: Evaluating, fired: tuple[Rule, ...], influences: Influences) -> _LedTo:
    ranked = nest(findings_of(fired, evaluator.rulebase, influences), influences)
    return _LedTo(
        ranked[0].cause.id if ranked else "",
        fired,
        round(sum(finding.certainty for finding in ranked), 4),
        influences,
    )


def _picture_again(
    evaluator: Evaluating,
    facts: Facts,
    before: Facts,
    now: _LedTo,
    moved: tuple[Elementary, ...],
) -> _LedTo:
    """What facts lead to that differ from those before in some conditions alone."""
    looked_at = evaluator.looked_at
    fired = _fired_again(evaluator, facts, before, now.fired, looked_at.rules_of(moved))
    if fired is None:
        return _picture(evaluator, evaluator.run(facts), evaluator.influences(facts))
    if looked_at.tells_of_plant(moved):
        return _picture(evaluator, fired, evaluator.influences(facts))
    if fired == now.fired and _in_words(facts) == _in_words(before):
        return now
    return _picture(evaluator, fired, now.influences.over(facts))


def _in_words(facts: Facts) -> list[str]:
    """What weighs less since no number is known of it: a computed one may come or go."""
    return [name for name, each in facts.known.items() if each.in_words]


def _fired_again(
    evaluator: Evaluating,
    facts: Facts,
    before: Facts,
    fired: tuple[Rule, ...],
    touched: tuple[Rule, ...],
) -> tuple[Rule, ...] | None:
    """The rules that fire now, where only some were touched; None where signs may be other ones.

    Signs do not rest on themselves, so they are what they were as long as each rule that concludes
    one comes to the same with them.
    """
    facts.signs.update(before.signs)
    truths = {rule.id: rule_truth(rule, facts) for rule in touched}
    if any(truths[x.id] is not rule_truth(x, before) for x in touched if x.concludes):
        facts.signs.clear()
        return None
    now = [rule for rule in fired if rule.id not in truths]
    now += [rule for rule in touched if truths[rule.id] is True]
    return evaluator.looked_at.in_order(now)


def _doubted(contradictions: Iterable[Rule], known: Mapping[str, Known]) -> dict[str, str]:
    """The readings that contradict others, each with why; of computed ones what they rest on."""
    why: dict[str, str] = {}
    for rule in contradictions:
        for name in rule.doubts:
            for reading in known[name].readings if name in known else ():
                why.setdefault(reading.quantity, rule.because)
    return why


def _moves(
    evaluator: Evaluating,
    readings: Sequence[Reading],
    found: Sequence[Reading] | None,
    before: Facts,
    now: _LedTo,
) -> Iterator[_Moved]:
    """Every number that was read, all of a series alike, moved up and down.

    A move that turns no condition leads to the same picture, which is then not made again.
    """
    errors = {each.kind: each.error for each in evaluator.rulebase.plausible_errors.values()}
    for each in before.known.values():
        quantity = suited(each.quantity, evaluator.subject)
        error = errors.get(quantity.kind)
        if each.derived or each.in_words or not each.measured or error is None:
            continue
        own = set(each.readings)
        those = [at for at, r in enumerate(readings) if r.quantity == quantity.id]
        for by in (error, -error):
            changed = list(readings)
            for at in those:
                if readings[at] in own:
                    changed[at] = _shifted(readings[at], by)
            if all(_possible(changed[at].value, quantity) for at in those):
                facts, _ = evaluator.facts(changed, found)
                then = now
                if turned := evaluator.looked_at.moved(quantity.id, before, facts):
                    evaluator.looked_at.take_over(quantity.id, before, facts)
                    then = _picture_again(evaluator, facts, before, now, turned)
                yield _Moved(quantity, Measure(difference_kind(quantity.kind), by), then)


def _shifted(reading: Reading, by: float) -> Reading:
    assert isinstance(reading.value, Measure)
    return replace(reading, value=replace(reading.value, value=reading.value.value + by))


def _possible(value: Measure | str, quantity: Quantity) -> bool:
    low, high = quantity.refuse_below, quantity.refuse_above
    return isinstance(value, Measure) and not (
        (low is not None and value.value < low) or (high is not None and value.value > high)
    )


def _told(moved: _Moved, now: _LedTo, doubted: Mapping[str, str], evaluator: Evaluating) -> Doubt:
    """Why a reading is named, and what to do about it."""
    causes, first, then = evaluator.rulebase.causes, now.first, moved.then.first
    says = [doubted[moved.quantity.id]] if moved.quantity.id in doubted else []
    if then != first:
        amount = replace(moved.by, value=abs(moved.by.value))
        way = "more" if moved.by.value > 0 else "less"
        step = f"with {value_text(amount, evaluator.system)} {way}"
        if not first:
            says.append(f"Nothing is found, but {step} there '{causes[then].title}' would be.")
        elif not then:
            says.append(f"'{causes[first].title}' rests on it: {step} nothing would be found.")
        else:
            other = causes[then].title
            says.append(f"'{causes[first].title}' rests on it: {step} it would be '{other}'.")
    says.append("Check it with a second instrument before acting.")
    return Doubt(moved.quantity, " ".join(says))
