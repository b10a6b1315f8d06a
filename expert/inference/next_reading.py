"""What to measure next: the reading that tells the open causes apart best, for its effort.

Open are the causes that lead, what could be behind a mere symptom, and what would explain the odd
states of the plant though no rule speaks for it yet. A reading is worth what it is expected to
tell: by the rules that wait for it, and by the state it would show, which each cause predicts
(expected fall of the entropy of the candidates, as de Kleer and Williams 1987, Diagnosing multiple
faults, Artificial Intelligence 32).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations, islice
from math import log2

from expert.inference.evaluation_model import Finding, NextReading, each_finding
from expert.inference.influences import Influences
from expert.inference.truth import Facts
from expert.knowledge.conditions import Condition, HasSign, parts, quantities_in
from expert.knowledge.influence_model import PlantState
from expert.knowledge.model import Cause, Quantity, Rule, Rulebase
from expert.knowledge.strata import rules_by_sign

AT_MOST = 5
_LEADING = 4  # so many causes are held against one another
_SUSPECTS = 12  # so many causes that no rule speaks for yet
_LOOK_MINUTES = 10  # what takes longer is a job, not a look (own choice)
_HAZARD_MINUTES = 3  # each hazard of a reading counts like so many minutes (own choice)
_WORTHWHILE = 0.4  # of the best; what tells less is not put before it though it is a look
_SURE, _MAYBE, _ELSE = 0.9, 0.6, 0.05  # how firmly a cause predicts a state (own choice)
_SUSPECT = 0.25  # what a cause that explains all that is odd counts, beside findings


def rank_next(
    rules: Iterable[Rule],
    facts: Facts,
    findings: tuple[Finding, ...],
    rulebase: Rulebase,
    influences: Influences,
) -> tuple[NextReading, ...]:
    """At most five readings, best first.

    With nothing open at all, every cause that a reading could speak for counts alike.
    """
    rules = tuple(rules)
    waiting = _Waiting(rules, facts, rulebase.quantities)
    effects: dict[str, dict[str, float]] = {}
    for rule in rules:
        unknown = waiting.readings(rule)
        for sign, evidence in ((1, rule.evidence_for), (-1, rule.evidence_against)):
            for cause, strength in evidence.items():
                share = sign * rulebase.certainty.strengths[strength] / max(len(unknown), 1)
                for name in unknown:
                    causes = effects.setdefault(name, {})
                    causes[cause] = causes.get(cause, 0.0) + share
    candidates = open_causes(findings, influences, effects)
    shown = _Shown(influences, waiting, candidates)
    ranked = []
    for name in dict.fromkeys((*effects, *shown.tells)):
        quantity = rulebase.quantities[name]
        named = _parting(effects.get(name, {}), candidates) + shown.tells.get(name, 0.0)
        worth = named / _effort(quantity)
        if worth > 0:
            why = _why(effects.get(name, {}), shown.parts(name), candidates, rulebase)
            ranked.append(NextReading(quantity, why, round(worth, 6)))
    best = max((each.worth for each in ranked), default=0.0)
    ranked = [each for each in ranked if each.worth >= (_WORTHWHILE * best if candidates else 0)]
    # Where causes are to be parted, looks come before gauges, gauges before anything is opened.
    step = {e.quantity.id: _step(e.quantity, rulebase) if candidates else 0 for e in ranked}
    ranked.sort(key=lambda each: (step[each.quantity.id], -each.worth, each.quantity.id))
    return tuple(ranked[:AT_MOST])


def open_causes(
    findings: tuple[Finding, ...],
    influences: Influences,
    speaks: Mapping[str, Mapping[str, float]],
) -> dict[str, float]:
    """The causes to be told apart, with what each counts (0 to 1).

    `speaks` holds for each reading the causes that some rule could still find by it: a cause that
    no reading could find is not worth parting.
    """
    rulebase = influences.rulebase
    findable = {cause for causes in speaks.values() for cause in causes}
    found = {
        each.cause.id: each.certainty for each in each_finding(findings) if not each.cause.symptom
    }
    leading = dict(islice(found.items(), _LEADING))
    symptoms = [each.cause for each in each_finding(findings) if each.cause.symptom]
    suspects: dict[str, float] = {}
    for cause in rulebase.causes.values():
        if cause.id in leading or cause.symptom or cause.id not in findable:
            continue
        fit = _fit(cause, symptoms, influences)
        if fit > 0:
            suspects[cause.id] = _SUSPECT * fit
    best = sorted(suspects, key=lambda name: (-suspects[name], name))[:_SUSPECTS]
    return {**leading, **{name: suspects[name] for name in best}}


def _fit(cause: Cause, symptoms: Iterable[Cause], influences: Influences) -> float:
    """How well a cause for which nothing speaks yet would explain what is odd, 0 to 1."""
    cover = influences.cover(cause)
    if cover is None or cover.against:
        return 0.0
    behind = any(s.id in cause.leads_to or influences.brings(cause, s) for s in symptoms)
    odd = len(cover.explains) + len(cover.leaves)
    share = len(cover.explains) / odd if odd else 0.0
    return max(share, 0.5 if behind else 0.0)


def _parting(causes: Mapping[str, float], open_: Mapping[str, float]) -> float:
    """How far the rules that wait for a reading would move the open causes, and move them apart."""
    if not open_:
        return sum(abs(effect) for effect in causes.values())
    moved = sum(abs(causes.get(cause, 0.0)) * weight for cause, weight in open_.items())
    apart = sum(
        abs(causes.get(one, 0.0) - causes.get(other, 0.0)) * min(open_[one], open_[other])
        for one, other in combinations(open_, 2)
        if one in causes or other in causes
    )
    return moved + apart


def _step(quantity: Quantity, rulebase: Rulebase) -> int:
    """0 for a look, 1 for an instrument, 2 where the system is opened."""
    takes = {rulebase.cautions[name].access for name in quantity.cautions}
    if "opening" in takes:
        return 2
    free = quantity.is_choice and "gauges" not in takes and quantity.effort <= _LOOK_MINUTES
    return 0 if free else 1


def _effort(quantity: Quantity) -> float:
    return quantity.effort + _HAZARD_MINUTES * len(quantity.cautions)


def _why(
    causes: Mapping[str, float],
    shown: Iterable[str],
    open_: Mapping[str, float],
    rulebase: Rulebase,
) -> str:
    named = [cause for cause in causes if cause in open_] or [*shown] or list(causes)
    named.sort(key=lambda cause: (-open_.get(cause, 0.0), -abs(causes.get(cause, 0.0)), cause))
    titles = [f"'{rulebase.causes[cause].title}'" for cause in named[:2]]
    return f"It would speak for or against {' and '.join(titles)}."


class _Shown:
    """What readings would tell by the states of the plant they show."""

    def __init__(
        self, influences: Influences, waiting: _Waiting, candidates: Mapping[str, float]
    ) -> None:
        self.influences = influences
        self.candidates = candidates
        self.tells: dict[str, float] = {}
        self._of: dict[str, PlantState] = {}
        if len(candidates) < 2:
            return
        for state in influences.rulebase.plant_states.values():
            if state.id in influences.seen:
                continue
            named = self._expected(state)
            for name, share in _ways(state, waiting).items():
                if named * share > self.tells.get(name, 0.0):
                    self.tells[name] = named * share
                    self._of[name] = state

    def parts(self, name: str) -> tuple[str, ...]:
        """The candidates that predict something of the state that a reading would show."""
        if name not in self._of:
            return ()
        causes = self.influences.rulebase.causes
        state = self._of[name].id
        return tuple(c for c in self.candidates if state in self.influences.follows(causes[c]))

    def _expected(self, state: PlantState) -> float:
        """By how many bits the candidates' entropy is expected to fall once a state is known."""
        total = sum(self.candidates.values())
        prior = {name: weight / total for name, weight in self.candidates.items()}
        causes = self.influences.rulebase.causes
        says = {name: self._predicts(causes[name], state.id) for name in prior}
        after = 0.0
        for sense in (-1, 0, 1):
            joint = [prior[name] * says[name][sense] for name in prior]
            here = sum(joint)
            if here > 0:
                after += here * _entropy(each / here for each in joint)
        return max(_entropy(prior.values()) - after, 0.0)

    def _predicts(self, cause: Cause, state: str) -> Mapping[int, float]:
        named = self.influences.follows(cause).get(state)
        if named is None:
            return {0: _SURE, 1: _ELSE, -1: _ELSE}
        if not named.sense:
            return {0: 1 / 3, 1: 1 / 3, -1: 1 / 3}
        sure = _SURE if named.surely else _MAYBE
        return {named.sense: sure, 0: 1 - sure - _ELSE, -named.sense: _ELSE}


def _entropy(shares: Iterable[float]) -> float:
    return -sum(share * log2(share) for share in shares if share > 0)


def _ways(state: PlantState, waiting: _Waiting) -> dict[str, float]:
    """The readings by which a state could become known; one of several counts its share."""
    found: dict[str, float] = {}
    for way in state.seen_in:
        for condition in (*way.high, *way.normal, *way.low):
            names = tuple(dict.fromkeys(waiting.under(condition)))
            for name in names:
                found[name] = max(found.get(name, 0.0), 1 / len(names))
    return found


class _Waiting:
    """The readings that undecided rules wait for, also through the signs other rules conclude."""

    def __init__(
        self, rules: Iterable[Rule], facts: Facts, quantities: Mapping[str, Quantity]
    ) -> None:
        self.facts = facts
        self.quantities = quantities
        self.concluding = rules_by_sign(rules)
        self.found: dict[str, tuple[str, ...]] = {}

    def readings(self, rule: Rule) -> tuple[str, ...]:
        """Readings that an undecided rule waits for; none if it is settled already."""
        if rule.id not in self.found:
            conditions = self._open(rule)
            names = (name for condition in conditions for name in self.under(condition))
            self.found[rule.id] = tuple(dict.fromkeys(names))
        return self.found[rule.id]

    def _open(self, rule: Rule) -> tuple[Condition, ...]:
        if any(self.facts.holds(exception) is True for exception in rule.unless):
            return ()
        truths = [self.facts.holds(condition) for condition in rule.when]
        if False in truths:
            return ()
        if None in truths:
            return tuple(c for c, truth in zip(rule.when, truths, strict=True) if truth is None)
        return tuple(each for each in rule.unless if self.facts.holds(each) is None)

    def under(self, condition: Condition) -> Iterator[str]:
        """The readings that a condition of unknown truth waits for."""
        for part in parts(condition):
            if self.facts.holds(part) is not None:
                continue
            if isinstance(part, HasSign):
                for rule in self.concluding.get(part.sign, ()):
                    yield from self.readings(rule)
            for name in quantities_in(part):
                yield from self._missing(name)

    def _missing(self, name: str) -> Iterator[str]:
        quantity = self.quantities[name]
        if name in self.facts.known or quantity.given:
            return
        if quantity.derivation is None:
            yield name
            return
        for source in quantity.derivation.inputs.values():
            yield from self._missing(source.quantity)
