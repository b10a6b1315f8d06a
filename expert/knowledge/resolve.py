"""Holds conditions against the dictionary: known words, right kinds, comparable units."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

from expert.errors import Place, nearest
from expert.knowledge.conditions import (
    KNOWN,
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
    Term,
    parts,
)
from expert.knowledge.model import Quantity
from expert.knowledge.reader import Reader
from expert.knowledge.synonyms import meant
from expert.made_when_used import altered
from expert.units.kinds import Kind
from expert.units.measure import DIFFERENCE_OF, difference_kind

NUMBER_STATES = ("very low", "low", "normal", "high", "very high", "too close to call")
_COMPARED = re.compile(r"^(?P<word>[a-z ]+ )?(?P<number>-?\d[\d.]*( ?[A-Za-z%/]+)?)$")
_LESS = ("below", "under", "less", "lower", "smaller", "at most", "colder")


def resolve(
    condition: Condition,
    quantities: Mapping[str, Quantity],
    signs: Collection[str],
    reader: Reader,
) -> Condition:
    """The condition with its measures in SI; every unknown word becomes a problem."""
    if isinstance(condition, Group):
        members = tuple(resolve(member, quantities, signs, reader) for member in condition.members)
        return altered(condition, members=members)
    if isinstance(condition, InStage | Over):
        return _resolve_elsewhere(condition, quantities, signs, reader)
    if isinstance(condition, Course):
        return _resolve_course(condition, quantities, reader)
    if isinstance(condition, HasSign):
        if condition.sign not in signs:
            _unknown_sign(condition, quantities, signs, reader)
        return condition
    if isinstance(condition, Is):
        quantity = _quantity(condition.quantity, quantities, condition.place, reader)
        if quantity is not None:
            _check_word(condition, quantity, reader)
        return condition
    return _resolve_compare(condition, quantities, reader)


def _resolve_elsewhere(
    condition: InStage | Over,
    quantities: Mapping[str, Quantity],
    signs: Collection[str],
    reader: Reader,
) -> InStage | Over:
    """Conditions on another stage or on other subjects: readings only, no signs, no nesting."""
    for part in (part for member in condition.members for part in parts(member)):
        if isinstance(part, HasSign | InStage | Over):
            reader.problem(
                "not-here", f"'{part}' cannot stand inside another stage or subject.", part.place,
                "Only conditions on quantities can.",
            )  # fmt: skip
    members = tuple(resolve(member, quantities, signs, reader) for member in condition.members)
    return altered(condition, members=members)


def _resolve_course(course: Course, quantities: Mapping[str, Quantity], reader: Reader) -> Course:
    quantity = _quantity(course.quantity, quantities, course.place, reader)
    if quantity is None:
        return course
    chosen = course.verb == "becomes"
    if chosen != quantity.is_choice or quantity.kind is Kind.TEXT:
        what = "a choice, which 'becomes'" if quantity.is_choice else "a number"
        reader.problem(
            "wrong-verb", f"'{course.quantity}' is {what}; it cannot '{course.verb}'.", course.place
        )
        return course
    if chosen and course.word not in quantity.choices:
        hint = nearest(course.word, quantity.choices)
        hint = hint or f"It can be: {', '.join(quantity.choices)}."
        message = f"'{course.quantity}' cannot be '{course.word}'."
        reader.problem("unknown-state", message, course.place, hint)
    kind = quantity.kind if course.verb == "reaches" else difference_kind(quantity.kind)
    value = reader.measure_text(course.amount, course.place, kind) if course.amount else None
    time = reader.measure_text(course.time, course.place, Kind.DURATION) if course.time else None
    later = _resolve_course(course.before, quantities, reader) if course.before else None
    return altered(course, value=value, seconds=time, before=later)


def _unknown_sign(
    condition: HasSign, quantities: Mapping[str, Quantity], signs: Collection[str], reader: Reader
) -> None:
    if condition.sign in quantities:
        hint = f"'{condition.sign}' is a quantity: say what it is, for example 'is low'."
    else:
        hint = nearest(condition.sign, signs) or meant(condition.sign, quantities)
        hint = hint or "Declare it under 'signs:', or say what it is: 'name is low'."
    message = f"'{condition.sign}' is no sign."
    reader.unknown("unknown-sign", condition.sign, message, condition.place, hint)


def _quantity(
    name: str, quantities: Mapping[str, Quantity], place: Place, reader: Reader
) -> Quantity | None:
    if name not in quantities:
        hint = meant(name, quantities) or (
            "'rackwalk quantities WORD' looks for what there is; "
            "a new one is declared under 'quantities:'."
        )
        reader.unknown("unknown-quantity", name, f"'{name}' is not a known quantity.", place, hint)
        return None
    return quantities[name]


def _check_word(condition: Is, quantity: Quantity, reader: Reader) -> None:
    words = tuple(quantity.choices) if quantity.is_choice else NUMBER_STATES
    if quantity.kind is Kind.TEXT:
        words = ()
    if condition.word not in (*words, KNOWN):
        hint = nearest(condition.word, words) or f"It can be: {', '.join((*words, KNOWN))}."
        if any(joint in condition.word for joint in (" and ", " or ", ",")):
            hint = "One condition a line; 'any:' and 'all:' join them."
        elif not quantity.is_choice and (number := _number_in(condition.word)):
            hint = (
                f"Numbers stand in limits, and rules say 'is high' or 'is low'; "
                f"to compare with one number write '{condition.quantity} {number}'."
            )
        reader.problem(
            "unknown-state",
            f"'{condition.quantity}' cannot be '{condition.word}'.",
            condition.place,
            hint,
        )


def _number_in(word: str) -> str:
    """'> 20 F' for 'above 20 F', empty where there is no number."""
    match = _COMPARED.match(word)
    if match is None:
        return ""
    return f"{'<' if (match['word'] or '').startswith(_LESS) else '>'} {match['number']}"


def _resolve_compare(
    condition: Compare, quantities: Mapping[str, Quantity], reader: Reader
) -> Compare:
    found = [
        _quantity(term.quantity, quantities, condition.place, reader)
        for term in condition.terms
        if term.quantity
    ]
    kinds = {quantity.kind for quantity in found if quantity is not None}
    if not found:
        reader.problem(
            "compares-nothing", f"'{condition.text}' looks at no quantity.", condition.place
        )
        return condition
    if None in found or not kinds:
        return condition
    points = [kind for kind in DIFFERENCE_OF if kind in kinds]
    differing = len({difference_kind(kind) for kind in kinds}) > 1 or len(points) > 1
    if differing or kinds & {Kind.CHOICE, Kind.TEXT}:
        names = " and ".join(sorted(kind.value.replace("_", " ") for kind in kinds))
        reader.problem(
            "not-comparable", f"'{condition.text}' compares {names}.", condition.place,
            "Only numbers of one kind, and their differences, can be compared.",
        )  # fmt: skip
        return condition
    nets = [_points(side, quantities) for side in (condition.left, condition.right)]
    lone = [len(side) == 1 and bool(side[0].measure) for side in (condition.left, condition.right)]
    nets = [nets[1 - i] if lone[i] else nets[i] for i in (0, 1)]
    if nets[0] != nets[1] or nets[0] not in (0, 1):
        reader.problem(
            "not-comparable",
            f"'{condition.text}' compares a position with a difference.",
            condition.place,
            "A difference of two temperatures or pressures compares with a difference.",
        )
        return condition
    difference = difference_kind(next(iter(kinds)))
    sides = []
    for side, alone in zip((condition.left, condition.right), lone, strict=True):
        kind = points[0] if points and alone and nets[0] == 1 else difference
        sides.append(tuple(_in_si(term, kind, condition.place, reader) for term in side))
    return altered(condition, left=sides[0], right=sides[1])


def _in_si(term: Term, kind: Kind, place: Place, reader: Reader) -> Term:
    if not term.measure:
        return term
    value = reader.measure_text(term.measure, place, kind) or 0.0
    return altered(term, value=value, kind=kind)


def _points(side: tuple[Term, ...], quantities: Mapping[str, Quantity]) -> int:
    """How many positions (temperatures, pressures) the quantities of a sum net to."""
    return sum(
        term.factor
        for term in side
        if term.quantity and quantities[term.quantity].kind in DIFFERENCE_OF
    )
