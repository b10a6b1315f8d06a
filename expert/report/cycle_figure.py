"""The measured cycle in a pressure-enthalpy diagram. What was not read is not drawn.

The only figure that needs the property library, so it is worked out only where a place of the
cycle was measured at all.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from expert.inference.derive import context_of
from expert.inference.evaluation_model import Known
from expert.inference.sentences import value_text
from expert.physics.fluids import single_phase
from expert.physics.fluids.dome import dome
from expert.physics.frame.physics_errors import PhysicsError
from expert.report.parts import Part
from expert.report.report_roles import LIQUID, PLACES, ReportRoles
from expert.report.stages import BOTH, Stage
from expert.report.svg import GREY, Drawing, Figure, ticks, wide
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure

_LEFT, _RIGHT, _TOP, _BOTTOM = 40.0, 318.0, 22.0, 250.0


@dataclass(frozen=True)
class CyclePoint:
    """A place of the cycle: pressures in Pa absolute and gauge, temperature in K, J/kg."""

    number: int
    name: str
    pressure: float
    gauge: float
    temperature: float
    enthalpy: float


@dataclass(frozen=True)
class Unknown:
    """A place of the cycle that is not drawn, and why."""

    name: str
    why: str


def cycle_figure(
    part: Part, stage: Stage, roles: ReportRoles, system: str, key: str
) -> Figure | None:
    """The diagram of a stage; without a drawing where too little was read to begin one, and
    None where nothing of a cycle was read."""
    known = {
        name: each
        for name, each in stage.evaluation.known.items()
        if each.measured and not each.derived
    }
    named = {
        n for pairs in roles.cycle.values() for p in pairs for n in (p.pressure, p.temperature)
    }
    own = {reading.quantity for reading in stage.measured}
    if not named & own:
        return None
    refrigerant = part.subject.facts.get("refrigerant", "")
    title = f"Pressure and enthalpy of the measured cycle, {refrigerant or 'refrigerant unknown'}"
    if not refrigerant:
        return _words(title, ("The site file names no refrigerant, so no diagram is drawn.",))
    points, unknown = _points(part, known, roles, refrigerant)
    remarks = tuple(f"{each.name.capitalize()}: {each.why}" for each in unknown)
    if points:
        return _drawn(title, refrigerant, points, remarks, system, key)
    if stage.left:
        return None
    return _words(title, ("No diagram is drawn, since no point of it was read.", *remarks))


def _words(title: str, remarks: tuple[str, ...]) -> Figure:
    return Figure(title, " ".join(remarks), "", remarks=remarks)


def _points(
    part: Part, known: Mapping[str, Known], roles: ReportRoles, refrigerant: str
) -> tuple[list[CyclePoint], list[Unknown]]:
    found = [
        _point(number, place, part, known, roles, refrigerant)
        for number, place in enumerate(PLACES, 1)
    ]
    return (
        [each for each in found if isinstance(each, CyclePoint)],
        [each for each in found if isinstance(each, Unknown)],
    )


def _point(
    number: int,
    place: str,
    part: Part,
    known: Mapping[str, Known],
    roles: ReportRoles,
    refrigerant: str,
) -> CyclePoint | Unknown:
    pairs = [p for p in roles.cycle[place] if p.pressure in known and p.temperature in known]
    if not pairs:
        return Unknown(place, _missing(place, part, known, roles))
    pressure, temperature = (
        known[name].value for name in (pairs[0].pressure, pairs[0].temperature)
    )
    assert isinstance(pressure, Measure)
    assert isinstance(temperature, Measure)
    absolute = context_of(part.subject).absolute(pressure.value)
    state = single_phase.liquid if place == LIQUID else single_phase.gas
    try:
        enthalpy = state(refrigerant, absolute, temperature.value).enthalpy
    except PhysicsError as error:
        return Unknown(place, f"not drawn. {error}")
    return CyclePoint(number, place, absolute, pressure.value, temperature.value, enthalpy)


def _missing(place: str, part: Part, known: Mapping[str, Known], roles: ReportRoles) -> str:
    """Which reading is missing: the other half of what was read, else the first pair."""
    half = [p for p in roles.cycle[place] if p.pressure in known or p.temperature in known]
    pair = (half or list(roles.cycle[place]))[0]
    quantities = part.rulebase.quantities
    names = [n for n in (pair.pressure, pair.temperature) if n not in known and n in quantities]
    return f"not drawn, not read: {', '.join(quantities[n].title for n in names)}."


def _drawn(
    title: str, refrigerant: str, points: list[CyclePoint], remarks: tuple[str, ...], system: str,
    key: str,
) -> Figure:  # fmt: skip
    try:
        shape = dome(refrigerant, min(point.pressure for point in points) / 1.6)
    except PhysicsError as error:
        return _words(title, (f"No diagram is drawn. {error}", *remarks))
    lines = (shape.bubble, shape.dew)
    drawing = _Diagram(lines, points, system).drawn()
    rows = tuple(
        (
            f"{point.number} {point.name}",
            value_text(Measure(Kind.GAUGE_PRESSURE, point.gauge), system),
            value_text(Measure(Kind.TEMPERATURE, point.temperature), system),
            value_text(Measure(Kind.SPECIFIC_ENERGY, point.enthalpy), system),
        )
        for point in points
    )
    rows_text = ". ".join(f"{' '.join(row[:1])}: {row[1]}, {row[2]}, {row[3]}" for row in rows)
    text = f"Saturation dome of {refrigerant} with {len(points)} measured points. {rows_text}."
    remarks = (
        *remarks,
        "Lines join measured points. Point 4, hollow, is not measured: it has the enthalpy of 3 "
        "and the pressure of 1. Pressure is absolute in the drawing, gauge in the table. The dome "
        "ends where the tables end, below the critical point. Of enthalpy only differences count.",
    )
    heads = ("Point", "Pressure", "Temperature", "Enthalpy")
    return Figure(title, text, drawing.svg(key, title, text), heads, rows, remarks)


class _Diagram:
    """Pressure on a logarithmic scale over enthalpy."""

    def __init__(
        self,
        lines: tuple[tuple[tuple[float, float], ...], ...],
        points: list[CyclePoint],
        system: str,
    ) -> None:
        self.lines, self.points, self.system = lines, points, system
        spots = [spot for line in lines for spot in line]
        spots += [(point.enthalpy, point.pressure) for point in points]
        across, up = [x for x, _ in spots], [math.log(y) for _, y in spots]
        room = (max(across) - min(across)) * 0.06
        self.xs = (min(across) - room, max(across) + room)
        self.ys = (min(up), max(up) + 0.08)

    def drawn(self) -> Drawing:
        """The diagram."""
        drawing = Drawing(_BOTTOM + 42)
        drawing.box(_LEFT, _TOP, _RIGHT - _LEFT, _BOTTOM - _TOP, stroke=GREY)
        self._scales(drawing)
        for line in self.lines:
            drawing.curve([self._at(*spot) for spot in line], stroke=GREY, stroke_width="1.4")
        self._cycle(drawing)
        for x, y, text, size in (
            (*self._at(*self.lines[0][len(self.lines[0]) // 2]), "liquid", -6.0),
            (*self._at(*self.lines[1][len(self.lines[1]) // 2]), "gas", 9.0),
        ):
            anchor = "end" if size < 0 else "start"
            drawing.words(x + size, y - 4, text, anchor, size=10, fill=GREY)
        return drawing

    def _cycle(self, drawing: Drawing) -> None:
        found = {point.name: point for point in self.points}
        suction, discharge, liquid = (found.get(place) for place in PLACES)
        for one, other in ((suction, discharge), (discharge, liquid)):
            if one and other:
                spots = [self._at(p.enthalpy, p.pressure) for p in (one, other)]
                drawing.curve(spots, stroke_width="2")
        if suction and liquid:
            valve = self._at(liquid.enthalpy, suction.pressure)
            spots = [self._at(liquid.enthalpy, liquid.pressure), valve]
            drawing.curve([*spots, self._at(suction.enthalpy, suction.pressure)], stroke_width="2")
            drawing.mark("circle", *valve, hollow=True)
            drawing.words(valve[0] - 7, valve[1] + 12, "4", "middle", bold=True)
        for point in self.points:
            x, y = self._at(point.enthalpy, point.pressure)
            drawing.mark("circle", x, y)
            drawing.words(x + 7, y - 5, str(point.number), bold=True)

    def _scales(self, drawing: Drawing) -> None:
        systems = ("us", "si") if self.system == BOTH else (self.system,)
        for side, system in enumerate(systems):
            pressure = unit_for(Kind.ABSOLUTE_PRESSURE, system)
            energy = unit_for(Kind.SPECIFIC_ENERGY, system)
            x, anchor = ((_LEFT - 4, "end"), (_RIGHT + 4, "start"))[side]
            low, high = (pressure.from_si(math.exp(end)) for end in self.ys)
            for tick in _logarithmic(low, high):
                y = self._at(0.0, pressure.to_si(tick))[1]
                if not side:
                    drawing.line(_LEFT, y, _RIGHT, y, stroke="#ccc")
                drawing.words(x, y + 3.5, f"{tick:g}", anchor, size=10)
            place = (2.0, "start") if not side else (358.0, "end")
            drawing.words(place[0], _TOP - 9, pressure.name, place[1], size=10, bold=True)
            row = _BOTTOM + 13 + 13 * side
            first, last = (energy.from_si(end) for end in self.xs)
            for tick in ticks(first, last, 5):
                spot = self._at(energy.to_si(tick), 1.0)[0]
                drawing.words(spot, row, f"{tick:g}", "middle", size=10)
            drawing.words(
                358, row, energy.name, "end", size=10 if wide(energy.name) < 50 else 9, bold=True
            )

    def _at(self, enthalpy: float, pressure: float) -> tuple[float, float]:
        x = (enthalpy - self.xs[0]) / (self.xs[1] - self.xs[0])
        y = (math.log(pressure) - self.ys[0]) / (self.ys[1] - self.ys[0])
        return _LEFT + x * (_RIGHT - _LEFT), _BOTTOM - y * (_BOTTOM - _TOP)


def _logarithmic(low: float, high: float) -> list[float]:
    """1, 2, 5, 10, 20, 50 ... inside an interval."""
    power = 10 ** math.floor(math.log10(low))
    found = [power * 10**step * each for step in range(5) for each in (1, 2, 5)]
    return [each for each in found if low <= each <= high]
