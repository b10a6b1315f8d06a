"""A call: one plant of a batch, the circuit and machine looked at, and the technician's visit.

What is read goes by the names of the quantities of the trade; numbers in SI (gauge pressures in Pa
above the barometer), looks in their words.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from expert.plant.design import Plants
from expert.plant.fluid import Array, Fluid, fluid
from expert.plant.solve import SolvedPlants
from expert.plant.visit_instruments import Visit, rounded

WARM = 4.0 * 5 / 9  # K above what it should be: warm


@dataclass
class Call:
    """What a technician stands before. `paper` is the plant as built, `before` its healthy state.

    `circuit`, `machine` and `group` are the ones looked at; `kinds` the kinds of its cases.
    """

    state: SolvedPlants
    before: SolvedPlants
    row: int
    circuit: int
    machine: int
    kinds: Array
    visit: Visit
    readings: dict[str, float | str] = field(default_factory=dict)

    @property
    def plants(self) -> Plants:
        """The plants with their faults."""
        return self.state.plants

    @property
    def paper(self) -> Plants:
        """The plants as the store's papers have them."""
        return self.before.plants

    @property
    def fluid(self) -> Fluid:
        """The refrigerant."""
        return fluid(self.plants.refrigerant)

    @property
    def group(self) -> int:
        """The suction group of the circuit that is looked at."""
        return int(self.plants.group_of_circuit[self.row, self.circuit])

    def at(self, name: str) -> float:
        """A parameter of the plant, of its looked-at circuit, machine or group."""
        return self._pick(getattr(self.plants, name))

    def mark(self, name: str) -> float:
        """A mark at the looked-at place; zero where nothing made it."""
        values = self.plants.marks.get(name)
        return 0.0 if values is None else self._pick(values)

    def circuit_value(self, name: str) -> float:
        """A value of the looked-at circuit's state."""
        return float(getattr(self.state.circuits, name)[self.row, self.circuit])

    def warmth(self) -> Array:
        """By how much each circuit's air stands above what it should be [K]; -inf where none is."""
        over = self.state.circuits.discharge_air[self.row] - self.paper.case_set[self.row]
        return np.where(self.plants.present[self.row] > 0, over, -np.inf)

    def number(self, name: str, tool: str, true: float, near: float | None = None) -> None:
        """Take a reading with a tool; a share that is shown stays between none and all."""
        read = rounded(tool, self.visit.take(tool, true, near))
        self.readings[name] = min(max(read, 0.0), 1.0) if tool == "share" else read

    def gauge(self, name: str, absolute: float, tool: str = "high gauge") -> None:
        """Take a pressure; kept as gauge pressure."""
        barometer = float(self.plants.barometer[self.row])
        self.readings[name] = rounded(tool, self.visit.take(tool, absolute) - barometer)

    def paper_gauge(self, name: str, absolute: float) -> None:
        """A pressure from the store's papers."""
        self.readings[name] = absolute - float(self.plants.barometer[self.row])

    def word(self, name: str, word: str) -> None:
        """What was seen."""
        self.readings[name] = word

    def _pick(self, values: Array) -> float:
        if values.ndim == 1:
            return float(values[self.row])
        where = {
            self.plants.present.shape[1]: self.circuit,
            self.plants.displacement.shape[1]: self.machine,
            self.plants.set_point.shape[1]: self.group,
        }
        return float(values[self.row, where[values.shape[1]]])
