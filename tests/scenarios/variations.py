"""Cases made of the library's: readings moved, dropped, answered otherwise, two cases in one.

Half of them start from a case in which everything was looked at, so that gates open often enough
to be tried. The same seed gives the same cases.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from random import Random

from expert.author.scenarios.read import Scenario
from expert.inference.evaluation_model import Reading
from expert.inference.subject_file import accept
from expert.knowledge.model import Quantity
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure

SEA_LEVEL = 101325.0  # Pa
# Invented for these tests: a rack on which all that the gates ask for was looked at.
LOOKED_AT = {
    "case_sight_glass": "clear",
    "circuit_mode": "cooling",
    "circuits_pumped_down": "none",
    "condenser_face": "clean",
    "condenser_mode": "full",
    "discharge_header_pressure_at_rest": "205 psig",
    "drier_pressure_drop": "1 psi",
    "drop_leg_temperature": "84 F",
    "evaporator_superheat": "14 F",
    "expansion_valve_bulb": "tight and insulated",
    "fans_in_cooling": "all turning",
    "frost_before": "even",
    "heat_reclaim": "off",
    "hot_gas_valve": "open",
    "leak_back": "excluded",
    "liquid_line_cold_spot": "none",
    "opening_section": "isolated and empty",
    "other_circuits_defrosting": "0",
    "outdoor_temperature": "76 F",
    "part_signal": "present",
    "rack_steady": "yes",
    "receiver_pressure": "200 psig",
    "second_test": "agrees",
    "sight_glass": "clear",
    "standing_liquid_drop": "2 psi",
    "starved_coils": "free of ice",
}
# What may stand in its place or beside it, each at times.
AT_TIMES = {
    "co2_charging_pressure": ("120 psig",),
    "co2_flash_tank_level": ("10 %",),
    "defrost_differential": ("9 psi",),
    "discharge_header_pressure_at_rest": ("120 psig",),
    "head_raised": ("all came right", "nothing changed"),
    "outdoor_temperature": ("20 F",),
    "receiver_pressure": ("118 psig",),
    "refrigerant_identity": ("as labelled", "mixed or other"),
    "room_carbon_dioxide": ("600",),
    "stopped_condenser_gap": ("7 F",),
}
LEVELS = ("5 %", "8 %", "12 %", "40 %", "88 %", "92 %")  # also invented
Case = tuple[Scenario, tuple[Reading, ...]]


def variations(
    library: Sequence[Scenario], quantities: Mapping[str, Quantity], count: int, seed: str
) -> Iterator[Case]:
    """So many cases; each is a subject of the library with other readings.

    The library is gone through in an order of its own, so that a case more leaves the rest alone.
    """
    order = sorted(library, key=lambda each: sha256(_name(each).encode()).digest())
    for number in range(count):
        scenario = order[number % len(order)]
        chance = Random(f"{seed} {number // len(order)} {_name(scenario)}")
        readings = list(scenario.given.readings)
        if chance.random() < 0.15:
            readings = _joined(readings, chance.choice(library).given.readings)
        if chance.random() < 0.6:
            readings = _completed(readings, quantities, chance)
        for _ in range(chance.randrange(4)):
            if readings:
                _changed(readings, quantities, chance)
        yield scenario, tuple(readings)


def _name(scenario: Scenario) -> str:
    return Path(scenario.place.path).name


def _joined(readings: Sequence[Reading], others: Sequence[Reading]) -> list[Reading]:
    there = {reading.quantity for reading in readings}
    more = (r for r in others if r.quantity not in there and not r.subject)
    return [*readings, *more]


def _completed(
    readings: Sequence[Reading], quantities: Mapping[str, Quantity], chance: Random
) -> list[Reading]:
    """With everything looked at; at times in place of what the case says."""
    told = dict(LOOKED_AT)
    for name, texts in AT_TIMES.items():
        if chance.random() < 0.25:
            told[name] = chance.choice(texts)
    level = chance.choice(LEVELS)
    told |= {"receiver_level": level, "receiver_level_by_touch": level}
    keep_own = chance.random() < 0.5
    own = {reading.quantity for reading in readings}
    made = [
        accept(quantities[name], text, SEA_LEVEL)
        for name, text in told.items()
        if not (keep_own and name in own)
    ]
    names = {reading.quantity for reading in made}
    return [*(r for r in readings if r.quantity not in names), *made]


def _changed(readings: list[Reading], quantities: Mapping[str, Quantity], chance: Random) -> None:
    index = chance.randrange(len(readings))
    reading = readings[index]
    quantity = quantities[reading.quantity]
    if chance.random() < 0.3:
        del readings[index]
    elif isinstance(reading.value, Measure):
        readings[index] = replace(reading, value=_moved(reading.value, quantity, chance))
    elif quantity.is_choice:
        other = chance.choice(list(quantity.choices))
        readings[index] = replace(reading, value=other, text=other)


def _moved(value: Measure, quantity: Quantity, chance: Random) -> Measure:
    """A few units up or down, or a fifth; a count by whole steps, and only what may be entered."""
    if value.kind is Kind.COUNT and abs(value.value) < 50:
        other = value.value + chance.choice((-2, -1, 1, 2))
    else:
        unit = abs(unit_for(value.kind, "us").factor)
        other = value.value + chance.uniform(-1, 1) * max(12 * unit, 0.2 * abs(value.value))
    low, high = quantity.refuse_below, quantity.refuse_above
    other = other if low is None else max(other, low)
    return replace(value, value=other if high is None else min(other, high))
