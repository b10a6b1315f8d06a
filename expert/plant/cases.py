"""Cases at random: plants, weathers, faults and severities from a seed, and what is read of each.

The same seed gives the same cases. What no reading shows beyond the errors of instruments is told
as not visible; such a case is nobody's to find.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from expert.plant.call import Call
from expert.plant.complaint import ROUTINE, complaint, complaint_of_defrost
from expert.plant.draw import KINDS, Drawn, draw
from expert.plant.faults import faults, put
from expert.plant.fluid import Array
from expert.plant.hot_gas_defrost import DefrostCourse, Defrosts, draw_defrosts, run_defrosts
from expert.plant.read_circuit import read_circuit
from expert.plant.read_defrost import DefrostCall, read_defrost
from expert.plant.read_machine import read_machine
from expert.plant.read_rack import read_rack
from expert.plant.reading_difference import Told, shows
from expert.plant.site_facts import defrosted_by, fitted, height_of
from expert.plant.solve import SolvedPlants, solve
from expert.plant.visit_instruments import Visit
from expert.plant.whereabouts import looked_at, places_for

REFRIGERANTS = {True: ("R-449A", "R-448A", "R-404A", "R-407A"),
                False: ("R-449A", "R-448A", "R-404A", "R-407A", "R-134a")}  # fmt: skip
WORTH_ONE = 150  # so many wishes are worth another refrigerant


@dataclass(frozen=True)
class Wanted:
    """What a case is to hold: faults with severities (none for a healthy plant)."""

    faults: tuple[str, ...]
    severities: tuple[float, ...]
    defrost: bool = False  # a defrost is watched


@dataclass
class Case:
    """A plant that was called for, as facts and readings. SI, words; `has` are fitted devices."""

    faults: tuple[str, ...]
    severities: tuple[float, ...]
    refrigerant: str
    application: str
    case_type: str
    weather: str
    altitude: float
    has: tuple[str, ...]
    readings: Told
    visible: bool
    usual: Told  # the same visit to the same plant in order
    complaint: str  # what is looked at: rack, case or defrost
    defrost: str
    says: str = ROUTINE  # what is complained of, in the words with which a call begins

    @property
    def name(self) -> str:
        """Its faults as one word."""
        return "+".join(self.faults) or "healthy"


@dataclass
class _WantedCase:
    wanted: Wanted
    number: int
    seed: int


def make_cases(seed: int, wanted: Sequence[Wanted]) -> Iterator[Case]:
    """One case for each wish, in another order; a wish that no drawn plant fits is dropped."""
    rng = np.random.default_rng(seed)
    waiting: dict[tuple[str, bool, str], list[_WantedCase]] = {}
    kinds = min(max(len(wanted) // WORTH_ONE, 1), 5)  # a batch holds one refrigerant
    names = {low: rng.permutation(REFRIGERANTS[low])[:kinds] for low in (True, False)}
    for number, each in enumerate(wanted):
        key = _kind_of_plant(each, rng, names)
        job = _WantedCase(each, number, int(rng.integers(2**31)))
        waiting.setdefault(key, []).append(job)
    for key in sorted(waiting):
        jobs = waiting[key]
        for start in range(0, len(jobs), 250):
            yield from _batch(key, jobs[start : start + 250], int(rng.integers(2**31)))


def every_fault(per_fault: int, seed: int, low: float = 0.0, high: float = 1.0,
                only: Sequence[str] = ()) -> list[Wanted]:  # fmt: skip
    """So many wishes for every fault, severities drawn evenly between two."""
    rng = np.random.default_rng(seed)
    return [
        Wanted((name,), (float(rng.uniform(low, high)),), fault.at == "defrost")
        for name, fault in faults().items()
        if not only or name in only
        for _ in range(per_fault)
    ]


def two_faults(count: int, seed: int, low: float = 0.3, high: float = 1.0) -> list[Wanted]:
    """So many wishes for two different faults at once that one kind of weather can show."""
    rng = np.random.default_rng(seed)
    names = [name for name, fault in faults().items() if fault.at != "defrost"]
    wanted: list[Wanted] = []
    while len(wanted) < count:
        one, other = (faults()[str(name)] for name in rng.choice(names, 2, replace=False))
        if set(one.weather) & set(other.weather):
            sizes = (float(rng.uniform(low, high)), float(rng.uniform(low, high)))
            wanted.append(Wanted((one.id, other.id), sizes))
    return wanted


def _kind_of_plant(
    wanted: Wanted, rng: Generator, names: Mapping[bool, Array]
) -> tuple[str, bool, str]:
    told = [faults()[name] for name in wanted.faults]
    weathers = [w for w in ("hot", "mild", "cold") if all(w in f.weather for f in told)]
    low = bool(rng.random() < 0.5)
    for fault in told:
        for wish in (fault.needs or {}).get("low_temperature", ()):
            low = wish > 0
    name = str(rng.choice(names[low]))
    return name, low, str(rng.choice(weathers or ["mild"]))


def _batch(key: tuple[str, bool, str], jobs: list[_WantedCase], seed: int) -> Iterator[Case]:
    name, low, weather = key
    drawn = draw(seed, 5 * len(jobs) + 10, name, low_temperature=low, weather=weather)
    rows, places, kept = _seats(drawn, jobs)
    if not rows:
        return
    paper = drawn.plants.take(np.array(rows))
    kinds = drawn.kinds[np.array(rows)]
    before = solve(paper)
    plants = paper.copy()
    for row, job in enumerate(kept):
        chance = np.random.default_rng(job.seed + 1)
        for one, severity in zip(job.wanted.faults, job.wanted.severities, strict=True):
            sign = float(chance.choice([-1.0, 1.0]))
            if faults()[one].at != "defrost":
                put(plants, before, faults()[one], row, places[row].get(one, 0), severity, sign)
    after = solve(plants)
    good = before.solved & after.solved
    watched = _defrosts(before, after, kept, seed) if any(j.wanted.defrost for j in kept) else None
    for row, job in enumerate(kept):
        if good[row]:
            seen = watched if job.wanted.defrost else None
            yield _case(key, job, before, after, row, kinds, places[row], seen)


@dataclass
class _WatchedBatch:
    """The defrosts of a batch: as they should be, and with their faults."""

    circuits: Array
    paper: Defrosts
    usual: DefrostCourse
    defrosts: Defrosts
    course: DefrostCourse


def _defrosts(
    before: SolvedPlants, after: SolvedPlants, jobs: Sequence[_WantedCase], seed: int
) -> _WatchedBatch:
    """One defrost of each plant, of a circuit drawn at random."""
    rng = np.random.default_rng(seed + 7)
    here = before.plants.present.sum(axis=1)
    circuits = np.floor(rng.random(len(jobs)) * here).astype(int)
    paper = draw_defrosts(before, circuits, seed)
    found = draw_defrosts(after, circuits, seed)
    for row, job in enumerate(jobs):
        for one, severity in zip(job.wanted.faults, job.wanted.severities, strict=True):
            if faults()[one].at == "defrost":
                put(found, before, faults()[one], row, 0, severity)
    return _WatchedBatch(circuits, paper, run_defrosts(paper), found, run_defrosts(found))


def _seats(
    drawn: Drawn, jobs: list[_WantedCase]
) -> tuple[list[int], list[dict[str, int]], list[_WantedCase]]:
    """A plant for each job in which its faults have a place; faults of circuits share one."""
    plants, free = drawn.plants, list(range(drawn.plants.count))
    rows: list[int] = []
    places: list[dict[str, int]] = []
    kept: list[_WantedCase] = []
    for job in jobs:
        chance = np.random.default_rng(job.seed)
        told = [faults()[name] for name in job.wanted.faults]
        for row in free:
            found = places_for(plants, drawn.kinds, told, row, chance)
            if found is not None:
                free.remove(row)
                rows.append(row)
                places.append(found)
                kept.append(job)
                break
    return rows, places, kept


def _case(
    key: tuple[str, bool, str], job: _WantedCase, before: SolvedPlants, after: SolvedPlants,
    row: int, kinds: Array, places: Mapping[str, int], watched: _WatchedBatch | None,
) -> Case:  # fmt: skip
    told = [faults()[name] for name in job.wanted.faults]
    spot = {fault.at: places[fault.id] for fault in told if fault.id in places}
    chosen = looked_at(after, before, row, spot)
    taken: Told
    usual: Told
    if watched is None:
        says = complaint(after, before, row, *chosen)
        taken = _readings(after, before, row, chosen, kinds, job.seed)
        usual = _readings(before, before, row, chosen, kinds, job.seed)
    else:
        chosen = (int(watched.circuits[row]), chosen[1])
        says = _of_defrost(watched, row)
        taken, usual = _seen_in_defrost(after, before, row, chosen, kinds, job.seed, watched)
    plants = after.plants
    return Case(
        job.wanted.faults, job.wanted.severities, key[0],
        "low temperature" if key[1] else "medium temperature",
        KINDS[int(kinds[row, chosen[0]])].name, key[2], height_of(plants, row),
        fitted(plants, row, chosen[0]), taken,
        shows(taken, usual), usual,
        _complaint(taken, spot, watched),
        defrosted_by(key[1] or watched is not None, plants, row, chosen[0], job.seed),
        says,
    )  # fmt: skip


def _of_defrost(watched: _WatchedBatch, row: int) -> str:
    course, defrosts = watched.course, watched.defrosts
    left = float(course.left[row].sum() / defrosts.frost[row])
    by_clock = bool(course.by_sensor[row] < 1)
    return complaint_of_defrost(left, by_clock, float(defrosts.drain_blocked[row]))


def _readings(
    state: SolvedPlants,
    before: SolvedPlants,
    row: int,
    chosen: tuple[int, int],
    kinds: Array,
    seed: int,
) -> Told:
    call = Call(state, before, row, *chosen, kinds, Visit(np.random.default_rng(seed + 2)))
    read_rack(call)
    read_machine(call)
    read_circuit(call)
    return dict(call.readings)


def _complaint(taken: Told, spot: Mapping[str, int], watched: _WatchedBatch | None) -> str:
    if watched is not None:
        return "defrost"
    return "case" if "circuit" in spot or taken["warm_scope"] == "one circuit" else "rack"


def _seen_in_defrost(
    after: SolvedPlants, before: SolvedPlants, row: int, chosen: tuple[int, int], kinds: Array,
    seed: int, watched: _WatchedBatch,
) -> tuple[Told, Told]:  # fmt: skip
    def told(state: SolvedPlants, defrosts: Defrosts, course: DefrostCourse) -> Told:
        call = Call(state, before, row, *chosen, kinds, Visit(np.random.default_rng(seed + 2)))
        return read_defrost(DefrostCall(call, defrosts, watched.paper, course))

    found = told(after, watched.defrosts, watched.course)
    return found, told(before, watched.paper, watched.usual)
