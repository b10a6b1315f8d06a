"""Where in a plant a fault sits, and where a technician goes who is called to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.random import Generator

from expert.plant.design import Plants
from expert.plant.faults import Fault
from expert.plant.fluid import Array
from expert.plant.solve import SolvedPlants


def places_for(
    plants: Plants, kinds: Array, told: Sequence[Fault], row: int, chance: Generator
) -> dict[str, int] | None:
    """Where in a plant each fault sits; None where one has no place.

    Those of circuits share one.
    """
    found: dict[str, int] = {}
    seats: dict[str, Array] = {}
    for fault in told:
        fit = fault.fits(plants, kinds)[row]
        if fault.at in ("rack", "defrost"):
            if not fit:
                return None
            continue
        fit = seats[fault.at] & fit if fault.at in seats else fit
        seats[fault.at] = fit
        if not fit.any():
            return None
    for fault in told:
        if fault.at in seats:
            spots = np.flatnonzero(seats[fault.at])
            same = [found[f.id] for f in told if f.id in found and f.at == fault.at]
            found[fault.id] = same[0] if same else int(chance.choice(spots))
    return found


def looked_at(
    after: SolvedPlants, before: SolvedPlants, row: int, spot: Mapping[str, int]
) -> tuple[int, int]:
    """The circuit and machine that a technician goes to: the one called for, else the warmest."""
    p = after.plants
    circuit = spot.get("circuit", -1)
    machine = spot.get("compressor", -1)
    if circuit < 0:
        over = after.circuits.discharge_air[row] - before.plants.case_set[row]
        able = p.present[row] > 0
        if machine >= 0:
            able &= p.group_of_circuit[row] == p.group_of_compressor[row, machine]
        if "group" in spot:
            able &= p.group_of_circuit[row] == spot["group"]
        circuit = int(np.argmax(np.where(able, over, -np.inf)))
    if machine < 0:
        own = p.group_of_compressor[row] == p.group_of_circuit[row, circuit]
        machine = int(np.argmax(np.where(own, p.displacement[row], -1.0)))
    return circuit, machine
