"""What a quantity can be, cut into cells so fine that every condition on it holds in whole cells.

The cells of a choice are its phrases. Those of a number are the points at which something changes
(edges of the limit in force, numbers in comparisons) and the open stretches between them. A sum
of several quantities that rules compare with a number has cells of its own. Besides, everything
may be unknown. So contradiction and inclusion become questions about finite sets, exact as far as
one quantity (or one sum) goes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from math import inf

from expert.knowledge.conditions import Compare, Condition, Is, everywhere
from expert.knowledge.model import Limit, Rulebase

UNKNOWN = "?"
Cell = str | int
Cells = frozenset[Cell]
Form = tuple[tuple[str, int], ...]  # quantities with factors; the first factor is positive

_PASSES: dict[str, Callable[[float, float], bool]] = {
    ">": lambda x, edge: x > edge,
    ">=": lambda x, edge: x >= edge,
    "<": lambda x, edge: x < edge,
    "<=": lambda x, edge: x <= edge,
}
_TURNED = {">": "<", "<": ">", ">=": "<=", "<=": ">="}


def form_of(condition: Compare) -> tuple[Form, str, float]:
    """A comparison as 'sum of quantities, operator, number'; an empty sum where all cancels."""
    factors: dict[str, int] = {}
    constant = 0.0
    for term in condition.terms:
        if term.quantity:
            factors[term.quantity] = factors.get(term.quantity, 0) + term.factor
        else:
            constant += term.factor * term.value
    form = tuple(sorted((name, factor) for name, factor in factors.items() if factor))
    if form and form[0][1] < 0:
        form = tuple((name, -factor) for name, factor in form)
        return form, _TURNED[condition.operator], constant
    return form, condition.operator, -constant


def form_name(form: Form) -> str:
    """The variable of a sum; a single quantity is its own."""
    if len(form) == 1 and form[0][1] == 1:
        return form[0][0]
    return "sum " + " ".join(f"{factor:+d} {name}" for name, factor in form)


class Space:
    """The cells of every variable of a rulebase, for the limits in force on one subject.

    The edges of the limits in `also` cut cells too, so that two spaces can share their cells.
    """

    def __init__(self, rulebase: Rulebase, limits: Mapping[str, Limit], also: Iterable[Limit] = ()):
        self.rulebase = rulebase
        self.limits = limits
        self.forms: dict[str, Form] = {}
        self._points: dict[str, set[float]] = {}
        for condition in _all_conditions(rulebase):
            for part in everywhere(condition):
                if isinstance(part, Compare):
                    form, _, number = form_of(part)
                    self.forms[form_name(form)] = form
                    self._points.setdefault(form_name(form), set()).add(number)
        for limit in (*limits.values(), *also):
            edges = (limit.very_low, limit.low, limit.high, limit.very_high)
            points = self._points.setdefault(limit.quantity, set())
            points.update(edge for edge in edges if edge is not None)
        self._sorted: dict[str, tuple[float, ...]] = {}
        self._all: dict[str, Cells] = {}

    def points(self, variable: str) -> tuple[float, ...]:
        """Where something changes along a number, rising; also where it becomes impossible."""
        if variable not in self._sorted:
            points = set(self._points.get(variable, ()))
            if quantity := self.rulebase.quantities.get(variable):
                bounds = (quantity.refuse_below, quantity.refuse_above)
                points |= {bound for bound in bounds if bound is not None}
            self._sorted[variable] = tuple(sorted(points))
        return self._sorted[variable]

    def cells(self, variable: str) -> Cells:
        """Everything a variable can be; cells that are refused as impossible are left out."""
        if variable in self._all:
            return self._all[variable]
        quantity = self.rulebase.quantities.get(variable)
        if quantity is not None and quantity.is_choice:
            found: Cells = frozenset((*quantity.choices, UNKNOWN))
        else:
            low = quantity.refuse_below if quantity else None
            high = quantity.refuse_above if quantity else None
            numbers = [
                cell
                for cell in range(2 * len(self.points(variable)) + 1)
                if (low is None or self.middle(variable, cell) >= low)
                and (high is None or self.middle(variable, cell) <= high)
            ]
            found = frozenset((*numbers, UNKNOWN))
        self._all[variable] = found
        return found

    def span(self, variable: str, cell: int) -> tuple[float, float]:
        """Lower and upper end of a cell; the same for a point."""
        points = (-inf, *self.points(variable), inf)
        if cell % 2:
            return points[(cell + 1) // 2], points[(cell + 1) // 2]
        return points[cell // 2], points[cell // 2 + 1]

    def middle(self, variable: str, cell: int) -> float:
        """A number inside a cell."""
        low, high = self.span(variable, cell)
        if low == -inf:
            return high - 1.0 if high < inf else 0.0
        return low + 1.0 if high == inf else (low + high) / 2

    def holds_in(self, condition: Is | Compare) -> tuple[str, Cells, Cells]:
        """The variable of a condition, the cells where it is true, and those where it is false."""
        if isinstance(condition, Compare):
            form, operator, number = form_of(condition)
            variable = form_name(form)
            known: Cells = self.cells(variable) - {UNKNOWN}
            passes = _PASSES[operator]
            true: Cells = frozenset(
                c for c in known if isinstance(c, int) and passes(self.middle(variable, c), number)
            )
            return variable, true, known - true
        variable = condition.quantity
        known = self.cells(variable) - {UNKNOWN}
        false: Cells = frozenset((UNKNOWN,))
        if condition.word == "known":
            true = known
        elif self.rulebase.quantities[variable].is_choice:
            true = known & {condition.word}
            false = known - true
        else:
            true = self._in_band(condition)
            false = known - true if variable in self.limits else frozenset()
        return (variable, false, true) if condition.negated else (variable, true, false)

    def _in_band(self, condition: Is) -> Cells:
        limit = self.limits.get(condition.quantity)
        if limit is None:
            return frozenset()
        low, high = -inf, inf
        inside = False
        if condition.word == "normal":
            low = -inf if limit.low is None else limit.low
            high = inf if limit.high is None else limit.high
            inside = True
        else:
            edge = getattr(limit, condition.word.replace(" ", "_"))
            if edge is None:
                return frozenset()
            low, high = (low, edge) if condition.word.endswith("low") else (edge, high)
        return frozenset(
            cell
            for cell in self.cells(condition.quantity)
            if isinstance(cell, int)
            and _between(self.middle(condition.quantity, cell), low, high, inside)
        )


def _between(value: float, low: float, high: float, inside: bool) -> bool:
    return low <= value <= high if inside else low < value < high


def _all_conditions(rulebase: Rulebase) -> Iterable[Condition]:
    for rule in rulebase.rules.values():
        yield from (*rule.when, *rule.unless)
    for limit in rulebase.limits:
        yield from limit.cannot_judge_when
