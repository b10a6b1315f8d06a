"""How an exercise begins: drawn or written, its plant found, its call put into words."""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from datetime import datetime
from functools import lru_cache

from expert.errors import UsageError
from expert.inference.evaluate import Evaluator
from expert.inference.make_engine import Backend
from expert.knowledge.model import Rulebase
from expert.knowledge.site import SiteValue, Subject
from expert.plant.faults import faults
from expert.plant.live import LivePlant, PlantWish
from expert.plant.stand import drawn_wish, stand
from expert.practice.attempt import Attempt, Keep
from expert.practice.setting_model import APPLICATIONS, LEVELS, Exercise, PracticeSetting
from expert.procedure.entries import Entry
from expert.units.kinds import Kind
from expert.units.measure import format_value

SEVERITIES = {"slight": (0.1, 0.4), "middle": (0.4, 0.7), "gross": (0.7, 1.0), "any": (0.2, 1.0)}
RACK = "A"
CALLS_SOUGHT = 5  # plants that a seed may go through until somebody calls for one (own choice)
EASY_FROM = 0.6  # severity from which a drawn fault is easy (own choice)


def drawn_exercise(
    setting: PracticeSetting, rulebase: Rulebase, seed: int, *, kind: str = "",
    severity: str = "any", weather: str = "", count: int = 1,
) -> Exercise:  # fmt: skip
    """A plant that a seed names, with so many faults that can be put right in practice.

    `kind` is an application, or a part of the plant as causes name theirs. A plant for which
    somebody would call is preferred. Raises UsageError where nothing fits.
    """
    can = {fault for action in setting.actions.values() for fault in action.repairs}
    names = sorted(
        name for name, fault in faults().items()
        if name in can and (not weather or weather in fault.weather)
        and (not kind or kind in APPLICATIONS or rulebase.causes[name].system == kind)
    )  # fmt: skip
    if not names:
        raise UsageError(f"No fault of the model fits: {kind or 'any kind'}, {weather or 'any'}.")
    application = kind if kind in APPLICATIONS else ""
    drawn: list[Exercise] = []
    for turn in range(CALLS_SOUGHT):
        more = seed + turn * 1_000_003
        wish = drawn_wish(more, names, SEVERITIES[severity], weather, count)
        sizes = wish.severities
        level = 2 if len(wish.faults) > 1 else 1 if min(sizes) < EASY_FROM else 0
        drawn.append(
            Exercise(
                f"seed-{seed}", f"A plant drawn by seed {seed}", LEVELS[level], wish.seed,
                wish.faults, sizes, application, weather=weather,
            )
        )  # fmt: skip
        plant = _found(_wish(drawn[-1]))
        if plant is not None and plant.says:
            return drawn[-1]
    return drawn[0]


def systems(setting: PracticeSetting, rulebase: Rulebase) -> tuple[str, ...]:
    """The parts of the plant that a drawn fault can belong to."""
    can = {fault for action in setting.actions.values() for fault in action.repairs}
    return tuple(sorted({rulebase.causes[name].system for name in can if name in rulebase.causes}))


def plant_of(exercise: Exercise) -> LivePlant:
    """The plant of an exercise. Raises UsageError where the model has none that shows it."""
    plant = _found(_wish(exercise))
    if plant is None:
        raise UsageError(f"No plant of the model shows what '{exercise.id}' wants; another seed?")
    return deepcopy(plant)


def _wish(exercise: Exercise) -> PlantWish:
    return PlantWish(
        exercise.seed, exercise.faults, exercise.severities, exercise.application,
        exercise.refrigerant, exercise.weather,
    )  # fmt: skip


@lru_cache(maxsize=32)
def _found(wish: PlantWish) -> LivePlant | None:
    return stand(wish)


def begin_attempt(
    exercise: Exercise, setting: PracticeSetting, rulebase: Rulebase, begun: datetime, keep: Keep,
    entries: Iterable[Entry] = (), *, who: str = "", units: str = "us", backend: Backend = "plain",
    plant: LivePlant | None = None,
) -> Attempt:  # fmt: skip
    """An attempt at an exercise, new or from its entries; `plant` is one that was found already.

    Raises UsageError.
    """
    plant = plant or plant_of(exercise)
    evaluator = Evaluator(rulebase, subject_of(plant, rulebase), system=units, backend=backend)
    return Attempt(
        exercise, plant, setting, evaluator, begun, keep, entries, who=who, units=units
    )  # fmt: skip


def circuit_name(plant: LivePlant) -> str:
    """The circuit that is looked at: 'A3'."""
    return f"{RACK}{plant.circuit + 1}"


def subject_of(plant: LivePlant, rulebase: Rulebase) -> Subject:
    """The circuit with what the store's papers say of it."""
    facts = {"application": plant.application, "refrigerant": plant.refrigerant,
             "case_type": plant.case_type, "defrost": plant.defrost}  # fmt: skip
    papers = {}
    for name, value in plant.told().items():
        quantity = rulebase.quantities.get(name)
        if quantity is not None and quantity.given and not isinstance(value, tuple):
            text = value if quantity.kind in (Kind.CHOICE, Kind.TEXT) else ""
            shown = str(text) or format_value(quantity.kind, float(value))
            papers[name] = SiteValue(name, value, shown)
    name = circuit_name(plant)
    return Subject(
        name, f"circuit {name}", "circuit", RACK, facts, plant.altitude, papers, has=plant.has
    )  # fmt: skip


def call_of(attempt: Attempt) -> str:
    """The call in plain words."""
    plant = attempt.plant
    sentences = attempt.setting.calls.get(plant.says or "nothing", ())
    said = attempt.exercise.call or (
        sentences[plant.wish.seed % len(sentences)] if sentences else ""
    )
    told = {"case": plant.case_type, "circuit": circuit_name(plant), "rack": RACK,
            "weather": attempt.exercise.weather or plant.weather}  # fmt: skip
    for name, word in told.items():
        said = said.replace(f"{{{name}}}", word)
    return said
