"""One person at one practice plant: what was read, done and said, entry by entry.

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
from expert.knowledge.model import Caution, Gate, Quantity
from expert.knowledge.where import usual_spot
from expert.physics.air.barometer import barometer
from expert.plant.live import CURVES, LivePlant
from expert.practice.defrost_clock import COIL, DefrostClock
from expert.practice.setting_model import Exercise, PlantAction, PracticeSetting
from expert.procedure.entries import Data, Entry
from expert.units.kinds import Kind
from expert.units.measure import format_value
from expert.units.parse import parse_measure

OVER, SCORED = ("end", "stopped"), "scored"  # entries with which an exercise ends
NOT_HERE = "It cannot be had on this plant."
STARTS_AT = "store"
CALLED_OUT = 1  # minutes of a reading while a defrost runs: two are at it with a radio (own choice)
PAPER_MINUTES = 1  # to look a setting or a paper up (own choice)
Keep = Callable[[Entry], None]


class NeedsCaution(Exception):
    """A caution has to be answered before a reading or an action."""

    def __init__(self, caution: Caution) -> None:
        super().__init__(caution.id)
        self.caution = caution


class Attempt:
    """The plant, the clock, the place, and all that was read and done."""

    def __init__(
        self,
        exercise: Exercise,
        plant: LivePlant,
        setting: PracticeSetting,
        evaluator: Evaluator,
        begun: datetime,
        keep: Keep,
        entries: Iterable[Entry] = (),
        *,
        who: str = "",
        units: str = "us",
    ) -> None:
        self.exercise, self.plant, self.setting = exercise, plant, setting
        self.evaluator, self.rulebase = evaluator, evaluator.rulebase
        self.begun, self.who, self.units = begun, who, units
        self._keep = keep
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
            self._apply(entry)

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
        if self.clock is None:
            return quantity.id in self.plant.told()
        try:
            waits = self.clock.waits(quantity.id)
            return not waits and self.clock.wait_for(quantity.id, self.minutes) == 0
        except ReadingError:
            return False

    # what is done

    def confirm(self, caution: str, *, yes: bool) -> None:
        """Answer a caution."""
        self._append("confirm", {"caution": caution, "answer": "yes" if yes else "no"})

    def read(self, quantity: Quantity) -> Entry:
        """Read something. Raises NeedsCaution first, ReadingError where it cannot be now."""
        self._open()
        known = quantity.derivation is not None
        if known:
            raise ReadingError(f"'{quantity.title}' is worked out, not read: 'think' shows it.")
        if (caution := self.hazards(quantity.cautions)) is not None:
            raise NeedsCaution(caution)
        spot = self.spot_of(quantity)
        if danger := self._entered(spot):
            return self._append("stopped", {"why": danger})
        if self.clock is not None and self.clock.waits(quantity.id):
            self.start_defrost()
        way, effort = self._way(spot), PAPER_MINUTES if quantity.given else quantity.effort
        if self.clock is not None and self.clock.runs(self.minutes):
            way, effort = 0.0, min(effort, CALLED_OUT)
        there = self.minutes + way
        waited = self.clock.wait_for(quantity.id, there) if self.clock else 0.0
        minutes = waited + way + effort
        data = {"quantity": quantity.id, "spot": spot, "minutes": round(minutes, 2)}
        return self._append("read", {**data, **self._value(quantity, there + waited)})

    def act(self, action: PlantAction, amount: str = "") -> Entry:
        """Do something to the plant. Raises NeedsCaution, and ReadingError for a bad amount."""
        self._open()
        value = self._amount(action, amount)
        if action.never:
            return self._append("stopped", {"action": action.id, "why": action.never})
        if (caution := self.hazards(action.cautions)) is not None:
            raise NeedsCaution(caution)
        if danger := self._entered(action.spot, action) or self._unprepared(action):
            return self._append("stopped", {"action": action.id, "why": danger})
        open_gates = [gate.first for gate in self.shut(action)]
        data: dict[str, object] = {
            "action": action.id, "spot": action.spot,
            "minutes": self._way(action.spot) + action.minutes,
        }  # fmt: skip
        if value is not None:
            data |= {"amount": amount, "value": value}
        if open_gates:
            data["unproven"] = open_gates[0]
        before = {stop.id: self.plant.true(stop.value) for stop in self.setting.stops}
        entry = self._append("act", data)
        for stop in self.setting.stops:
            if self.plant.true(stop.value) > max(stop.above, before[stop.id]):
                return self._append("stopped", {"action": action.id, "why": stop.says})
        return entry

    def wait(self, minutes: float) -> None:
        """Let time pass."""
        self._open()
        self._append("wait", {"minutes": minutes})

    def start_defrost(self) -> None:
        """Begin a defrost of the circuit. Raises ReadingError where none is watched."""
        self._open()
        if self.clock is None:
            raise ReadingError("In this exercise no defrost is watched.")
        self._append("defrost", {})

    def say_cause(self, cause: str) -> bool:
        """Say what one holds to be wrong; whether it is."""
        self._open()
        self._append("named", {"cause": cause})
        return cause in self.right

    def ask_tool(self, what: str) -> None:
        """Note that the tool was asked."""
        self._append("hint", {"what": what})

    def finish(self) -> None:
        """End the exercise."""
        if not self.over:
            self._append("end", {})

    # inside

    def _open(self) -> None:
        if self.over:
            raise ReadingError("This exercise is over.")

    def _way(self, spot: str) -> float:
        return 0.0 if spot == self.spot else float(self.setting.walking.get(spot, 0))

    def _entered(self, spot: str, action: PlantAction | None = None) -> str:
        """What comes of entering a place whose alarm is on; '' where it may be entered."""
        alarm = self.exercise.alarm
        if alarm is None or spot != alarm.spot or alarm.until in self.holds:
            return ""
        return self.setting.actions[alarm.until].without

    def _unprepared(self, action: PlantAction) -> str:
        lacking = [name for name in action.needs if name not in self.holds]
        return self.setting.actions[lacking[0]].without if lacking else ""

    def shut(self, action: PlantAction) -> list[Gate]:
        """Gates of the knowledge that are not known to be open for it."""
        gates = [each for each in self.rulebase.gates.values() if each.action == action.gate]
        if not gates:
            return []
        facts, _ = self.evaluator.facts(self.readings, tuple(self.found) if self.changed else None)
        self.evaluator.run(facts)
        return [
            gate for gate in gates
            if gate.never or not all(facts.holds(each) is True for each in gate.needs)
        ]  # fmt: skip

    def _amount(self, action: PlantAction, text: str) -> float | None:
        if not text:
            if action.amount is not None and not action.repairs:
                raise ReadingError(f"Say how much: '{action.title}, 5 lb'.")
            return None
        if action.amount is None:
            raise ReadingError(f"'{action.title}' takes no amount.")
        what = action.amount
        value = parse_measure(text, what.kind, barometer=self.air, system=self.units).value
        if what.kind is Kind.GAUGE_PRESSURE:
            value += float(self.plant.before.plants.barometer[0])
        if what.way != "to" and value <= 0:
            raise ReadingError("An amount is more than nothing.")
        return value if what.way != "take" else -value

    def _value(self, quantity: Quantity, at: float) -> dict[str, object]:
        """What is read, as it would be typed; no text where it cannot be had."""
        for name in self.holds:
            if quantity.id in self.setting.actions[name].gives:
                return {"text": self.setting.actions[name].gives[quantity.id]}
        alarm = self.exercise.alarm
        if alarm is not None and quantity.id == alarm.quantity:
            return {"text": alarm.reads}
        if self.clock is not None and quantity.id == COIL:
            return {"text": self.plant.coil_seen(max(at - self.clock.gas_on, 0.0) * 60)}
        value = self.plant.told().get(quantity.id)
        if self.clock is not None and quantity.id in CURVES:
            seconds = self.clock.gas_seconds(at)
            text = format_value(quantity.kind, self.plant.sample(quantity.id, seconds), self.units)
            return {"text": text, "seconds": round(seconds)}
        if value is None or isinstance(value, tuple):
            return {"text": self.setting.beside.get(quantity.id, "")}
        text = value if isinstance(value, str) else format_value(quantity.kind, value, self.units)
        try:
            accept(quantity, text, self.air, self.units)
        except ReadingError:
            return {"text": ""}
        return {"text": text}

    def _append(self, kind: str, data: Data) -> Entry:
        entry = Entry(len(self.entries) + 1, self.now, kind, "", data, self.who)
        self._keep(entry)
        self._apply(entry)
        if kind in OVER:
            self._append(SCORED, self._score())
        return entry

    def _score(self) -> Data:
        """What the exercise came to, in figures."""
        return {
            "right": any(each in self.right for each in self.named),
            "cured": len(self.cured()), "faults": len(self.exercise.faults),
            "stopped": bool(self.stopped), "spent": round(self.minutes),
            "readings": len(self.read_at), "parts": self.parts,
            "hints": sum(each.kind == "hint" for each in self.entries),
        }  # fmt: skip

    def _apply(self, entry: Entry) -> None:
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
