"""The sentences in which facts, limits and conditions are told to a person."""

from __future__ import annotations

from collections.abc import Mapping

from expert.inference.evaluation_model import Known
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
from expert.knowledge.model import Limit, Quantity, Rulebase
from expert.units.kinds import Kind
from expert.units.measure import Measure, difference_kind, format_measure, format_value


def first_up(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]


def value_text(value: Measure | str, system: str, *, plus_minus: bool = True) -> str:
    """A value with unit and uncertainty; 'both' gives both unit systems."""
    if isinstance(value, str):
        return value
    if system != "both":
        return format_measure(value, system, plus_minus=plus_minus)
    us, si = (format_measure(value, each, plus_minus=plus_minus) for each in ("us", "si"))
    return us if us == si else f"{us} ({si})"


def limit_text(limit: Limit, quantity: Quantity, system: str) -> str:
    """'15.0 to 20.0 psi (common practice)': the normal band and its source."""
    return f"{band_text(limit, quantity, system)} ({limit.source})"


def band_text(limit: Limit, quantity: Quantity, system: str) -> str:
    """The normal band of a limit: '15.0 to 20.0 psi', 'at most 2.0 psi'."""
    systems = ("us", "si") if system == "both" else (system,)
    texts = []
    for each in systems:
        low, high = (
            None if edge is None else format_value(quantity.kind, edge, each)
            for edge in (limit.low, limit.high)
        )
        if low is not None and high is not None:
            number, _, unit = low.partition(" ")
            texts.append(f"{number if high.endswith(unit) else low} to {high}")
        else:
            texts.append(f"at least {low}" if high is None else f"at most {high}")
    return texts[0] if len(set(texts)) == 1 else f"{texts[0]} ({texts[1]})"


class Speaker:
    """Tells facts of one evaluation in a unit system ('us', 'si' or 'both')."""

    def __init__(
        self,
        rulebase: Rulebase,
        known: Mapping[str, Known],
        limits: Mapping[str, Limit],
        system: str,
    ):
        self.rulebase = rulebase
        self.known = known
        self.limits = limits
        self.system = system

    def condition(self, condition: Condition) -> str:
        """A condition in words, whatever its truth."""
        if isinstance(condition, Group):
            joint = " or " if condition.at_least == 1 else " and "
            inner = joint.join(self.condition(member) for member in condition.members)
            if 1 < condition.at_least < len(condition.members):
                inner = f"at least {condition.at_least} of: " + "; ".join(
                    self.condition(member) for member in condition.members
                )
            return inner
        if isinstance(condition, HasSign):
            says = self.rulebase.signs[condition.sign].says
            return f"it is not so that {says}" if condition.negated else says
        if isinstance(condition, Is):
            title = self.rulebase.quantities[condition.quantity].title
            return f"{title} is {'not ' if condition.negated else ''}{condition.word}"
        if isinstance(condition, Course):
            return self._course(condition)
        if isinstance(condition, InStage | Over):
            heading = condition.stage if isinstance(condition, InStage) else condition.heading
            inner = " and ".join(self.condition(member) for member in condition.members)
            return f"{heading}: {inner}"
        return self._sum(condition, values=False)

    def _course(self, course: Course) -> str:
        """'coil temperature reaches 50 F before 20 min', with titles for ids."""
        by = {"rises": " by ", "falls": " by ", "holds": " within "}.get(course.verb, " ")
        joint = {"rises": " within ", "falls": " within ", "holds": " for "}
        text = f"{self._title(course.quantity)} {course.verb}"
        text += f" {course.word}" if course.word else ""
        kind = self.rulebase.quantities[course.quantity].kind
        kind = kind if course.verb == "reaches" else difference_kind(kind)
        text += by + self._typed(course.amount, kind, course.value) if course.amount else ""
        text += f"{joint.get(course.verb, ' before ')}{course.time}" if course.time else ""
        return f"{text} before {self._course(course.before)}" if course.before else text

    def _typed(self, text: str, kind: Kind | None, value: float | None) -> str:
        """A measure of a rule as its author typed it, in SI where that is asked for."""
        if self.system == "us" or kind is None or value is None:
            return text
        si = format_value(kind, value, "si")
        return si if self.system == "si" or si == text else f"{text} ({si})"

    def _title(self, quantity: str) -> str:
        return self.rulebase.quantities[quantity].title

    def plain(self, quantity: str) -> str:
        """A known value as text."""
        return value_text(self.known[quantity].value, self.system)

    def fact(self, condition: Condition) -> str:
        """A true elementary condition with the values it rests on, as a sentence."""
        if isinstance(condition, Is):
            known = self.known.get(condition.quantity)
            if known is None or isinstance(known.value, str) or condition.word == "known":
                shown = "" if known is None else value_text(known.value, self.system)
                title = self.rulebase.quantities[condition.quantity].title
                if condition.negated and condition.word != "known":
                    shown += f" (not {condition.word})"
                return f"{first_up(title)}: {shown or 'not known'}."
            return self._number(condition, known)
        if isinstance(condition, Course) and (known := self.known.get(condition.quantity)):
            values = ", ".join(value_text(r.value, self.system) for r in known.readings)
            return f"{first_up(self._course(condition))}: {values}."
        if isinstance(condition, Compare):
            return f"{first_up(self._sum(condition, values=True))}."
        return f"{first_up(self.condition(condition))}."

    def found_instead(self, condition: Condition) -> str:
        """A condition that is known not to hold, with what is known instead."""
        wanted = self.condition(condition)
        known = self.known.get(condition.quantity) if isinstance(condition, Is) else None
        if known is not None and not isinstance(condition, Compare):
            shown = f"{wanted}: it is {value_text(known.value, self.system)}"
            limit = self.limits.get(known.quantity.id)
            if limit is not None and not known.quantity.is_choice:
                shown += f"; normal here is {limit_text(limit, known.quantity, self.system)}"
            return f"{shown}."
        if isinstance(condition, Compare):
            return f"{wanted}: {self._sum(condition, values=True)} is not so."
        return f"{wanted}: not so."

    def still_open(self, condition: Condition) -> str:
        """A condition whose truth is not known: not read, or within its own uncertainty."""
        known = self.known.get(condition.quantity) if isinstance(condition, Is) else None
        if known is None:
            return f"{self.condition(condition)}: not known."
        shown = value_text(known.value, self.system)
        return f"{self.condition(condition)}: {shown}, too close to call or not to be judged."

    def _number(self, condition: Is, known: Known) -> str:
        quantity = known.quantity
        text = f"{first_up(quantity.title)} {value_text(known.value, self.system)}"
        if known.inputs:
            parts = [f"{t.title} {value_text(t.value, self.system)}" for t in known.inputs]
            text += f", from {' and '.join(parts)},"
        text += f" is {'not ' if condition.negated else ''}{condition.word}"
        limit = self.limits.get(condition.quantity)
        if limit is not None:
            text += f"; normal here is {limit_text(limit, quantity, self.system)}"
        return f"{text}."

    def _sum(self, condition: Compare, *, values: bool) -> str:
        left, right = (self._side(side, values) for side in (condition.left, condition.right))
        words = {">": "above", ">=": "at or above", "<": "below", "<=": "at or below"}
        return f"{left} is {words[condition.operator]} {right}"

    def _side(self, side: tuple[Term, ...], values: bool) -> str:
        text = ""
        for term in side:
            shown = self._typed(term.measure, term.kind, term.value)
            if term.quantity:
                shown = self.rulebase.quantities[term.quantity].title
                if values and term.quantity in self.known:
                    shown += f" ({value_text(self.known[term.quantity].value, self.system)})"
            joint = " minus " if term.factor < 0 else " plus "
            text += (joint if text else ("minus " if term.factor < 0 else "")) + shown
        return text
