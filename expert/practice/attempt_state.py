"""Where an attempt stands: the plant, the clock, the place, and what its entries made of them.

An attempt is its list of entries. Played again from them it stands where it was left: the plant
follows from its wish and what was done to it, the time from the minutes of each entry.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Reading
from expert.inference.subject_file import accept
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Quantity
from expert.knowledge.where import usual_spot
from expert.physics.air.barometer import barometer
from expert.plant.live import LivePlant
from expert.practice.defrost_clock import DefrostClock
from expert.practice.setting_model import Exercise, PracticeSetting
from expert.procedure.entries import Data, Entry
from expert.units.kinds import Kind

STARTS_AT = "store"


class AttemptState:
    """The plant, the clock, the place, and all that was read and done."""

    def __init__(
        self,
        exercise: Exercise,
        plant: LivePlant,
        setting: PracticeSetting,
        evaluator: Evaluator,
        begun: datetime,
        entries: Iterable[Entry] = (),
        *,
        who: str = "",
        units: str = "us",
    ) -> None:
        self.exercise, self.plant, self.setting = exercise, plant, setting
        self.evaluator, self.rulebase = evaluator, evaluator.rulebase
        self.begun, self.who, self.units = begun, who, units
        self.entries: list[Entry] = []
        self.minutes = 0.0
        self.spot = STARTS_AT
        self.found: list[Reading] = []  # before anything was changed
        self.left: list[Reading] = []  # since the last change
        self.read_at: dict[int, Reading] = {}  # by the number of its entry
        self.confirmed: set[str] = set()
        self.holds: set[str] = set()
        self.named: list[str] = []
        self.parts = 0
        self.charged = 0.0  # kg put in less taken out
        self.unproven: list[str] = []
        self.stopped = ""
        self.over = False
        self.air = barometer(plant.altitude)
        self.told_at_call = plant.told()
        self.clock = DefrostClock(plant) if plant.defrosting is not None else None
        for entry in entries:
            self.apply(entry)

    # what follows

    @property
    def now(self) -> datetime:
        """The time of day in the exercise."""
        return self.begun + timedelta(minutes=self.minutes)

    @property
    def changed(self) -> bool:
        """Whether anything on the plant was changed yet."""
        return self.plant.changes > 0

    @property
    def readings(self) -> tuple[Reading, ...]:
        """What is known of the plant as it is now."""
        return tuple(self.left if self.changed else self.found)

    @property
    def right(self) -> frozenset[str]:
        """The causes that count as right."""
        own = (cause for fault in self.exercise.faults for cause in self.setting.right_for(fault))
        return frozenset(self.exercise.causes or own)

    @property
    def not_here(self) -> frozenset[str]:
        """The quantities that this plant does not tell."""
        told = {*self.told_at_call, *self.setting.beside}
        if self.exercise.alarm is not None:
            told.add(self.exercise.alarm.quantity)
        return frozenset(self.rulebase.quantities.keys() - told)

    def evaluation(self) -> Evaluation:
        """What the tool makes of what was read since the last change."""
        says = self.plant.complained() if self.changed else self.plant.says
        call = Reading("complaint", says or "nothing")
        found = (call, *self.found) if self.changed else None
        return self.evaluator.evaluate((call, *self.readings), found)

    def cured(self) -> tuple[str, ...]:
        """The faults that are put right."""
        return tuple(each for each in self.exercise.faults if self.plant.cured(each))

    def hazards(self, cautions: Iterable[str]) -> Caution | None:
        """The first caution that was not answered yet."""
        return next((self.rulebase.cautions[c] for c in cautions if c not in self.confirmed), None)

    def spot_of(self, quantity: Quantity) -> str:
        """Where one stands for a reading; the meter of an alarm hangs before its door."""
        alarm = self.exercise.alarm
        if alarm is not None and alarm.quantity == quantity.id:
            return self.spot
        return quantity.spot or usual_spot(quantity.subject)

    def at_hand(self, quantity: Quantity) -> bool:
        """Whether it can be read now, without waiting for the defrost."""
        if quantity.id not in self.plant.told() or self.clock is None:
            return quantity.id in self.plant.told()
        try:
            waits = self.clock.waits(quantity.id)
            return not waits and self.clock.wait_for(quantity.id, self.minutes) == 0
        except ReadingError:
            return False

    def score(self) -> Data:
        """What the exercise came to, in figures."""
        return {
            "right": any(each in self.right for each in self.named),
            "cured": len(self.cured()), "faults": len(self.exercise.faults),
            "stopped": bool(self.stopped), "spent": round(self.minutes),
            "readings": len(self.read_at), "parts": self.parts,
            "hints": sum(each.kind == "hint" for each in self.entries),
        }  # fmt: skip

    # what an entry makes of it

    def apply(self, entry: Entry) -> None:
        """What an entry makes of it."""
        self.entries.append(entry)
        minutes = entry.data.get("minutes", 0.0)
        self.minutes += float(minutes) if isinstance(minutes, int | float) else 0.0
        self.spot = entry.text("spot") or self.spot
        then: Mapping[str, Callable[[Entry], None]] = {
            "confirm": self._confirmed, "read": self._was_read, "act": self._was_done,
            "stopped": self._was_stopped, "defrost": self._defrost_began,
            "named": lambda e: self.named.append(e.text("cause")), "end": self._ended,
        }  # fmt: skip
        if entry.kind in then:
            then[entry.kind](entry)

    def _confirmed(self, entry: Entry) -> None:
        if entry.text("answer") == "yes":
            self.confirmed.add(entry.text("caution"))

    def _was_read(self, entry: Entry) -> None:
        quantity = self.rulebase.quantities[entry.text("quantity")]
        if not entry.text("text"):
            return
        reading = accept(quantity, entry.text("text"), self.air, self.units)
        seconds = entry.data.get("seconds")
        if isinstance(seconds, int | float):
            reading = replace(reading, seconds=float(seconds))
        if self.changed:
            reading = replace(reading, stage="as left", round=1)
        self.read_at[entry.seq] = reading
        into = self.left if self.changed else self.found
        if reading.seconds is None:
            into[:] = [each for each in into if each.quantity != reading.quantity]
        into.append(reading)

    def _was_done(self, entry: Entry) -> None:
        action = self.setting.actions[entry.text("action")]
        before = self.plant.changes
        value = entry.data.get("value")
        if isinstance(value, int | float) and action.amount is not None:
            way = "to" if action.amount.way == "to" else "add"
            self.plant.move(action.amount.parameter, way, float(value))
            if action.amount.kind is Kind.MASS:
                self.charged += float(value)
        else:
            for fault in action.repairs:
                self._repair(fault)
        self.holds = (self.holds - set(action.ends)) | ({action.id} if action.holds else set())
        self.parts += action.part
        if why := entry.text("unproven"):
            self.unproven.append(f"{action.title}: {why}")
        if self.plant.changes != before:
            self.left = []
            if self.clock is not None:
                self.clock.stop()

    def _repair(self, fault: str) -> None:
        """Put a fault right that is there, or would have moved the same; nothing else."""
        charge = self.plant.value("charge")
        if fault in self.exercise.faults:
            self.plant.repair(fault)
        self.charged += self.plant.value("charge") - charge

    def _was_stopped(self, entry: Entry) -> None:
        self.stopped = entry.text("why")
        self.over = True

    def _defrost_began(self, entry: Entry) -> None:
        assert self.clock is not None
        self.clock.begin(self.minutes)

    def _ended(self, entry: Entry) -> None:
        self.over = True
