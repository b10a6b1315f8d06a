"""What the equations answer when one state of the plant is moved: the signs of influences.

`python tests/plant/signs.py` prints, for every influence of the rulebase that can be tried, in how
many plants what follows moves the way that is said, the other way, or not beyond a trifle.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parents[1])]

import numpy as np
import yaml

from expert.places import shipped
from expert.plant.draw import draw
from expert.plant.fluid import Array, fluid
from expert.plant.solve import SolvedPlants, solve

LEVERS = Path(__file__).parent / "levers.yaml"
INFLUENCES = Path("plant") / "influences.yaml"
BATCHES = (("R-448A", True, "hot"), ("R-404A", False, "mild"))
COUNT = 14
# Arrows of plants of another kind; the equations are those of a rack with a receiver.
OTHER_KINDS = {"plant_kind is single unit", "receiver_fitted is no"}
# What is less than this is no answer [K, share, Pa by what the state is].
TRIFLE = {"ratio": 0.02, "receiver_level": 0.01, "capacity_in_use": 0.01, "valve_opening": 0.01,
          "regulator_opening": 0.01}  # fmt: skip
PRESSURES = ("coil_pressure", "suction", "liquid_at_valve", "liquid_drop", "condenser_drop")


def states(s: SolvedPlants) -> dict[str, Array]:
    """Numbers for states of the plant (P,), each rising with its state."""
    f, c, first = fluid(s.plants.refrigerant), s.circuits, 0
    side, valves = s.liquid, s.liquid.valves
    here = s.plants.present > 0
    others = np.where(here, c.superheat, np.nan)[:, 1:]
    at_valve = f.bubble_t(valves.pressure) - valves.temperature - 100 * valves.quality
    return {
        "head": f.dew_t(s.discharge) - s.plants.outdoor,
        "ratio": s.machines.ratio[:, 0],
        "discharge_temperature": s.machines.discharge_temperature[:, 0],
        "condenser_subcooling": f.bubble_t(side.receiver) - s.high.leaving,
        "condenser_drop": s.discharge - side.receiver,
        "condenser_surface": s.high.part * (1 - s.high.flooded),
        "receiver_level": s.charge.level,
        "liquid_drop": side.receiver - side.header,
        "liquid_cold": f.bubble_t(side.header) - side.header_temperature,
        "liquid_solid": f.bubble_t(side.header) - side.header_temperature
        - 100 * side.header_quality,
        "branch_liquid_solid": at_valve[:, first],
        "liquid_at_valve": (valves.pressure - c.coil_pressure)[:, first],
        "coil_feed": -c.superheat[:, first],
        "other_coils_feed": -np.nanmean(others, axis=1),
        "case_warmth": c.discharge_air[:, first],
        "product_warmth": c.return_air[:, first],
        "coil_pressure": c.after_coil[:, first],
        "coil_ice": c.latent[:, first] / 100.0,
        "valve_opening": (c.opening / s.plants.valve_most)[:, first],  # as it is told to stand
        "regulator_opening": c.regulator_opening[:, first],
        "suction": s.header[:, 0],
        "capacity_in_use": s.running[:, 0],
        "return_gas_warmth": s.machines.return_temperature[:, 0],
    }  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """Plants in which a state rose, fell, or stayed when another one was raised."""

    rose: int
    fell: int
    stayed: int


def answers(batches: int = len(BATCHES), count: int = COUNT) -> dict[tuple[str, str], Answer]:
    """(moved state, state that answers) over the first batches, sign made that of a rise."""
    levers = yaml.safe_load(LEVERS.read_text(encoding="utf-8"))["levers"]
    counts: dict[tuple[str, str], list[int]] = {}
    for number, (name, low, weather) in enumerate(BATCHES[:batches]):
        plants = draw(600 + number, count, name, low_temperature=low, weather=weather).plants
        before = solve(plants)
        usual = states(before)
        # all levers in one batch, the plants anew for each: a solution costs little more for many
        others = plants.take(np.tile(np.arange(count), len(levers)))
        rows = {moved: slice(n * count, (n + 1) * count) for n, moved in enumerate(levers)}
        for moved, lever in levers.items():
            _pull(others, lever, rows[moved])
        after = solve(others)
        moved_states = states(after)
        for moved, lever in levers.items():
            good = before.solved & after.solved[rows[moved]]
            for answered, values in moved_states.items():
                change = values[rows[moved]] - usual[answered]
                change = change * (1 if lever["raises"] else -1)
                least = 600.0 if answered in PRESSURES else TRIFLE.get(answered, 0.15)
                told = counts.setdefault((moved, answered), [0, 0, 0])
                told[0] += int((good & (change > least)).sum())
                told[1] += int((good & (change < -least)).sum())
                told[2] += int((good & (np.abs(change) <= least)).sum())
    return {pair: Answer(*each) for pair, each in counts.items()}


def _pull(plants: Any, lever: Mapping[str, Any], rows: slice) -> None:
    values = getattr(plants, lever["parameter"])
    spot: Any = (rows, 0) if lever.get("at") == "circuit" else rows
    if "to" in lever:
        values[spot] = lever["to"]
    elif "times" in lever:
        values[spot] = values[spot] * lever["times"]
    else:
        values[spot] = values[spot] + lever["add"]


def influences() -> list[dict[str, Any]]:
    """The influences of the shipped rulebase, as they stand in its file; none without one."""
    path = shipped("rulebase") / INFLUENCES
    if not path.exists():
        return []
    return list(yaml.safe_load(path.read_text(encoding="utf-8"))["influences"])


def held(found: Mapping[tuple[str, str], Answer]) -> Iterator[tuple[dict[str, Any], Answer]]:
    """Every influence that can be tried, with what the plants answered."""
    for each in influences():
        answer = found.get((each["from"], each["to"]))
        of_this_plant = not OTHER_KINDS & set(each.get("when", ()))
        if answer is not None and each["from"] != each["to"] and of_this_plant:
            yield each, answer


def main() -> int:
    """Print every influence that can be tried."""
    for each, answer in held(answers()):
        right, wrong = answer.rose, answer.fell
        if each["moves"] != "with":
            right, wrong = wrong, right
        mark = "  *" if wrong > right else ""
        print(f"{each['from']:24} {each['moves']:8} {each['to']:24} "
              f"as said {right:3}, against {wrong:3}, still {answer.stayed:3}{mark}")  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
