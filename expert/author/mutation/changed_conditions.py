"""Small wrong changes of one condition: dropped, turned round, moved, counted otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from expert.author.mutation.step_size import step_size
from expert.errors import Place
from expert.knowledge.conditions import (
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
    Term,
)
from expert.knowledge.model import Rulebase

_REVERSED = {">": "<", "<": ">", ">=": "<=", "<=": ">="}
_STAGE = {"as found": "as left", "as left": "as found"}
_COUNTS = {"every": ("any", "no"), "any": ("every", "no"), "most": ("any", "every", "no"),
           "no": ("any",)}  # fmt: skip


@dataclass(frozen=True)
class ChangedCondition:
    """A condition as changed (None: dropped), the kind of change, and it in words."""

    condition: Condition | None
    kind: str
    what: str
    place: Place


def changes(condition: Condition, rulebase: Rulebase) -> Iterator[ChangedCondition]:
    """Every change of a condition, and of those inside it."""
    yield ChangedCondition(None, "condition dropped", f"'{condition}' dropped", condition.place)
    yield from _changed(condition, rulebase)


def _changed(condition: Condition, rulebase: Rulebase) -> Iterator[ChangedCondition]:
    if isinstance(condition, Is | HasSign):
        turned = replace(condition, negated=not condition.negated)
        yield ChangedCondition(turned, "negation", f"'{turned}' for '{condition}'", condition.place)
    elif isinstance(condition, Compare):
        yield from _compare(condition, rulebase)
    elif isinstance(condition, Course):
        yield from _course(condition, rulebase)
    elif isinstance(condition, Group):
        yield from _group(condition, rulebase)
    elif isinstance(condition, InStage):
        other = replace(condition, stage=_STAGE[condition.stage])
        yield ChangedCondition(
            other, "stage", f"'{other.stage}' for '{condition.stage}'", condition.place
        )
        yield from _members(condition, rulebase)
    else:
        yield from _over(condition)
        yield from _members(condition, rulebase)


def _compare(condition: Compare, rulebase: Rulebase) -> Iterator[ChangedCondition]:
    operator = _REVERSED[condition.operator]
    text = condition.text.replace(condition.operator, operator)
    turned = replace(condition, operator=operator, text=text)
    yield ChangedCondition(
        turned, "comparison", f"'{text}' for '{condition.text}'", condition.place
    )
    names = [term.quantity for term in condition.terms if term.quantity]
    measures = [term for term in condition.terms if term.measure]
    spreads = [step_size(rulebase.quantities[name]) for name in names]
    step = sum(spread**2 for spread in spreads) ** 0.5
    if not measures:
        for sign, word in ((1.0, "more"), (-1.0, "less")):
            right = (*condition.right, Term(1, measure="a little", value=sign * step))
            text = f"{condition.text} and a little {word}"
            moved = replace(condition, right=right, text=text)
            yield ChangedCondition(moved, "number moved", f"'{text}'", condition.place)
        return
    for sign, word in ((1.0, "higher"), (-1.0, "lower")):
        text = f"{condition.text} (number {word})"
        left, right = (
            tuple(_moved(term, sign * step) for term in side)
            for side in (condition.left, condition.right)
        )
        moved = replace(condition, left=left, right=right, text=text)
        yield ChangedCondition(moved, "number moved", f"'{text}'", condition.place)


def _moved(term: Term, step: float) -> Term:
    return replace(term, value=term.value + step) if term.measure else term


def _course(course: Course, rulebase: Rulebase) -> Iterator[ChangedCondition]:
    quantity = rulebase.quantities[course.quantity]

    def change(kind: str, what: str, **fields: object) -> ChangedCondition:
        text = f"{course.text} ({what})"
        changed = replace(course, text=text, **fields)  # type: ignore[arg-type]
        return ChangedCondition(changed, kind, f"'{text}'", course.place)

    if course.verb in ("rises", "falls"):
        other = "falls" if course.verb == "rises" else "rises"
        yield change("comparison", f"{other} instead", verb=other)
    if course.verb == "becomes":
        for choice in quantity.choices:
            if choice != course.word:
                yield change("negation", f"{choice} instead", word=choice)
    if course.value is not None:
        step = step_size(quantity, course.value, difference=course.verb != "reaches")
        yield change("number moved", "amount higher", value=course.value + step)
        if course.verb == "reaches" or course.value > step:
            yield change("number moved", "amount lower", value=course.value - step)
    if course.seconds is not None:
        yield change("number moved", "time halved", seconds=course.seconds / 2)
        yield change("number moved", "time doubled", seconds=course.seconds * 2)
    if course.before is not None:
        first = replace(course.before, before=replace(course, before=None))
        text = f"{course.text} (the other way round)"
        changed = replace(first, text=text, place=course.place)
        yield ChangedCondition(changed, "comparison", f"'{text}'", course.place)


def _group(group: Group, rulebase: Rulebase) -> Iterator[ChangedCondition]:
    size = len(group.members)
    for count in {group.at_least - 1, group.at_least + 1, size, 1}:
        if 1 <= count <= size and count != group.at_least:
            what = f"at least {count} of {size}, not {group.at_least}"
            yield ChangedCondition(replace(group, at_least=count), "count", what, group.place)
    every = group.at_least == size
    for number, member in enumerate(group.members):
        rest = (*group.members[:number], *group.members[number + 1 :])
        at_least = group.at_least - 1 if every else group.at_least
        if rest and 1 <= at_least <= len(rest):
            less = replace(group, members=rest, at_least=at_least)
            what = f"'{member}' dropped"
            yield ChangedCondition(less, "condition dropped", what, member.place)
        for inner in _changed(member, rulebase):
            yield from _put(group, number, inner)


def _over(over: Over) -> Iterator[ChangedCondition]:
    for count in _COUNTS.get(over.count, ()):
        changed = replace(over, count=count)
        yield ChangedCondition(
            changed, "count", f"'{changed.heading}' for '{over.heading}'", over.place
        )
    if over.count == "at least":
        for number in (over.at_least - 1, over.at_least + 1):
            changed = replace(over, at_least=number)
            if number >= 1:
                what = f"'{changed.heading}' for '{over.heading}'"
                yield ChangedCondition(changed, "count", what, over.place)


def _members(condition: InStage | Over, rulebase: Rulebase) -> Iterator[ChangedCondition]:
    for number, member in enumerate(condition.members):
        rest = (*condition.members[:number], *condition.members[number + 1 :])
        if rest:
            less = replace(condition, members=rest)
            yield ChangedCondition(less, "condition dropped", f"'{member}' dropped", member.place)
        for inner in _changed(member, rulebase):
            yield from _put(condition, number, inner)


def _put(
    outer: Group | InStage | Over, number: int, inner: ChangedCondition
) -> Iterator[ChangedCondition]:
    if inner.condition is not None:
        members = (*outer.members[:number], inner.condition, *outer.members[number + 1 :])
        yield replace(inner, condition=replace(outer, members=members))
