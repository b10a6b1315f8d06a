"""Checks of one rule and its tests against all that a rulebase knows."""

from __future__ import annotations

from itertools import combinations

from expert.errors import ReadingError, nearest
from expert.knowledge.conditions import HasSign, Is
from expert.knowledge.fact_words import check_applies, fact_words
from expert.knowledge.judge import in_words, split_time
from expert.knowledge.model import Rule, Rulebase, place_of, place_under
from expert.knowledge.reader import Reader
from expert.knowledge.refer import NAMES, refer
from expert.knowledge.rule_test_model import Given, RuleTest
from expert.knowledge.synonyms import meant
from expert.units.kinds import Kind


def check_rule(rule: Rule, rulebase: Rulebase, reader: Reader) -> None:
    """What it names is there, and what it says can hold together."""
    check_applies(rule, reader)
    strengths = rulebase.certainty.strengths
    for key, evidence in (
        ("evidence_for", rule.evidence_for), ("evidence_against", rule.evidence_against),
    ):  # fmt: skip
        refer(evidence, rulebase.causes, "cause", place_under(rule, key), reader)
        for cause, strength in evidence.items() if strengths else ():
            refer((strength,), strengths, "strength", place_under(rule, f"{key}.{cause}"), reader)
    refer(rule.concludes, rulebase.signs, "sign", place_under(rule, "concludes"), reader)
    _check_readings(rule, rulebase, reader)
    both = sorted(set(rule.evidence_for) & set(rule.evidence_against))
    if both:
        place = place_of(rule, "evidence_against", both[0])
        hint = "One rule speaks for it or against it; write two rules where it can be either."
        reader.problem("for-and-against", f"'{both[0]}' is both for and against.", place, hint)
    _check_contradictions(rule, reader)
    for test in rule.tests:
        for key, word in test.facts.items():
            if key in (known := fact_words()):
                place = test.places.get(key, test.place)
                refer((word,), known[key], key, {word: place}.__getitem__, reader)
        refer(test.finds, rulebase.causes, "cause", test.places.__getitem__, reader)
        words = rulebase.certainty.words_of_tests
        for cause, word in test.finds.items() if strengths else ():
            place = test.places[cause]
            refer((word,), words, "word for a certainty", {word: place}.__getitem__, reader)


def _check_readings(rule: Rule, rulebase: Rulebase, reader: Reader) -> None:
    """What a rule doubts or asks for must be quantities."""
    asked = rule.cannot_tell.read if rule.cannot_tell else ()
    for path, names in (("doubts", rule.doubts), ("cannot_tell.read", asked)):
        refer(names, rulebase.quantities, "quantity", place_under(rule, path), reader)


def check_test(test: RuleTest, rulebase: Rulebase, reader: Reader) -> None:
    """What a test gives can be known, in words and units that fit."""
    for given in test.given:
        _check_given(given, rulebase, reader)


def _check_given(given: Given, rulebase: Rulebase, reader: Reader) -> None:
    quantity = rulebase.quantities.get(given.name)
    if quantity is None:
        if given.name not in rulebase.signs:
            hint = meant(given.name, rulebase.quantities, rulebase.signs) or NAMES
            message = f"'{given.name}' is not a known quantity or sign."
            reader.unknown("unknown-quantity", given.name, message, given.name_place, hint)
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
        elif not (quantity.is_choice or quantity.kind is Kind.TEXT or in_words(text)):
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
