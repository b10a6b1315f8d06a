"""Series of readings that do what a condition over time says, or do not."""

from __future__ import annotations

from expert.knowledge.conditions import Course, everywhere
from expert.knowledge.model import Quantity, Rulebase
from expert.units.kinds import unit_for
from expert.units.measure import difference_kind, number_text, with_unit

Texts = tuple[str, ...]
_MARGIN = 2  # accuracies beyond an amount: more than two readings together are uncertain by
_IN_TIME = 0.75  # of the time asked for


def series(text: str, does: bool, rulebase: Rulebase) -> dict[str, Texts]:
    """The texts of readings by quantity; nothing where no simple series is known."""
    course = _find(text, rulebase)
    if course is None:
        return {}
    if course.before is not None:
        first, second = (course, course.before) if does else (course.before, course)
        return {**_one(first, 60.0, rulebase), **_one(second, 600.0, rulebase)}
    late = 60.0 if course.seconds is None else course.seconds
    if course.verb != "holds":
        late *= _IN_TIME
    return _one(course, late, rulebase, does=does)


def _find(text: str, rulebase: Rulebase) -> Course | None:
    for rule in rulebase.rules.values():
        for condition in (*rule.when, *rule.unless):
            for part in everywhere(condition):
                if isinstance(part, Course) and str(part) == text:
                    return part
    return None


def _one(course: Course, late: float, rulebase: Rulebase, *, does: bool = True) -> dict[str, Texts]:
    quantity = rulebase.quantities[course.quantity]
    if course.verb == "becomes":
        other = next((c for c in quantity.choices if c != course.word), course.word)
        words = (other, course.word if does else other)
        return {course.quantity: _list(words, late)}
    unit = unit_for(quantity.kind)
    step = _MARGIN * (quantity.accuracy or 0.0)
    step = step or abs(unit_for(difference_kind(quantity.kind)).factor)
    start = _middle(quantity)
    amount = course.value or 0.0
    if course.verb == "reaches":
        # From well below, so that the number is reached by rising.
        start, end = amount - 2 * step, amount + step if does else amount - 2 * step
    elif course.verb == "holds":
        end = start if does else start + amount + 2 * step
    else:
        sign = 1.0 if (course.verb == "rises") is does else -1.0
        end = start + sign * (amount + step)
    texts = tuple(
        with_unit(number_text(unit.from_si(value), unit.digits + 1), unit) for value in (start, end)
    )
    return {course.quantity: _list(texts, late)}


def _list(texts: Texts, late: float) -> Texts:
    times = (0.0, late)
    return tuple(
        f"{text} at {number_text(seconds / 60, 1)} min"
        for text, seconds in zip(texts, times, strict=True)
    )


def _middle(quantity: Quantity) -> float:
    if quantity.unusual_below is not None and quantity.unusual_above is not None:
        return (quantity.unusual_below + quantity.unusual_above) / 2
    return unit_for(quantity.kind).to_si(50.0)
