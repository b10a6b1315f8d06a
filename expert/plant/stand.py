"""Finds the plant of a wish: drawn from its seed, holding its faults, with something to see."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from expert.plant.cases import REFRIGERANTS
from expert.plant.complaint import complaint
from expert.plant.design import Plants
from expert.plant.draw import Drawn, draw
from expert.plant.faults import WEATHERS, Fault, faults, put
from expert.plant.fluid import Array
from expert.plant.hot_gas_defrost import draw_defrosts, run_defrosts
from expert.plant.live import LivePlant, PlantWish, WatchedDefrost
from expert.plant.solve import SolvedPlants, solve
from expert.plant.whereabouts import looked_at, places_for

TRIES, ROWS, AT_ONCE = 8, 200, 40


def drawn_wish(
    seed: int, names: Sequence[str], severity: tuple[float, float], weather: str, count: int
) -> PlantWish:
    """A wish that a seed names: so many of these faults, as severe as between two numbers.

    Several go together only where one weather can show them all, and none with one of a defrost.
    """
    rng = np.random.default_rng(seed)
    order = [str(each) for each in rng.permutation(np.array(names))]
    chosen = [order[0]]
    for name in order[1:]:
        if len(chosen) >= count:
            break
        if _together([*chosen, name]):
            chosen.append(name)
    sizes = tuple(float(rng.uniform(*severity)) for _ in chosen)
    return PlantWish(int(rng.integers(2**31)), tuple(chosen), sizes, weather=weather)


def _together(names: Sequence[str]) -> bool:
    told = [faults()[name] for name in names]
    if any(fault.at == "defrost" for fault in told):
        return False
    needs = [fault.needs or {} for fault in told]
    clash = any(
        set(one[key]).isdisjoint(other[key])
        for one in needs for other in needs for key in one.keys() & other.keys()
    )  # fmt: skip
    return not clash and bool(set.intersection(*(set(fault.weather) for fault in told)))


def stand(wish: PlantWish) -> LivePlant | None:
    """The plant of a wish: the same wish gives the same plant. None where none can show it.

    One that somebody would call for is preferred; else it is met on a routine visit.
    """
    rng = np.random.default_rng(wish.seed)
    told = [faults()[name] for name in wish.faults]
    routine: LivePlant | None = None
    for turn in range(TRIES):
        low = bool(rng.random() < 0.5)
        for wanted in (each for f in told for each in (f.needs or {}).get("low_temperature", ())):
            low = wanted > 0
        low = wish.application == "low temperature" if wish.application else low
        name = wish.refrigerant or str(rng.choice(REFRIGERANTS[low]))
        fit = [w for w in WEATHERS if all(w in fault.weather for fault in told)]
        weather = str(rng.choice(fit or ["mild"]))
        sub = int(rng.integers(2**31))
        drawn = draw(sub, ROWS, name, low_temperature=low, weather=wish.weather or weather)
        for plant in _candidates(wish, drawn, told, sub):
            if plant.says or not told:
                return plant
            routine = routine or plant
        if routine is not None and turn >= 1:
            break
    return routine


def _candidates(
    wish: PlantWish, drawn: Drawn, told: Sequence[Fault], sub: int
) -> Iterator[LivePlant]:
    """Plants of a batch that hold the faults and show something, those called for first."""
    chance = np.random.default_rng(sub)
    seats = [
        (row, found)
        for row in range(drawn.plants.count)
        if (found := places_for(drawn.plants, drawn.kinds, told, row, chance)) is not None
    ][:AT_ONCE]
    if not seats:
        return
    batch = drawn.plants.take(np.array([row for row, _ in seats]))
    before, plants = solve(batch), batch.copy()
    sign = float(np.random.default_rng(sub + 1).choice([-1.0, 1.0]))
    for number, (_, places) in enumerate(seats):
        _put(wish, plants, before, told, number, places, sign)
    after = solve(plants, near=before)
    calls: list[int] = []
    for number, (row, places) in enumerate(seats):
        if before.solved[number] and after.solved[number]:
            kinds = drawn.kinds[row : row + 1]
            at = looked_at(after, before, number, _spot(told, places))
            says = wish.defrost or complaint(after, before, number, *at)
            calls += [number] if says and not kinds[0, at[0]] < 0 else []
    rest = [n for n in range(len(seats)) if before.solved[n] and after.solved[n]]
    for number in dict.fromkeys((*calls[:2], *rest[:1])):
        row, places = seats[number]
        alone = solve(drawn.plants.take(np.array([row])))
        plant = _with_faults(wish, alone, drawn.kinds[row : row + 1], places, sub, sign)
        if plant is not None and plant.solved and alone.solved[0]:
            yield plant


def _put(
    wish: PlantWish, plants: Plants, before: SolvedPlants, told: Sequence[Fault], row: int,
    places: Mapping[str, int], sign: float,
) -> None:  # fmt: skip
    for fault, severity in zip(told, wish.severities, strict=True):
        if fault.at != "defrost":
            put(plants, before, fault, row, places.get(fault.id, 0), severity, sign)


def _spot(told: Sequence[Fault], places: Mapping[str, int]) -> dict[str, int]:
    return {fault.at: places[fault.id] for fault in told if fault.id in places}


def _with_faults(
    wish: PlantWish,
    before: SolvedPlants,
    kinds: Array,
    places: Mapping[str, int],
    sub: int,
    sign: float,
) -> LivePlant | None:
    plants = before.plants.copy()
    told = [faults()[name] for name in wish.faults]
    _put(wish, plants, before, told, 0, places, sign)
    after = solve(plants, near=before)
    circuit, machine = looked_at(after, before, 0, _spot(told, places))
    plant = LivePlant(wish, before, after, kinds, circuit, machine, places, "")
    if wish.defrost:
        plant.defrosting = _defrosting(plant, told, sub)
    plant.says = plant.complained()
    for fault in told:
        for change in fault.changes:
            plant.wrong[fault.id, change.parameter] = plant.value(change.parameter)
    return plant if not told or plant.odd() else None


def _defrosting(plant: LivePlant, told: Sequence[Fault], sub: int) -> WatchedDefrost:
    circuits = np.array([plant.circuit])
    paper = draw_defrosts(plant.before, circuits, sub)
    found = draw_defrosts(plant.state, circuits, sub)
    for fault, severity in zip(told, plant.wish.severities, strict=True):
        if fault.at == "defrost":
            put(found, plant.before, fault, 0, 0, severity)
    return WatchedDefrost(paper, found, run_defrosts(paper), run_defrosts(found))
