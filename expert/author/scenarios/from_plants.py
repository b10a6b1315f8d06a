"""Plants of the model as whole cases: what is read of each, and the fault that was put in.

A plant in order must lead to nothing. The same seed gives the same cases.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from expert.author.scenarios.read import Expectation, Scenario
from expert.errors import Place, ReadingError
from expert.inference.evaluation_model import Reading
from expert.inference.subject_file import SubjectFile, accept
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.physics.air.barometer import barometer
from expert.plant.cases import Case, Wanted, every_fault, make_cases
from expert.plant.faults import faults
from expert.plant.reading_difference import Told
from expert.units.measure import format_value

SEED = 60101
LEAST = 0.34  # severity, of 1: below it a fault is just visible (own choice)
_IN_ORDER = 4  # one plant of so many is in order
_NAMED = 3  # plants for each cause that is looked at


def plant_scenarios(
    rulebase: Rulebase, count: int, causes: Collection[str] = (), seed: int = SEED
) -> Iterator[Scenario]:
    """About `count` plants, a fourth of them in order, the causes in question among the faults.

    A fault that no reading shows, and a wish that no drawn plant fits, are left out.
    """
    for number, case in enumerate(make_cases(seed, _wishes(count, causes, seed)), 1):
        if not case.faults or case.visible:
            yield _scenario(case, number, rulebase)


def _wishes(count: int, causes: Collection[str], seed: int) -> list[Wanted]:
    healthy = count // _IN_ORDER
    faulty = count - healthy
    named = [name for name in causes if name in faults()]
    wanted = every_fault(_NAMED, seed, low=LEAST, only=named)[: faulty // 2] if named else []
    others: list[Wanted] = []
    while len(wanted) + len(others) < faulty:
        others += every_fault(1, seed + len(others), low=LEAST)
    step = max(len(others) // max(faulty - len(wanted), 1), 1)
    wanted += others[::step][: faulty - len(wanted)]
    return [*wanted, *[Wanted((), ())] * healthy]


def _scenario(case: Case, number: int, rulebase: Rulebase) -> Scenario:
    altitude = altitude_of(case)
    subject = Subject(
        "call", "a call", "rack" if case.complaint == "rack" else "circuit", "",
        facts_of(case), altitude, has=case.has,
    )  # fmt: skip
    made = readings_of(case.readings, altitude, rulebase.quantities)
    given = SubjectFile(subject, tuple(each for several in made.values() for each in several))
    expect = Expectation(first=case.faults[0]) if case.faults else Expectation(none=True)
    title = f"plant {number}: {case.name}"
    return Scenario(title, Source("computed: a model of a rack"), given, expect, Place(title))


def facts_of(case: Case) -> dict[str, str]:
    """The kind of plant, as a file of readings says it."""
    return {"application": case.application, "refrigerant": case.refrigerant,
            "case_type": case.case_type, "defrost": case.defrost}  # fmt: skip


def altitude_of(case: Case) -> float:
    """The altitude as a store's papers have it [m]."""
    return round(case.altitude, -2)


def readings_of(
    told: Told, altitude: float, quantities: Mapping[str, Quantity]
) -> dict[str, tuple[Reading, ...]]:
    """Readings as they are typed, by quantity; what the program refuses to take is not there."""
    air = barometer(altitude)
    made: dict[str, tuple[Reading, ...]] = {}
    for name, value in told.items():
        quantity = quantities.get(name)
        if quantity is None or quantity.derivation is not None:
            continue
        if isinstance(value, tuple):
            made[name] = tuple(_series(quantity, value, air))
            continue
        text = value if isinstance(value, str) else format_value(quantity.kind, value, "us")
        try:
            made[name] = (accept(quantity, text, air),)
        except ReadingError:
            continue
    return made


def _series(
    quantity: Quantity, samples: Sequence[tuple[float, float]], air: float
) -> Iterator[Reading]:
    for seconds, value in samples:
        text = format_value(quantity.kind, value, "us")
        yield replace(accept(quantity, text, air), seconds=seconds)
