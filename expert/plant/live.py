"""One plant that stands there: it is read, something on it is changed, and it is read again.

A change moves a parameter of the plant, as a fault does; what is read then follows from it. Within
one state a reading is the same however often it is taken, and an instrument keeps its bias for the
whole visit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np

from expert.plant.call import Call
from expert.plant.complaint import complaint, complaint_of_defrost
from expert.plant.design import fahrenheit
from expert.plant.draw import KINDS
from expert.plant.faults import Fault, faults
from expert.plant.fluid import Array
from expert.plant.hot_gas_defrost import STEP, DefrostCourse, Defrosts, run_defrosts
from expert.plant.read_circuit import read_circuit
from expert.plant.read_defrost import DefrostCall, coil_seen, instants, moments, read_defrost
from expert.plant.read_machine import read_machine
from expert.plant.read_rack import read_rack
from expert.plant.reading_difference import Told, shows
from expert.plant.site_facts import defrosted_by, fitted, height_of
from expert.plant.solve import SolvedPlants, solve
from expert.plant.visit_instruments import Visit

NEAR = 0.25  # of a fault's way that may be left of it when it counts as put right (own choice)
HOT, COLD = (float(fahrenheit(edge)) for edge in (80.0, 50.0))
CURVES = {"circuit_pressure": ("coil_pressure", "high gauge"),
          "branch_liquid_temperature": ("liquid_branch", "clamp"),
          "suction_stop_line_temperature": ("stop_line", "clamp")}  # fmt: skip


@dataclass(frozen=True)
class PlantWish:
    """Which plant is wanted; the seed draws all that is left open ('' or no severity)."""

    seed: int
    faults: tuple[str, ...]
    severities: tuple[float, ...]
    application: str = ""
    refrigerant: str = ""
    weather: str = ""

    @property
    def defrost(self) -> bool:
        """Whether a defrost is watched."""
        return any(faults()[name].at == "defrost" for name in self.faults)


@dataclass
class WatchedDefrost:
    """The defrost as it should be and as it is."""

    paper: Defrosts
    found: Defrosts
    usual: DefrostCourse
    course: DefrostCourse


@dataclass
class LivePlant:
    """One plant with its faults, the circuit and machine that are looked at, and the visit.

    `says` is what it is called for, in the words of the quantity `complaint`, '' where nobody
    would call.
    """

    wish: PlantWish
    before: SolvedPlants
    state: SolvedPlants
    kinds: Array
    circuit: int
    machine: int
    places: Mapping[str, int]
    says: str
    defrosting: WatchedDefrost | None = None
    changes: int = 0
    wrong: dict[tuple[str, str], float] = field(default_factory=dict)
    _told: dict[int, Told] = field(default_factory=dict)

    # what is known of it on paper

    @property
    def refrigerant(self) -> str:
        """Its refrigerant."""
        return self.before.plants.refrigerant

    @property
    def application(self) -> str:
        """'low temperature' or 'medium temperature'."""
        low = self.before.plants.low_temperature[0] > 0
        return "low temperature" if low else "medium temperature"

    @property
    def case_type(self) -> str:
        """The kind of the looked-at case."""
        return KINDS[int(self.kinds[0, self.circuit])].name

    @property
    def altitude(self) -> float:
        """Of the store [m], to the hundred that a technician knows it by."""
        return round(height_of(self.before.plants, 0), -2)

    @property
    def has(self) -> tuple[str, ...]:
        """Devices that are fitted."""
        return fitted(self.before.plants, 0, self.circuit)

    @property
    def defrost(self) -> str:
        """How the looked-at circuit is defrosted."""
        low = self.before.plants.low_temperature[0] > 0
        always = bool(low or self.defrosting is not None)
        return defrosted_by(always, self.state.plants, 0, self.circuit, self.wish.seed)

    @property
    def weather(self) -> str:
        """'hot', 'mild' or 'cold', by the outdoor air of the spans that plants are drawn in."""
        outdoor = float(self.before.plants.outdoor[0])
        return "hot" if outdoor > HOT else "cold" if outdoor < COLD else "mild"

    def complained(self) -> str:
        """What it is called for as it is now, as `says` tells of the call."""
        if (d := self.defrosting) is None:
            return complaint(self.state, self.before, 0, self.circuit, self.machine)
        left = float(d.course.left[0].sum() / d.found.frost[0])
        by_clock = bool(d.course.by_sensor[0] < 1)
        return complaint_of_defrost(left, by_clock, float(d.found.drain_blocked[0]))

    # what is read

    def told(self) -> Told:
        """Every reading of the plant as it is now. SI, gauge pressures, words."""
        if self.changes not in self._told:
            self._told = {self.changes: self._read(self.state, now=True)}
        return self._told[self.changes]

    def usual(self) -> Told:
        """The same visit to the same plant in order."""
        if -1 not in self._told:
            self._told[-1] = self._read(self.before, now=False)
        return self._told[-1]

    def odd(self) -> bool:
        """Whether anything reads otherwise than of the plant in order, beyond instruments."""
        return shows(self.told(), self._read(self.before, now=False))

    def moments(self) -> Mapping[str, str]:
        """When each reading of a watched defrost can be taken."""
        d = self._watched()
        return {} if d is None else moments(d)

    def instants(self) -> Mapping[str, float]:
        """Seconds from gas on at which what comes later can be read."""
        d = self._watched()
        if d is None:
            return {}
        d.call.readings = {n: v for n, v in self.told().items() if isinstance(v, float | str)}
        return instants(d)

    def coil_seen(self, seconds: float) -> str:
        """What is seen of the coil so long after gas on."""
        d = self._watched()
        assert d is not None
        return coil_seen(d, seconds)

    def _watched(self) -> DefrostCall | None:
        if (d := self.defrosting) is None:
            return None
        return DefrostCall(self._call(self.state), d.found, d.paper, d.course)

    def length(self) -> float:
        """Seconds from gas on to its end, of the defrost as it would run now."""
        assert self.defrosting is not None
        return float(self.defrosting.course.length[0])

    def times(self) -> tuple[float, float, float]:
        """Seconds of pump-down, drip and fan delay."""
        assert self.defrosting is not None
        d = self.defrosting.found
        return float(d.pump_down[0]), float(d.drip[0]), float(d.fan_delay[0])

    def sample(self, name: str, seconds: float) -> float:
        """A curve of the defrost read so long after gas on."""
        assert self.defrosting is not None
        what, tool = CURVES[name]
        visit = self._call(self.state, int(seconds)).visit
        return visit.take(tool, self._at(what, seconds))

    def curve(self, name: str, until: float, points: int) -> list[tuple[float, float]]:
        """A curve of the defrost as a recorder draws it: seconds from gas on, value."""
        what, _ = CURVES[name]
        times = np.linspace(0.0, until, points)
        return [(float(t), self._at(what, float(t))) for t in times]

    def true(self, what: str) -> float:
        """A value of the plant itself, by which it is seen whether something is past its mark."""
        barometer = float(self.state.plants.barometer[0])
        values = {
            "discharge pressure": float(self.state.discharge[0]) - barometer,
            "receiver level": float(self.state.charge.level[0]),
            "discharge temperature": float(self.state.machines.discharge_temperature[0].max()),
            "suction pressure": float(self.state.header[0, self._call(self.state).group])
            - barometer,
        }
        return values[what]

    # what is changed

    def repair(self, fault: str) -> bool:
        """Put right all that a fault moves, where it sits; whether anything was wrong there."""
        what, changed = faults()[fault], False
        for change in what.changes:
            now, paper, spot = self._of(change.parameter)
            changed |= bool(now[spot] != paper[spot])
            now[spot] = paper[spot]
        for mark in what.marks:
            for marks in self._marks(what):
                if mark in marks:
                    changed |= bool(np.any(marks[mark] > 0))
                    marks[mark][:] = 0.0
        self._settle(moved=changed)
        return changed

    def move(self, parameter: str, how: str, value: float) -> None:
        """Move a parameter [SI, absolute]: to a value, by adding or by a factor."""
        now, _, spot = self._of(parameter)
        was = float(now[spot])
        now[spot] = {"to": value, "add": was + value, "times": was * value}[how]
        self._settle(moved=bool(now[spot] != was))

    def value(self, parameter: str) -> float:
        """A parameter as it stands."""
        now, _, spot = self._of(parameter)
        return float(now[spot])

    def cured(self, fault: str) -> bool:
        """Whether what a fault moved is back, nearly, where the store's papers have it."""
        for change in faults()[fault].changes:
            now, paper, spot = self._of(change.parameter)
            away = abs(float(now[spot]) - float(paper[spot]))
            if away > NEAR * abs(self.wrong[fault, change.parameter] - float(paper[spot])):
                return False
        marks = (m for each in self._marks(faults()[fault]) for m in each.items())
        return not any(name in faults()[fault].marks and np.any(v > 0) for name, v in marks)

    @property
    def solved(self) -> bool:
        """Whether the plant has a steady state as it is."""
        return bool(self.state.solved[0])

    # inside

    def _at(self, what: str, seconds: float) -> float:
        assert self.defrosting is not None
        curve: Array = getattr(self.defrosting.course, what)
        value = float(curve[min(max(int(seconds / STEP), 0), len(curve) - 1), 0])
        pressure = what == "coil_pressure"
        return value - float(self.defrosting.found.barometer[0]) if pressure else value

    def _of(self, parameter: str) -> tuple[Array, Array, Any]:
        """Where a parameter stands now, as it should be, and at which place."""
        own = self.defrosting
        if own is not None and parameter in {f.name for f in fields(Defrosts)}:
            return getattr(own.found, parameter), getattr(own.paper, parameter), 0
        now, paper = (getattr(s.plants, parameter) for s in (self.state, self.before))
        if now.ndim == 1:
            return now, paper, 0
        call = self._call(self.state)
        at = {self.kinds.shape[1]: self.circuit, call.plants.displacement.shape[1]: self.machine}
        return now, paper, (0, at.get(now.shape[1], call.group))

    def _marks(self, fault: Fault) -> list[dict[str, Array]]:
        found = [self.state.plants.marks]
        return [*found, self.defrosting.found.marks] if self.defrosting else found

    def _settle(self, *, moved: bool) -> None:
        if not moved:
            return
        self.changes += 1
        if self.defrosting is None:
            self.state = solve(self.state.plants, near=self.state)
        else:
            self.defrosting.course = run_defrosts(self.defrosting.found)

    def _call(self, state: SolvedPlants, more: int = 0, *, visit: int | None = None) -> Call:
        """The visit: its instruments are the same all day, what repeats differs."""
        own = Visit(np.random.default_rng(self.wish.seed + 2))
        changes = self.changes if visit is None else visit
        own.rng = np.random.default_rng((self.wish.seed, changes, more))
        return Call(state, self.before, 0, self.circuit, self.machine, self.kinds, own)

    def _read(self, state: SolvedPlants, *, now: bool) -> Told:
        call = self._call(state)
        if (d := self.defrosting) is not None:
            ran = (d.found, d.course) if now else (d.paper, d.usual)
            return read_defrost(DefrostCall(call, ran[0], d.paper, ran[1]))
        read_rack(call)
        read_machine(call)
        read_circuit(call)
        return dict(call.readings)
