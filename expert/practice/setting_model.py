"""What exercises are made of: plants, calls, actions, and what stops an exercise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from expert.errors import Place
from expert.knowledge.conditions import Condition
from expert.knowledge.entry_model import NOWHERE
from expert.knowledge.source import Source
from expert.units.kinds import Kind

LEVELS = ("easy", "middle", "hard")
STARTS = BEGINS, GAS_ON, GAS_OFF, COOLING = "defrost begins", "gas on", "gas off", "cooling on"
WAYS = ("to", "add", "take")
APPLICATIONS = ("medium temperature", "low temperature")  # of the plants of the model
VALUES = {"discharge pressure": Kind.GAUGE_PRESSURE, "suction pressure": Kind.GAUGE_PRESSURE,
          "discharge temperature": Kind.TEMPERATURE, "receiver level": Kind.SHARE}  # fmt: skip


@dataclass(frozen=True)
class PlantAmount:
    """What an action turns, sets or charges: a parameter of the plant, typed as a kind.

    `way` is 'to' a value, 'add' to it or 'take' from it.
    """

    parameter: str
    kind: Kind
    way: str


@dataclass(frozen=True)
class PlantAction:
    """Something that can be done to the plant.

    `repairs` are faults that it puts right where they sit. It `holds` until an action that names
    it in `ends`; while it holds, readings in `gives` read so. `needs` names actions that must
    hold; `without` is what comes of it where this one was needed and did not. `never` says why
    it stops every exercise. `gate` is the gated action of the knowledge that it is.
    """

    id: str
    title: str
    spot: str
    minutes: int
    source: Source
    also: tuple[str, ...] = ()
    repairs: tuple[str, ...] = ()
    amount: PlantAmount | None = None
    part: bool = False
    holds: bool = False
    ends: tuple[str, ...] = ()
    gives: Mapping[str, str] = field(default_factory=dict)
    gate: str = ""
    cautions: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    without: str = ""
    never: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class PlantStop:
    """A value of the plant past which the exercise stops [SI, gauge pressure]."""

    id: str
    value: str
    above: float
    says: str
    source: Source
    place: Place = NOWHERE


@dataclass(frozen=True)
class RoomAlarm:
    """A place that may not be entered until an action holds; `reads` is what its meter shows."""

    spot: str
    quantity: str
    reads: str
    until: str


@dataclass(frozen=True)
class Exercise:
    """A plant with what is wrong on it, the call, and what must be shown.

    What is left open ('' or no value) is drawn from the seed. `causes` count as right, each fault
    with its own where it is empty.
    """

    id: str
    title: str
    level: str
    seed: int
    faults: tuple[str, ...]
    severities: tuple[float, ...]
    application: str = ""
    refrigerant: str = ""
    weather: str = ""
    call: str = ""
    shows: tuple[Condition, ...] = ()
    causes: tuple[str, ...] = ()
    teaches: str = ""
    checklist: str = ""
    alarm: RoomAlarm | None = None
    place: Place = NOWHERE


@dataclass(frozen=True)
class RackPart:
    """A part of the rack, and the readings that stand at it in a picture."""

    title: str
    reads: tuple[str, ...]


@dataclass(frozen=True)
class PracticeSetting:
    """All that a pack and those below it have for practice."""

    walking: Mapping[str, int]
    short_names: Mapping[str, tuple[str, ...]]
    beside: Mapping[str, str]
    clocks: Mapping[str, str]
    schematic: tuple[RackPart, ...]
    calls: Mapping[str, tuple[str, ...]]
    stops: tuple[PlantStop, ...]
    also_right: Mapping[str, tuple[str, ...]]
    actions: Mapping[str, PlantAction]
    exercises: Mapping[str, Exercise]

    def right_for(self, fault: str) -> tuple[str, ...]:
        """The causes that count as right for a fault."""
        return self.also_right.get(fault, (fault,))

    def repairs_of(self, cause: str) -> tuple[PlantAction, ...]:
        """The actions that put right what a cause stands for."""
        named = {cause, *(f for f, causes in self.also_right.items() if cause in causes)}
        fits = [each for each in self.actions.values() if named & set(each.repairs)]
        return tuple(sorted(fits, key=lambda each: cause not in each.repairs))
