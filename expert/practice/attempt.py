"""One person at one practice plant: reading, doing, saying; each kept before it counts."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import accept
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Gate, Quantity
from expert.plant.live import CURVES, LivePlant
from expert.practice.attempt_state import AttemptState
from expert.practice.defrost_clock import COIL
from expert.practice.setting_model import Exercise, PlantAction, PracticeSetting
from expert.procedure.entries import Data, Entry
from expert.units.kinds import Kind
from expert.units.measure import Measure, format_measure, format_value
from expert.units.parse import parse_measure

OVER, SCORED = ("end", "stopped"), "scored"  # entries with which an exercise ends
NOT_HERE = "It cannot be had on this plant."
CALLED_OUT = 1  # minutes of a reading while a defrost runs: two are at it with a radio (own choice)
PAPER_MINUTES = 1  # to look a setting or a paper up (own choice)
Keep = Callable[[Entry], None]


class NeedsCaution(Exception):
    """A caution has to be answered before a reading or an action."""

    def __init__(self, caution: Caution) -> None:
        super().__init__(caution.id)
        self.caution = caution


class Attempt(AttemptState):
    """What a person does in it. `keep` returns only when an entry cannot be lost any more."""

    def __init__(
        self, exercise: Exercise, plant: LivePlant, setting: PracticeSetting,
        evaluator: Evaluator, begun: datetime, keep: Keep, entries: Iterable[Entry] = (), *,
        who: str = "", units: str = "us",
    ) -> None:  # fmt: skip
        self._keep = keep
        super().__init__(exercise, plant, setting, evaluator, begun, entries, who=who, units=units)

    # what is done

    def confirm(self, caution: str, *, yes: bool) -> None:
        """Answer a caution."""
        self._append("confirm", {"caution": caution, "answer": "yes" if yes else "no"})

    def read(self, quantity: Quantity) -> Entry:
        """Read something. Raises NeedsCaution first, ReadingError where it cannot be now."""
        self._open()
        if quantity.derivation is not None:
            raise ReadingError(self._worked_out(quantity))
        if quantity.id in self.not_here:
            raise ReadingError(NOT_HERE)
        if self.clock is not None and not self.clock.waits(quantity.id):
            self.clock.wait_for(quantity.id, self.minutes)  # too late is told before hazards
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
        if danger := self._entered(action.spot) or self._unprepared(action):
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

    def _worked_out(self, quantity: Quantity) -> str:
        """The value of what is worked out, or what has to be read for it."""
        assert quantity.derivation is not None
        known = self.evaluation().known.get(quantity.id)
        if known is not None and isinstance(known.value, Measure):
            return f"{quantity.title}, worked out: {format_measure(known.value, self.units)}"
        have = {each.quantity for each in self.readings}
        lacking = [
            each.title for name in quantity.derivation.rests_on
            if name not in have and (each := self.rulebase.quantities[name])
        ]  # fmt: skip
        return f"'{quantity.title}' is worked out. Read for it: {'; '.join(lacking)}."

    def _open(self) -> None:
        if self.over:
            raise ReadingError("This exercise is over.")

    def _way(self, spot: str) -> float:
        return 0.0 if spot == self.spot else float(self.setting.walking.get(spot, 0))

    def _entered(self, spot: str) -> str:
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
                raise ReadingError(f"Say how much: 'do {action.title}, 5 lb'.")
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
        self.apply(entry)
        if kind in OVER:
            self._append(SCORED, self.score())
        return entry
