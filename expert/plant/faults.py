"""Faults as data: which parameters of the plant each one moves, and how far for a severity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from expert.plant.design import FOOT, PSI, Plants
from expert.plant.fluid import Array
from expert.plant.hot_gas_defrost import Defrosts
from expert.plant.solve import SolvedPlants

WEATHERS = ("hot", "mild", "cold")
_UNITS = {"": (1.0, 0.0), "psi": (PSI, 0.0), "F": (5 / 9, 459.67 * 5 / 9), "ft": (FOOT, 0.0),
          "F_difference": (5 / 9, 0.0)}  # fmt: skip
_LIQUID = 1080.0  # kg/m3 in a receiver, near enough to turn a share of it into an amount
DOORS = (0, 1, 3, 8)  # kinds of case with doors, of draw.KINDS


@dataclass(frozen=True)
class Change:
    """One parameter moved: to, times, add, receiver_to, receiver, of_flow, of_valve."""

    parameter: str
    how: str
    low: float
    high: float
    unit: str = ""
    whole: bool = False
    either: bool = False


@dataclass(frozen=True)
class Fault:
    """A fault: where it sits, in what weather it can show, and what it moves."""

    id: str
    at: str
    changes: tuple[Change, ...]
    marks: Mapping[str, tuple[float, float]]
    weather: tuple[str, ...] = WEATHERS
    needs: Mapping[str, tuple[float, ...]] | None = None
    kinds: str = ""

    def fits(self, plants: Plants, kinds: Array) -> Array:
        """Where it can be put: (P,), (P, g), (P, k) or (P, c) by its place."""
        count = plants.count
        fit = {
            "rack": np.ones(count, dtype=bool),
            "defrost": np.ones(count, dtype=bool),
            "group": np.arange(plants.set_point.shape[1])[None, :] == np.zeros((count, 1)),
            "compressor": plants.displacement > 0,
            "circuit": plants.present > 0,
        }[self.at]
        for name, allowed in (self.needs or {}).items():
            values = getattr(plants, name)
            if values.ndim == 1 and fit.ndim == 2:
                values = values[:, None]
            fit = fit & np.isin(values, allowed)
        if self.kinds:
            fit = fit & (np.isin(kinds, DOORS) == (self.kinds == "doors"))
        return np.asarray(fit)


def _read(entry: Mapping[str, Any]) -> Fault:
    changes = []
    for one in entry.get("change", ()):
        how = next(key for key in one if key not in ("parameter", "unit", "round", "way"))
        low, high = one[how]
        changes.append(
            Change(
                one["parameter"],
                how,
                float(low),
                float(high),
                one.get("unit", ""),
                bool(one.get("round")),
                one.get("way") == "either",
            )
        )
    needs = {
        name: tuple(float(v) for v in (value if isinstance(value, list) else [value]))
        for name, value in entry.get("needs", {}).items()
    }
    marks = {name: (float(a), float(b)) for name, (a, b) in entry.get("marks", {}).items()}
    return Fault(
        entry["id"],
        entry["at"],
        tuple(changes),
        marks,
        tuple(entry.get("weather", WEATHERS)),
        needs or None,
        entry.get("kinds", ""),
    )


@cache
def faults() -> Mapping[str, Fault]:
    """Every fault by its id, in the order of the file."""
    import yaml

    text = resources.files("expert.plant").joinpath("faults.yaml").read_text("utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    entries: Sequence[Mapping[str, Any]] = yaml.load(text, Loader=loader)["faults"]  # noqa: S506
    return {entry["id"]: _read(entry) for entry in entries}


def put(
    plants: Plants | Defrosts,
    healthy: SolvedPlants,
    fault: Fault,
    row: int,
    place: int,
    severity: float,
    sign: float = 1.0,
) -> None:
    """Put a fault into one plant (or defrost) of a batch, in place; `healthy` is solved without it.

    `place` is the group, compressor or circuit; `severity` 0 (just visible) to 1 (gross); `sign`
    says which way a fault goes that may go either way.
    """
    at: Any = row if fault.at in ("rack", "defrost") else (row, place)
    for change in fault.changes:
        values = getattr(plants, change.parameter)
        spot: Any = row if values.ndim == 1 else at
        size = change.low + severity * (change.high - change.low)
        if change.whole:
            size = float(round(size))
        if change.either:
            size *= sign
        factor, offset = _UNITS[change.unit]
        if change.how == "to":
            values[spot] = size * factor + offset
        elif change.how == "times":
            values[spot] = values[spot] * size
        elif change.how == "add":
            values[spot] = values[spot] + size * factor
        elif change.how == "receiver_to":
            lack = size - float(healthy.charge.level[row])
            values[spot] += lack * healthy.plants.receiver_volume[row] * _LIQUID
        elif change.how == "receiver":
            values[spot] = size * healthy.plants.receiver_volume[row] * _LIQUID
        elif change.how == "of_flow":
            values[spot] = size * healthy.circuits.flow_on[row, place]
        elif change.how == "of_valve":
            values[spot] = size * healthy.plants.valve_area[row, place] * 0.5
        else:
            raise ValueError(f"{fault.id}: no way of changing is called {change.how}")
    shapes = {
        "rack": "outdoor", "group": "set_point", "compressor": "displacement",
        "defrost": "load",
    }  # fmt: skip
    for name, (low, high) in fault.marks.items():
        shape = shapes.get(fault.at, "present")
        plants.marks.setdefault(name, np.zeros_like(getattr(plants, shape)))
        plants.marks[name][at] = low + severity * (high - low)
