"""A value against its bands as a strip: where low, normal and high lie, and where it stands.

The words stand on the strip and in the line above it; nothing hangs on a colour.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from expert.inference.evaluation_model import Evaluation
from expert.inference.sentences import band_text, first_up, value_text
from expert.knowledge.model import Limit, Quantity
from expert.report.parts import Part
from expert.report.stages import Stage, word_of
from expert.report.svg import BAND, GREY, Drawing, Figure, wide
from expert.units.kinds import unit_for
from expert.units.measure import Measure, format_value, number_text

NORMAL = "normal"
_LEFT, _RIGHT, _TOP, _HEIGHT = 4.0, 356.0, 14.0, 14.0


@dataclass(frozen=True)
class Stand:
    """Where a value stood at a time: 'as found', its value and its state in a word."""

    when: str
    value: Measure
    word: str


def strips_of(part: Part, stage: Stage, key: str) -> tuple[Figure, ...]:
    """Every number of a stage that has a limit, as a strip."""
    stood = [(name, (_stand("", stage.evaluation, name),)) for name in _judged(part, stage)]
    return tuple(_strips(part, stood, key))


def changes_of(part: Part, key: str) -> tuple[Figure, ...]:
    """Every number with a limit that was measured before and after."""
    if part.found is None or part.left is None:
        return ()
    before, after = part.found.evaluation, part.left.evaluation
    names = [name for name in _judged(part, part.left) if name in before.known]
    stood = [
        (name, (_stand("as found", before, name), _stand("as left", after, name))) for name in names
    ]
    return tuple(_strips(part, stood, key))


def strip(
    quantity: Quantity, limit: Limit, stands: tuple[Stand, ...], system: str, key: str
) -> Figure:
    """One quantity as a strip; the first stand is drawn hollow where there are two."""
    title = first_up(quantity.title)
    band = band_text(limit, quantity, system)
    rows = tuple(
        (each.when or "value", value_text(each.value, system), each.word) for each in stands
    )
    spoken = [
        ": ".join((when, f"{value}, {word}" if word else value)) for when, value, word in rows
    ]
    text = f"{'. '.join(first_up(line) for line in spoken)}. Normal: {band}."
    drawing = _Strip(quantity, limit, stands, "si" if system == "si" else "us").drawn()
    return Figure(title, text, drawing.svg(key, title, text), ("", "Value", "State"), rows, (band,))


def _strips(
    part: Part, stood: Iterable[tuple[str, tuple[Stand, ...]]], key: str
) -> Iterator[Figure]:
    for number, (name, stands) in enumerate(stood, 1):
        quantity = part.rulebase.quantities[name]
        yield strip(quantity, part.limits[name], stands, part.system, f"{key}-{number}")


def _judged(part: Part, stage: Stage) -> Iterator[str]:
    """What was measured on this subject, is a number and has a limit."""
    for name, known in stage.evaluation.known.items():
        if stage.read_here(known) and isinstance(known.value, Measure) and name in part.limits:
            yield name


def _stand(when: str, evaluation: Evaluation, name: str) -> Stand:
    value = evaluation.known[name].value
    assert isinstance(value, Measure)
    return Stand(when, value, word_of(evaluation.states[name]))


class _Strip:
    """Bands from left to right, their words inside, their edges below, the values as marks."""

    def __init__(
        self, quantity: Quantity, limit: Limit, stands: tuple[Stand, ...], system: str
    ) -> None:
        self.stands, self.system, self.kind = stands, system, quantity.kind
        edges = (
            (limit.very_low, "very low"), (limit.low, "low"), (limit.high, NORMAL),
            (limit.very_high, "high"), (None, "very high"),
        )  # fmt: skip
        self.edges = [(edge, word) for edge, word in edges if edge is not None]
        if limit.high is None:  # nothing is too high: what is above the last edge is normal
            self.edges = [(edge, word) for edge, word in self.edges if word != NORMAL]
            self.last = NORMAL
        else:
            self.last = "very high" if limit.very_high is not None else "high"
        known = [edge for edge, _ in self.edges]
        known += [end for stand in stands for end in (stand.value.low, stand.value.high)]
        low, high = min(known), max(known)
        room = (high - low) * 0.22 or abs(high) * 0.2 or 1.0
        self.low, self.high = low - room, high + room

    def drawn(self) -> Drawing:
        """The strip."""
        drawing = Drawing(_TOP + _HEIGHT + 16)
        self._bands(drawing)
        self._labels(drawing)
        for number, stand in enumerate(self.stands):
            x, y = self._x(stand.value.value), _TOP - 5
            spread = (self._x(stand.value.low), self._x(stand.value.high))
            drawing.line(spread[0], y, spread[1], y, stroke_width="1.6")
            drawing.line(x, y, x, _TOP + 2, stroke_width="1.6")
            hollow = number == 0 and len(self.stands) > 1
            drawing.mark("circle" if hollow else "diamond", x, y, hollow=hollow)
        return drawing

    def _bands(self, drawing: Drawing) -> None:
        start = _LEFT
        for edge, word in [*self.edges, (None, self.last)]:
            end = _RIGHT if edge is None else self._x(edge)
            fill = BAND if word == NORMAL else "#fff"
            drawing.box(start, _TOP, end - start, _HEIGHT, fill=fill, stroke=GREY)
            if wide(word, 10) + 4 <= end - start:
                drawing.words((start + end) / 2, _TOP + 10.5, word, "middle", size=10)
            start = end

    def _labels(self, drawing: Drawing) -> None:
        """The number at each edge, left out where it would touch the one before."""
        free = 0.0
        unit = unit_for(self.kind, self.system)
        normal = [edge for edge, _ in self.edges]
        for number, edge in enumerate(normal):
            text = number_text(unit.from_si(edge), unit.digits).removesuffix(".0")
            if number == len(normal) - 1:
                text = format_value(self.kind, edge, self.system).replace(".0 ", " ")
            half = wide(text, 10) / 2
            x = min(max(self._x(edge), half), 360 - half)
            if x - half >= free:
                drawing.words(x, _TOP + _HEIGHT + 11, text, "middle", size=10)
                free = x + half + 4

    def _x(self, value: float) -> float:
        return _LEFT + (value - self.low) / (self.high - self.low) * (_RIGHT - _LEFT)
