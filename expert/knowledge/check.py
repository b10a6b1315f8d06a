"""Checks that look across a whole rulebase: names, overlaps, order."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from itertools import combinations

from expert.errors import Place, ReadingError, nearest
from expert.knowledge.conditions import Compare, HasSign, Is, parts
from expert.knowledge.judge import split_time
from expert.knowledge.model import Applies, Given, Limit, Quantity, Rule, Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.strata import sign_cycle
from expert.physics.catalog import CATALOG
from expert.physics.refrigerants import names as refrigerant_names
from expert.units.kinds import Kind

APPLICATIONS = ("low temperature", "medium temperature")
DEFROSTS = ("hot gas", "electric", "off cycle")


def fact_words() -> Mapping[str, Collection[str]]:
    """The words each fact of a subject may take; a fact that is not here takes any text."""
    return {
        "application": APPLICATIONS,
        "defrost": DEFROSTS,
        "refrigerant": refrigerant_names(),
    }


def check_rulebase(rulebase: Rulebase, reader: Reader) -> None:
    """Adds a problem to the reader for everything that does not hold together."""
    for quantity in rulebase.quantities.values():
        _refer(quantity.cautions, rulebase.cautions, "caution", quantity.place, reader)
        _check_derivation(quantity, rulebase.quantities, reader)
    for sign in rulebase.signs.values():
        if sign.id in rulebase.quantities:
            message = f"'{sign.id}' is a quantity already; a sign needs another name."
            reader.problem("duplicate-id", message, sign.place)
    for limit in rulebase.limits:
        _check_applies(limit.applies, limit.place, reader)
        check_preconditions(limit, rulebase.quantities, reader)
    _check_overlaps(rulebase.limits, reader)
    for cause in rulebase.causes.values():
        _refer(cause.cautions, rulebase.cautions, "caution", cause.place, reader)
        _refer(cause.leads_to, rulebase.causes, "cause", cause.place, reader)
        actions = [each.action for each in cause.remedy if each.action]
        _refer(actions, {g.action for g in rulebase.gates.values()}, "gate for", cause.place, reader)
    for rule in rulebase.rules.values():
        _check_rule(rule, rulebase, reader)
    if cycle := sign_cycle(rulebase.rules.values()):
        rule = rulebase.rules[cycle[0]]
        reader.problem(
            "cycle", f"These rules wait for one another: {', '.join(cycle)}.", rule.place,
            "A sign may not depend on itself, not even by 'unless:'.",
        )  # fmt: skip


def _refer(
    names: Iterable[str], known: Collection[str], what: str, place: Place, reader: Reader
) -> None:
    for name in names:
        if name not in known:
            hint = nearest(name, known)
            reader.problem(f"unknown-{what.split()[0]}", f"There is no {what} '{name}'.", place, hint)


def _check_derivation(
    quantity: Quantity, quantities: Mapping[str, Quantity], reader: Reader
) -> None:
    if quantity.derivation is None:
        return
    formula = CATALOG[quantity.derivation.function]
    for name, source in quantity.derivation.inputs.items():
        wanted = formula.inputs.get(name)
        if source.quantity not in quantities:
            hint = nearest(source.quantity, quantities)
            message = f"'{source.quantity}' is no quantity."
            reader.problem("unknown-quantity", message, quantity.place, hint)
        elif wanted in (Kind.CHOICE, Kind.TEXT):
            message = f"'{name}' of {formula.name} is a word; only numbers can be derived from."
            reader.problem("wrong-kind", message, quantity.place)
        elif wanted is not None and quantities[source.quantity].kind is not wanted:
            message = f"'{name}' of {quantity.id} must be a {wanted.value.replace('_', ' ')}."
            reader.problem("wrong-kind", message, quantity.place)
    seen = {quantity.id}
    waiting = [source.quantity for source in quantity.derivation.inputs.values()]
    while waiting:
        name = waiting.pop()
        if name in seen and name == quantity.id:
            message = f"'{quantity.id}' is derived from itself."
            reader.problem("cycle", message, quantity.place)
            return
        seen.add(name)
        if (below := quantities.get(name)) and below.derivation:
            waiting.extend(
                source.quantity
                for source in below.derivation.inputs.values()
                if source.quantity not in seen or source.quantity == quantity.id
            )


def _check_applies(applies: Applies, place: Place, reader: Reader) -> None:
    for key, words in applies.items():
        if key in (known := fact_words()):
            _refer(words, known[key], key, place, reader)


def check_preconditions(
    limit: Limit, quantities: Mapping[str, Quantity], reader: Reader
) -> None:
    """What blocks a limit may need no limit itself, or judging would go round in a circle."""
    for condition in limit.cannot_judge_when:
        for part in parts(condition):
            choice = isinstance(part, Is) and part.quantity in quantities and (
                quantities[part.quantity].is_choice or part.word == "known"
            )
            if not choice and not isinstance(part, Compare):
                reader.problem(
                    "precondition", f"'{part}' cannot stand under cannot_judge_when.", part.place,
                    "Only choices and comparisons: what blocks a limit may need no limit itself.",
                )  # fmt: skip


def _check_overlaps(limits: tuple[Limit, ...], reader: Reader) -> None:
    ids: dict[str, Limit] = {}
    for limit in limits:
        if limit.id in ids:
            reader.problem("duplicate-id", f"'{limit.id}' is already there.", limit.place)
        ids[limit.id] = limit
    for one, other in combinations(limits, 2):
        if (
            one.quantity == other.quantity
            and len(one.applies) == len(other.applies)
            and _compatible(one.applies, other.applies)
        ):
            reader.problem(
                "two-limits",
                f"'{one.id}' and '{other.id}' would both apply to {one.quantity}.",
                other.place,
                "Make one of them narrower with 'applies:'.",
            )


def _compatible(one: Applies, other: Applies) -> bool:
    return all(set(words) & set(other[key]) for key, words in one.items() if key in other)


def _check_rule(rule: Rule, rulebase: Rulebase, reader: Reader) -> None:
    _check_applies(rule.applies, rule.place, reader)
    for evidence in (rule.evidence_for, rule.evidence_against):
        _refer(evidence, rulebase.causes, "cause", rule.place, reader)
        _refer(evidence.values(), rulebase.certainty.strengths, "strength", rule.place, reader)
    _refer(rule.concludes, rulebase.signs, "sign", rule.place, reader)
    both = sorted(set(rule.evidence_for) & set(rule.evidence_against))
    if both:
        reader.problem("for-and-against", f"'{both[0]}' is both for and against.", rule.place)
    _check_contradictions(rule, reader)
    for test in rule.tests:
        for key, word in test.facts.items():
            if key in (known := fact_words()):
                _refer((word,), known[key], key, test.place, reader)
        for given in test.given:
            _check_given(given, rulebase, reader)


def _check_given(given: Given, rulebase: Rulebase, reader: Reader) -> None:
    quantity = rulebase.quantities.get(given.name)
    if quantity is None:
        if given.name not in rulebase.signs:
            hint = nearest(given.name, (*rulebase.quantities, *rulebase.signs))
            message = f"'{given.name}' is no quantity or sign."
            reader.problem("unknown-quantity", message, given.place, hint)
        elif given.texts not in (("yes",), ("no",)) or given.subject or given.stage:
            message = f"A sign is given as '{given.name}: yes' or '{given.name}: no'."
            reader.problem("unknown-word", message, given.place, "Leave it out where unknown.")
        return
    for timed in given.texts:
        try:
            text, _ = split_time(timed)
        except ReadingError as error:
            reader.problem("not-a-time", str(error), given.place)
            continue
        if quantity.is_choice and text not in quantity.choices:
            hint = nearest(text, quantity.choices) or f"It can be: {', '.join(quantity.choices)}."
            message = f"'{text}' is no choice of {quantity.id}."
            reader.problem("unknown-choice", message, given.place, hint)
        elif not quantity.is_choice and quantity.kind is not Kind.TEXT:
            reader.measure_text(text, given.place, quantity.kind)


def _check_contradictions(rule: Rule, reader: Reader) -> None:
    """All of `when:` must be able to hold together, as far as plain words tell."""
    plain = [c for c in rule.when if isinstance(c, Is | HasSign)]
    for one, other in combinations(plain, 2):
        if isinstance(one, HasSign) and isinstance(other, HasSign):
            clash = one.sign == other.sign and one.negated != other.negated
        elif isinstance(one, Is) and isinstance(other, Is) and one.quantity == other.quantity:
            clash = _words_clash(one, other)
        else:
            clash = False
        if clash:
            reader.problem(
                "contradiction", f"'{one}' and '{other}' can never hold together.", other.place
            )


def _words_clash(one: Is, other: Is) -> bool:
    if one.word == other.word:
        return one.negated != other.negated
    covers = {"low": {"very low"}, "high": {"very high"}}
    if one.negated or other.negated:
        positive, negative = (other, one) if one.negated else (one, other)
        covered = positive.word in covers.get(negative.word, set()) or negative.word == "known"
        return not positive.negated and covered
    nested = other.word in covers.get(one.word, set()) or one.word in covers.get(other.word, set())
    return not nested and "known" not in (one.word, other.word)
