"""Checks that look across a whole rulebase: names, overlaps, order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from itertools import combinations

from expert.errors import Place
from expert.knowledge.check_derivations import check_derivation
from expert.knowledge.check_one_rule import check_rule, check_test
from expert.knowledge.conditions import Compare, Is, parts
from expert.knowledge.entry_model import meet
from expert.knowledge.fact_words import check_applies, check_words
from expert.knowledge.hazard_model import NEVER, Caution
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.model import Cause, Limit, Quantity, Rulebase, place_of, place_under
from expert.knowledge.read_quantities import SUBJECTS
from expert.knowledge.read_sheet import check_sheet
from expert.knowledge.reader import Reader
from expert.knowledge.refer import refer
from expert.knowledge.strata import sign_cycle
from expert.knowledge.synonyms import plain_name
from expert.knowledge.telltales import found

Once = Callable[[object, Callable[[], None]], None]


def check_rulebase(rulebase: Rulebase, reader: Reader, once: Once) -> None:
    """Adds a problem to the reader for everything that does not hold together.

    `once` calls what checks a test, unless nothing was wrong with it the time before.
    """
    cautions = rulebase.cautions
    for quantity in rulebase.quantities.values():
        refer(quantity.cautions, cautions, "caution", place_under(quantity, "cautions"), reader)
        check_derivation(quantity, rulebase.quantities, reader)
        check_sheet(quantity, rulebase.quantities, reader)
        _check_ranges(quantity, reader)
    _check_names(rulebase.quantities, reader)
    _check_names(rulebase.causes, reader)
    for sign in rulebase.signs.values():
        if sign.id in rulebase.quantities:
            message = f"'{sign.id}' is a quantity already; a sign needs another name."
            reader.problem("duplicate-id", message, sign.place)
    for limit in rulebase.limits:
        check_applies(limit, reader)
        check_preconditions(limit, rulebase.quantities, reader)
    _check_overlaps(rulebase, reader)
    for caution in cautions.values():
        _check_caution(caution, rulebase, reader)
    for telltale in rulebase.telltales.values():
        named = {telltale.caution: telltale.place} if telltale.caution else {}
        refer(named, cautions, "caution", named.__getitem__, reader)
    gated = {gate.action for gate in rulebase.gates.values()}
    for cause in rulebase.causes.values():
        refer(cause.cautions, cautions, "caution", place_under(cause, "cautions"), reader)
        refer(cause.acts_on, rulebase.plant_states, "state", place_under(cause, "acts_on"), reader)
        refer(cause.leads_to, rulebase.causes, "cause", place_under(cause, "leads_to"), reader)
        actions = [each.action for each in cause.remedy if each.action]
        refer(actions, gated, "gate for", place_under(cause, "do.action"), reader)
        _check_remedies(cause, rulebase, reader)
        _check_never(cause, rulebase, reader)
        check_applies(cause, reader)
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
        check_rule(rule, rulebase, reader)
        for test in rule.tests:
            once(test, partial(check_test, test, rulebase, reader))
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
        for n, word in enumerate(entry.also):
            owner = proper.get(plain_name(word), "")
            if owner and owner != entry.id:
                message = f"'{word}' is what '{owner}' is called; it cannot mean '{entry.id}' too."
                place = place_under(entry, "also")("also")
                reader.problem("taken-name", message, place, "Leave it out, or say more.")
            elif owner or plain_name(word) in map(plain_name, entry.also[:n]):
                message = f"'{word}' is a name of '{entry.id}' already."
                place = place_under(entry, "also")("also")
                reader.problem("taken-name", message, place, "Leave it out.")


def _check_ranges(quantity: Quantity, reader: Reader) -> None:
    for each in quantity.ranges:
        check_words(each.applies, quantity.place, reader)
    for one, other in combinations(quantity.ranges, 2):
        if len(one.applies) == len(other.applies) and meet(one.applies, other.applies):
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
        if same and meet(one.applies, other.applies) and not _told_apart(one, other, rulebase):
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
