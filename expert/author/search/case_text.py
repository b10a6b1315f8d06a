"""Cells assigned, as a file of readings: one value inside each, far enough from every edge."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor, inf, log10

from expert.author.search.case_series import Texts, series
from expert.author.search.cells import UNKNOWN, Cells, Space
from expert.author.search.solver import YES, Assignment
from expert.knowledge.entry_model import FACTS
from expert.knowledge.judge import in_words, split_time
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.site import Subject
from expert.units.kinds import UNITS, Kind, unit_for
from expert.units.measure import difference_kind, number_text, with_unit
from expert.units.parse import parse_measure

_TOO_SMALL = 0.05
_TOO_LARGE = 3000.0  # of the usual unit, as minutes where days are meant (own choice)
_MARGIN = 3  # accuracies from an edge, where there is room (own choice)
Readings = dict[str, dict[str, Texts]]  # by place ('' the subject itself), then by quantity


def case_text(assignment: Assignment, subject: Subject, space: Space, remark: str) -> str:
    """The text of a file for `rackwalk diagnose`, with values that lie in every cell of it.

    The values meet a sum only as far as its last quantity is free; run the file to be sure.
    """
    readings = readings_in(assignment, space)
    lines = [f"# {line}" for line in remark.splitlines()]
    lines += [f"{key}: {subject.facts[key]}" for key in FACTS if key in subject.facts]
    if subject.has:
        lines.append(f"has: [{', '.join(subject.has)}]")
    lines += _block("readings", readings.pop("", {}))
    if "as found" in readings:
        lines += _block("as found", readings.pop("as found"))
    kinds: dict[str, list[str]] = {}
    for place, values in readings.items():
        kind, _, name = place.partition(" ")
        kinds.setdefault(f"{kind}s", []).append(f"  {name}: {{{inline(values)}}}")
    for plural, rows in kinds.items():
        lines += [f"{plural}:", *rows]
    return "\n".join(lines) + "\n"


def _block(name: str, values: Mapping[str, Texts]) -> list[str]:
    if not values:
        return [f"{name}: {{}}"]
    return [f"{name}:", *(f"  {key}: {one_or_list(texts)}" for key, texts in values.items())]


def inline(values: Mapping[str, Texts]) -> str:
    """Readings as they stand inside { }."""
    return ", ".join(f"{key}: {one_or_list(texts)}" for key, texts in values.items())


def one_or_list(texts: Texts) -> str:
    """A text alone, or a list in brackets."""
    return texts[0] if len(texts) == 1 else f"[{', '.join(texts)}]"


def readings_in(assignment: Assignment, space: Space) -> Readings:
    """The texts of readings of an assignment, by place and quantity; a series has several."""
    found: Readings = {"": {}}
    numbers: dict[tuple[str, str], float] = {}
    for (where, name), cells in assignment.items():
        found.setdefault(where, {})
        quantity = space.rulebase.quantities.get(name)
        if quantity is None or UNKNOWN in cells:
            continue
        if quantity.is_choice:
            wanted = next(choice for choice in quantity.choices if choice in cells)
            found[where][name] = (wanted,)
        elif quantity.kind is Kind.TEXT:
            found[where][name] = ("seen",)
        else:
            low, high = widest(cells, name, space)
            numbers[where, name] = _round(value_in(cells, name, space), quantity, low, high)
    for (where, name), cells in assignment.items():
        if name in space.forms and name not in space.rulebase.quantities:
            _meet_sum(where, name, cells, numbers, space)
    for (where, name), value in numbers.items():
        found[where][name] = (value_text(space.rulebase.quantities[name], value),)
    for (where, name), cells in assignment.items():
        if name.startswith("course ") and UNKNOWN not in cells:
            texts = series(name.removeprefix("course "), YES in cells, space.rulebase)
            found[where].update(texts)
    return found


def value_in(cells: Cells, name: str, space: Space) -> float:
    """A value [SI] inside cells that lie side by side, away from their ends by some accuracies."""
    quantity = space.rulebase.quantities.get(name)
    summed = [space.rulebase.quantities[each] for each, _ in space.forms.get(name, ())]
    parts = [quantity] if quantity else summed
    margin = _MARGIN * sum((each.accuracy or 0.0) ** 2 for each in parts) ** 0.5
    first, last = low, high = widest(cells, name, space)
    if low == high:
        return low
    if quantity is not None:
        margin = margin or abs(unit_for(difference_kind(quantity.kind)).factor)
        # Where all begins or ends is no edge: a value there would only look strange.
        every = sorted(cell for cell in space.cells(name) if isinstance(cell, int))
        low = -inf if low == quantity.refuse_below and every[0] in cells else low
        high = inf if high == quantity.refuse_above and every[-1] in cells else high
    margin = margin or 1.0
    if low == -inf and high == inf:
        return usual_value(quantity, space.rulebase) if quantity else 0.0
    value = low + margin if low > -inf else high - margin
    bounded = low > -inf and high < inf
    room = high - low > 2 * margin if bounded else first < value < last
    return value if room else (first + last) / 2


def widest(cells: Cells, name: str, space: Space) -> tuple[float, float]:
    """The widest stretch of cells that lie side by side."""
    best = (0.0, 0.0)
    width = -1.0
    run: list[int] = []
    for cell in sorted(cell for cell in cells if isinstance(cell, int)):
        if run and cell != run[-1] + 1:
            run = []
        run.append(cell)
        low, high = space.span(name, run[0])[0], space.span(name, cell)[1]
        if high - low >= width:
            best, width = (low, high), high - low
    return best


def usual_value(quantity: Quantity, rulebase: Rulebase) -> float:
    """A value [SI] as it can be met: one that tests of rules give, else in the middle."""
    given = sorted(
        parse_measure(split_time(each.texts[0])[0], quantity.kind).value
        for rule in rulebase.rules.values()
        for test in rule.tests
        for each in test.given
        if each.name == quantity.id and not in_words(split_time(each.texts[0])[0])
    )
    if given:
        return given[len(given) // 2]
    for low, high in (
        (quantity.unusual_below, quantity.unusual_above),
        (quantity.refuse_below, quantity.refuse_above),
    ):
        if low is not None and high is not None:
            return (low + high) / 2
    return unit_for(quantity.kind).to_si(10.0)


def _meet_sum(
    where: str, name: str, cells: Cells, numbers: dict[tuple[str, str], float], space: Space
) -> None:
    """Sets the quantity of a sum that is still free, or the last one, so that the sum fits."""
    if UNKNOWN in cells:
        return
    form = space.forms[name]
    free = next((q for q, _ in form if (where, q) not in numbers), form[-1][0])
    total = value_in(cells, name, space)
    for quantity, factor in form:
        if quantity != free:
            fallback = usual_value(space.rulebase.quantities[quantity], space.rulebase)
            total -= factor * numbers.setdefault((where, quantity), fallback)
    numbers[where, free] = total / next(factor for quantity, factor in form if quantity == free)


def _round(value: float, quantity: Quantity, low: float, high: float) -> float:
    """The value with as few digits as leave it inside the ends, its uncertainty included."""
    unit = unit_for(quantity.kind)
    spread = 1.01 * (quantity.accuracy or 0.0)
    for digits in range(3):
        rounded = unit.to_si(round(unit.from_si(value), digits))
        if low + spread < rounded < high - spread:
            return rounded
    return value


def value_text(quantity: Quantity, value: float) -> str:
    """A value [SI] as it is typed, in the unit in which it is no small fraction."""
    unit = unit_for(quantity.kind)
    others = [each for each in UNITS if each.kind is quantity.kind and not each.offset]
    if value and abs(unit.from_si(value)) < _TOO_SMALL:
        # A few hundredths of the usual unit: there is a smaller one for such values.
        unit = next((each for each in others if abs(each.from_si(value)) >= 1), unit)
    elif abs(unit.from_si(value)) > _TOO_LARGE:
        unit = next((each for each in others if 1 <= abs(each.from_si(value)) < 100), unit)
        # rounded in the small unit, it may lie a hair beyond an edge in the large one
        return with_unit(plain_number(unit.from_si(value), counting=7), unit)
    return with_unit(plain_number(unit.from_si(value), whole=quantity.kind is Kind.COUNT), unit)


def plain_number(value: float, *, whole: bool = False, counting: int = 4) -> str:
    """A number with the digits that count, four of them, and no more zeros than it needs."""
    if whole or value == 0:
        return number_text(value, 0)
    digits = max(0, counting - 1 - floor(log10(abs(value))))
    text = number_text(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text
