"""Checks that look across a whole rulebase: names, overlaps, order."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import partial
from itertools import combinations

from expert.errors import Place, ReadingError, nearest
from expert.knowledge.check_derivations import check_derivation
from expert.knowledge.conditions import Compare, HasSign, Is, parts
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.judge import in_words, split_time
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import (
    NEVER,
    SAFETY_CLASSES,
    Applies,
    Cause,
    Caution,
    Given,
    Limit,
    Quantity,
    Rule,
    Rulebase,
    RuleTest,
    place_of,
)
from expert.knowledge.read_offers import check_offers
from expert.knowledge.read_quantities import SUBJECTS
from expert.knowledge.reader import Reader
from expert.knowledge.refer import NAMES, refer
from expert.knowledge.strata import sign_cycle
from expert.knowledge.synonyms import meant, plain_name
from expert.knowledge.telltales import found
from expert.physics.fluids.refrigerants import names as refrigerant_names
from expert.units.kinds import Kind

APPLICATIONS = ("low temperature", "medium temperature")
DEFROSTS = ("hot gas", "electric", "off cycle")


def fact_words() -> Mapping[str, Collection[str]]:
    """The words each fact of a subject may take; a fact that is not here takes any text."""
    return {
        "application": APPLICATIONS,
        "defrost": DEFROSTS,
        "jurisdiction": JURISDICTIONS,
        "refrigerant": refrigerant_names(),
        "safety_class": SAFETY_CLASSES,
    }


Once = Callable[[object, Callable[[], None]], None]


def check_rulebase(rulebase: Rulebase, reader: Reader, once: Once) -> None:
    """Adds a problem to the reader for everything that does not hold together.

    `once` calls what checks a test, unless nothing was wrong with it the time before.
    """
    cautions = rulebase.cautions
    for quantity in rulebase.quantities.values():
        refer(quantity.cautions, cautions, "caution", _at(quantity, "cautions"), reader)
        check_derivation(quantity, rulebase.quantities, reader)
        check_offers(quantity, rulebase.quantities, reader)
        _check_ranges(quantity, reader)
    _check_names(rulebase.quantities, reader)
    _check_names(rulebase.causes, reader)
    for sign in rulebase.signs.values():
        if sign.id in rulebase.quantities:
            message = f"'{sign.id}' is a quantity already; a sign needs another name."
            reader.problem("duplicate-id", message, sign.place)
    for limit in rulebase.limits:
        _check_applies(limit, reader)
        check_preconditions(limit, rulebase.quantities, reader)
    _check_overlaps(rulebase, reader)
    for caution in cautions.values():
        _check_caution(caution, rulebase, reader)
    for telltale in rulebase.telltales.values():
        named = {telltale.caution: telltale.place} if telltale.caution else {}
        refer(named, cautions, "caution", named.__getitem__, reader)
    gated = {gate.action for gate in rulebase.gates.values()}
    for cause in rulebase.causes.values():
        refer(cause.cautions, cautions, "caution", _at(cause, "cautions"), reader)
        refer(cause.acts_on, rulebase.plant_states, "state", _at(cause, "acts_on"), reader)
        refer(cause.leads_to, rulebase.causes, "cause", _at(cause, "leads_to"), reader)
        actions = [each.action for each in cause.remedy if each.action]
        refer(actions, gated, "gate for", _at(cause, "do.action"), reader)
        _check_remedies(cause, rulebase, reader)
        _check_never(cause, rulebase, reader)
        _check_applies(cause, reader)
    asked = rulebase.quantities.get(COMPLAINT)
    systems = sorted({cause.system for cause in rulebase.causes.values()})
    for complaint in rulebase.complaints.values():
        known = asked.choices if asked else ()
        place = partial(_here, complaint.place)
        refer((complaint.says,), known, "choice of 'complaint' called", place, reader)
        refer(complaint.subjects, SUBJECTS, "kind of subject", place, reader)
        refer(complaint.systems, systems, "system of a cause called", place, reader)
    for arrow in rulebase.influences.values():
        ends = (arrow.source_state, arrow.target)
        refer(ends, rulebase.plant_states, "state", partial(_here, arrow.place), reader)
    for rule in rulebase.rules.values():
        _check_rule(rule, rulebase, reader)
        for test in rule.tests:
            once(test, partial(_check_test, test, rulebase, reader))
    if cycle := sign_cycle(rulebase.rules.values()):
        rule = rulebase.rules[cycle[0]]
        reader.problem(
            "cycle", f"These rules wait for one another: {', '.join(cycle)}.", rule.place,
            "A sign may not depend on itself, not even by 'unless:'.",
        )  # fmt: skip


def _check_names(entries: Mapping[str, Quantity] | Mapping[str, Cause], reader: Reader) -> None:
    """A synonym may be shared, but not hide what another entry is properly called."""
    proper = {plain_name(name): e.id for e in entries.values() for name in (e.id, e.title)}
    for entry in entries.values():
        place = _at(entry, "also")("also")
        for n, word in enumerate(entry.also):
            owner = proper.get(plain_name(word), "")
            if owner and owner != entry.id:
                message = f"'{word}' is what '{owner}' is called; it cannot mean '{entry.id}' too."
                reader.problem("taken-name", message, place, "Leave it out, or say more.")
            elif owner or plain_name(word) in map(plain_name, entry.also[:n]):
                message = f"'{word}' is a name of '{entry.id}' already."
                reader.problem("taken-name", message, place, "Leave it out.")


def _check_ranges(quantity: Quantity, reader: Reader) -> None:
    for each in quantity.ranges:
        check_words(each.applies, quantity.place, reader)
    for one, other in combinations(quantity.ranges, 2):
        if len(one.applies) == len(other.applies) and _compatible(one.applies, other.applies):
            message = f"Two ranges of '{quantity.id}' would both apply."
            hint = "Make one of them narrower with 'applies:'."
            reader.problem("two-ranges", message, quantity.place, hint)


def _check_caution(caution: Caution, rulebase: Rulebase, reader: Reader) -> None:
    """What it says of plants and of work is known; 'on' and 'before' stand together."""
    check_words(caution.on, caution.place, reader)
    places = dict.fromkeys(caution.before, caution.place)
    refer(caution.before, rulebase.works, "work", places.__getitem__, reader)
    if bool(caution.on) != bool(caution.before):
        message = f"'{caution.id}' needs both 'on:' and 'before:', or neither."
        hint = "'on' says on which plants, 'before' which work needs it there."
        reader.problem("on-and-before", message, caution.place, hint)


def check_words(applies: Applies, place: Place, reader: Reader) -> None:
    """Every word of a plant is one that its fact may take."""
    for key, words in applies.items():
        if key in (known := fact_words()):
            refer(words, known[key], key, dict.fromkeys(words, place).__getitem__, reader)


def _check_remedies(cause: Cause, rulebase: Rulebase, reader: Reader) -> None:
    """Whoever is advised to do something is told of its hazards."""
    for action in dict.fromkeys(each.action for each in cause.remedy if each.action):
        for caution in rulebase.cautions_for(action):
            if caution not in cause.cautions:
                reader.problem(
                    "caution-missing", f"'{action}' needs the caution '{caution}'.",
                    place_of(cause, "do.action", action), "Add it to the cautions of this cause.",
                )  # fmt: skip


def _here(place: Place, _: str) -> Place:
    return place


def _check_never(cause: Cause, rulebase: Rulebase, reader: Reader) -> None:
    """No remedy lets refrigerant out, defeats a safety, or tests with oxygen or too high."""
    for remedy in cause.remedy:
        for word in found(remedy.text, NEVER, rulebase):
            reader.problem(
                "never-done", f"'{cause.id}' advises what is never done: '{word.text}'.",
                place_of(cause, "do", remedy.text), word.telltale.say,
            )  # fmt: skip


def _at(item: Quantity | Limit | Cause | Rule, path: str) -> Callable[[str], Place]:
    """Where a word under a key of an entry stands."""
    return lambda name: place_of(item, path, name)


def _check_applies(item: Limit | Rule | Cause, reader: Reader) -> None:
    for key, words in item.applies.items():
        if key in (known := fact_words()):
            refer(words, known[key], key, _at(item, f"applies.{key}"), reader)


def check_preconditions(limit: Limit, quantities: Mapping[str, Quantity], reader: Reader) -> None:
    """What blocks a limit may need no limit itself, or judging would go round in a circle."""
    for condition in limit.cannot_judge_when:
        for part in parts(condition):
            choice = (
                isinstance(part, Is)
                and part.quantity in quantities
                and (quantities[part.quantity].is_choice or part.word == "known")
            )
            if not choice and not isinstance(part, Compare):
                reader.problem(
                    "precondition", f"'{part}' cannot stand under cannot_judge_when.", part.place,
                    "Only choices and comparisons: what blocks a limit may need no limit itself.",
                )  # fmt: skip


def _check_overlaps(rulebase: Rulebase, reader: Reader) -> None:
    by_quantity: dict[str, list[Limit]] = {}
    for limit in rulebase.limits:
        by_quantity.setdefault(limit.quantity, []).append(limit)
    for one, other in (pair for each in by_quantity.values() for pair in combinations(each, 2)):
        same = len(one.applies) == len(other.applies)
        if (
            same
            and _compatible(one.applies, other.applies)
            and not _told_apart(one, other, rulebase)
        ):
            hint = "Make one of them narrower with 'applies:'."
            if rulebase.info.over:
                hint += " To change the numbers of a limit below write 'override_limits:'."
            reader.problem(
                "two-limits",
                f"'{one.id}' and '{other.id}' would both apply to {one.quantity}.",
                other.place,
                hint,
            )


def _told_apart(one: Limit, other: Limit, rulebase: Rulebase) -> bool:
    """Whether a narrower limit stands where both would apply."""
    both = {**one.applies, **other.applies}
    others = (each for each in rulebase.limits if each.quantity == one.quantity)
    return any(each.applies == both for each in others if each not in (one, other))


def _compatible(one: Applies, other: Applies) -> bool:
    return all(set(words) & set(other[key]) for key, words in one.items() if key in other)


def _check_rule(rule: Rule, rulebase: Rulebase, reader: Reader) -> None:
    _check_applies(rule, reader)
    strengths = rulebase.certainty.strengths
    for key, evidence in (
        ("evidence_for", rule.evidence_for), ("evidence_against", rule.evidence_against),
    ):  # fmt: skip
        refer(evidence, rulebase.causes, "cause", _at(rule, key), reader)
        for cause, strength in evidence.items() if strengths else ():
            refer((strength,), strengths, "strength", _at(rule, f"{key}.{cause}"), reader)
    refer(rule.concludes, rulebase.signs, "sign", _at(rule, "concludes"), reader)
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
        refer(names, rulebase.quantities, "quantity", _at(rule, path), reader)


def _check_test(test: RuleTest, rulebase: Rulebase, reader: Reader) -> None:
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
