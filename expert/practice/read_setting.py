"""Reads the folders practice/ of a pack and those below it, and checks every name in them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import TypeVar

from expert.errors import PackError, Place, nearest
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_files import practice_files
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.where import SPOTS
from expert.knowledge.yaml_nodes import Fields, Items, Node, read_yaml
from expert.plant.cases import REFRIGERANTS
from expert.plant.defrost import Defrosts
from expert.plant.design import Plants
from expert.plant.faults import WEATHERS, faults
from expert.practice.setting_keys import (
    ACTION,
    ALARM,
    AMOUNT,
    BESIDE,
    CALL,
    CLOCK,
    EXERCISE,
    FAULT,
    PART,
    PLANT,
    RIGHT,
    SECTIONS,
    SHORT,
    STOP,
    WALK,
)
from expert.practice.setting_model import (
    LEVELS,
    STARTS,
    WAYS,
    Exercise,
    PlantAction,
    PlantAmount,
    PlantStop,
    PracticeSetting,
    RackPart,
    RoomAlarm,
)
from expert.units.kinds import Kind

VALUES = {"discharge pressure": Kind.GAUGE_PRESSURE, "suction pressure": Kind.GAUGE_PRESSURE,
          "discharge temperature": Kind.TEMPERATURE, "receiver level": Kind.SHARE}  # fmt: skip
_PARAMETERS = tuple(f.name for kind in (Plants, Defrosts) for f in fields(kind))
APPLICATIONS = ("medium temperature", "low temperature")  # of the plants of the model


T = TypeVar("T", PlantAction, PlantStop, Exercise)


def load_practice(folder: Path | None, rulebase: Rulebase) -> PracticeSetting:
    """What a pack and the packs below it have for practice.

    Raises PackError with every problem found, each with its line and the nearest name.
    """
    reader = Reader()
    found = _Practice(reader, rulebase)
    for path in practice_files(folder):
        try:
            root = reader.fields(read_yaml(path), "a file of exercises", SECTIONS)
        except PackError as error:
            reader.problems.extend(error.problems)
            continue
        for name, node in (root.fields if root else {}).items():
            if name in SECTIONS:
                for item in reader.items(node, name):
                    found.take(name, item)
    setting = found.setting()
    found.check(setting)
    if reader.problems:
        raise PackError(sorted(set(reader.problems), key=lambda problem: problem.place))
    return setting


class _Practice:
    """What was read so far."""

    def __init__(self, reader: Reader, rulebase: Rulebase) -> None:
        self.reader, self.rulebase = reader, rulebase
        self.walking: dict[str, int] = {}
        self.short_names: dict[str, tuple[str, ...]] = {}
        self.beside: dict[str, str] = {}
        self.clocks: dict[str, str] = {}
        self.parts: list[RackPart] = []
        self.calls: dict[str, tuple[str, ...]] = {}
        self.rights: dict[str, tuple[str, ...]] = {}
        self.stops: dict[str, PlantStop] = {}
        self.actions: dict[str, PlantAction] = {}
        self.exercises: dict[str, Exercise] = {}

    def setting(self) -> PracticeSetting:
        """All of it."""
        return PracticeSetting(
            self.walking, self.short_names, self.beside, self.clocks, tuple(self.parts), self.calls,
            tuple(self.stops.values()), self.rights, self.actions, self.exercises,
        )  # fmt: skip

    def take(self, section: str, node: Node) -> None:
        """Read one entry of a section."""
        read: Mapping[str, Callable[[Node], None]] = {
            "walking": self._walk, "short_names": self._short,
            "beside": self._beside, "clocks": self._clock, "schematic": self._part,
            "calls": self._call,
            "also_right": self._also_right,
            "stops": lambda n: self._add(self.stops, self._stop(n)),
            "actions": lambda n: self._add(self.actions, self._action(n)),
            "exercises": lambda n: self._add(self.exercises, self._exercise(n)),
        }  # fmt: skip
        read[section](node)

    def _add(self, to: dict[str, T], one: T | None) -> None:
        if one is None:
            return
        if one.id in to:
            first = to[one.id].place
            message = f"'{one.id}' is already there ({first.path}:{first.line})."
            self.reader.problem("duplicate-id", message, one.place, "Choose another id.")
            return
        to[one.id] = one

    def _walk(self, node: Node) -> None:
        if got := self.reader.entry(node, WALK):
            spot = self.reader.word(got.fields["to"], "place", SPOTS)
            self.walking[spot] = self.reader.whole(got.fields["minutes"], "minutes", 0, 120, 0)
            self.reader.source(got.fields["source"], "the way")

    def _short(self, node: Node) -> None:
        if got := self.reader.entry(node, SHORT):
            word = self.reader.text(got.fields["word"], "word").lower()
            known = self.rulebase.quantities
            self.short_names[word] = self._names(got.fields["reads"], "reading", known)

    def _beside(self, node: Node) -> None:
        if got := self.reader.entry(node, BESIDE):
            name, word = (self.reader.text(got.fields[key], key) for key in BESIDE.names)
            self._choice(name, word, got.fields["reads"])
            self.beside[name] = word

    def _clock(self, node: Node) -> None:
        if got := self.reader.entry(node, CLOCK):
            name = self.reader.text(got.fields["clock"], "clock")
            self.clocks[name] = self.reader.word(got.fields["starts"], "moment", STARTS)

    def _part(self, node: Node) -> None:
        if got := self.reader.entry(node, PART):
            title = self.reader.text(got.fields["part"], "part")
            known = self.rulebase.quantities
            self.parts.append(RackPart(title, self._names(got.fields["reads"], "reading", known)))

    def _call(self, node: Node) -> None:
        if got := self.reader.entry(node, CALL):
            name = self.reader.text(got.fields["complaint"], "complaint")
            self._choice("complaint", name, got.fields["complaint"])
            self.calls[name] = self.reader.texts(got.fields["says"], "says")

    def _also_right(self, node: Node) -> None:
        if got := self.reader.entry(node, RIGHT):
            name = self.reader.text(got.fields["fault"], "fault")
            self._known(name, faults(), "fault", got.fields["fault"])
            self.rights[name] = self._names(got.fields["causes"], "cause", self.rulebase.causes)

    def _stop(self, node: Node) -> PlantStop | None:
        if (got := self.reader.entry(node, STOP)) is None:
            return None
        value = self.reader.word(got.fields["value"], "value of the plant", VALUES)
        if not value:
            return None
        above = self.reader.measure(got.fields["above"], "above", VALUES[value])
        says = self.reader.text(got.fields["says"], "says")
        source = self.reader.source(got.fields["source"], "the stop")
        name = self.reader.text(got.fields["id"], "id")
        return None if above is None else PlantStop(name, value, above, says, source, got.place)

    def _action(self, node: Node) -> PlantAction | None:
        if (got := self.reader.entry(node, ACTION)) is None:
            return None
        take, text = got.fields.get, self.reader.text
        gives = take("gives")
        given: dict[str, str] = {}
        for name, word in (gives.fields if isinstance(gives, Fields) else {}).items():
            given[name] = text(word, name)
            self._choice(name, given[name], word)
        return PlantAction(
            id=text(take("id"), "id"),
            title=text(take("title"), "title"),
            spot=self.reader.word(take("place"), "place", SPOTS),
            minutes=self.reader.whole(take("minutes"), "minutes", 1, 1000, 1),
            source=self.reader.source(take("source"), "the action"),
            also=self.reader.texts(take("also"), "also"),
            repairs=self._names(take("repairs"), "fault", faults()),
            amount=self._amount(take("amount")),
            part=text(take("part"), "part", "no") == "yes",
            holds=text(take("holds"), "holds", "no") == "yes",
            ends=self.reader.texts(take("ends"), "ends"),
            gives=given,
            gate=self._one(take("gate"), "gated action",
                           {g.action for g in self.rulebase.gates.values()}),
            cautions=self._names(take("cautions"), "caution", self.rulebase.cautions),
            needs=self.reader.texts(take("needs"), "needs"),
            without=self.reader.text(take("without"), "without"),
            never=self.reader.text(take("never"), "never"),
            place=got.place,
        )  # fmt: skip

    def _amount(self, node: Node | None) -> PlantAmount | None:
        if node is None or (got := self.reader.entry(node, AMOUNT)) is None:
            return None
        parameter = self._one(got.fields["parameter"], "parameter of the plant", _PARAMETERS)
        kind = self.reader.word(got.fields["kind"], "kind", [each.value for each in Kind])
        way = self.reader.word(got.fields["way"], "way", WAYS)
        return PlantAmount(parameter, Kind(kind), way) if parameter and kind and way else None

    def _exercise(self, node: Node) -> Exercise | None:
        if (got := self.reader.entry(node, EXERCISE)) is None:
            return None
        take, text = got.fields.get, self.reader.text
        if (plant := self.reader.entry(take("plant"), PLANT)) is None:
            return None
        known = {name for each in REFRIGERANTS.values() for name in each}
        names, sizes = self._faults(take("faults"))
        return Exercise(
            id=text(take("id"), "id"),
            title=text(take("title"), "title"),
            level=self.reader.word(take("level"), "level", LEVELS),
            seed=self.reader.whole(plant.fields["seed"], "seed", 0, 999_999_999, 0),
            faults=names,
            severities=sizes,
            application=self.reader.word(
                plant.fields.get("application"), "application", APPLICATIONS),
            refrigerant=self._one(
                plant.fields.get("refrigerant"), "refrigerant of the model", known),
            weather=self.reader.word(plant.fields.get("weather"), "weather", WEATHERS),
            call=self.reader.text(take("call"), "call"),
            shows=tuple(
                resolve(each, self.rulebase.quantities, self.rulebase.signs, self.reader)
                for each in self.reader.conditions(take("shows"), "'shows'")),
            causes=self._names(take("causes"), "cause", self.rulebase.causes),
            teaches=self.reader.text(take("teaches"), "teaches"),
            checklist=text(take("checklist"), "checklist"),
            alarm=self._alarm(take("alarm")),
            place=got.place,
        )  # fmt: skip

    def _faults(self, node: Node | None) -> tuple[tuple[str, ...], tuple[float, ...]]:
        names, sizes = [], []
        for item in self.reader.items(node, "'faults'"):
            if got := self.reader.entry(item, FAULT):
                name = self._one(got.fields["fault"], "fault", faults())
                share = self.reader.measure(got.fields["severity"], "severity", Kind.SHARE)
                if name in faults() and share is not None:
                    names.append(name)
                    sizes.append(share)
                    if not 0 <= share <= 1:
                        message = "A severity is 0 % (just visible) to 100 % (gross)."
                        self.reader.problem("severity", message, got.fields["severity"].place)
        where = {faults()[name].at == "defrost" for name in names}
        if len(where) > 1 and node is not None:
            message = "A fault of a defrost and one that shows while cooling cannot be together."
            self.reader.problem("faults", message, node.place, "Make two exercises of them.")
        return tuple(names), tuple(sizes)

    def _alarm(self, node: Node | None) -> RoomAlarm | None:
        if node is None or (got := self.reader.entry(node, ALARM)) is None:
            return None
        spot = self.reader.word(got.fields["place"], "place", SPOTS)
        name = self._one(got.fields["reading"], "reading", self.rulebase.quantities)
        reads = self.reader.text(got.fields["reads"], "reads")
        self._choice(name, reads, got.fields["reads"])
        return RoomAlarm(spot, name, reads, self.reader.text(got.fields["until"], "until"))

    def check(self, setting: PracticeSetting) -> None:
        """Names of actions, once all are read."""
        for action in setting.actions.values():
            for name in (*action.needs, *action.ends):
                self._is_action(name, setting, action.place)
            for name in action.needs:
                if (held := setting.actions.get(name)) and not (held.holds and held.without):
                    message = f"'{name}' is needed, and lacks 'holds: yes' or 'without: ...'."
                    self.reader.problem("needs", message, held.place)
        for exercise in setting.exercises.values():
            if exercise.alarm is not None:
                self._is_action(exercise.alarm.until, setting, exercise.place)

    def _is_action(self, name: str, setting: PracticeSetting, place: Place) -> None:
        if name not in setting.actions:
            hint = nearest(name, setting.actions)
            self.reader.problem("unknown-name", f"There is no action '{name}'.", place, hint)

    def _choice(self, name: str, word: str, node: Node) -> None:
        quantity = self.rulebase.quantities.get(name)
        choices = quantity.choices if quantity else ()
        if quantity is None:
            self._known(name, self.rulebase.quantities, "reading", node)
        else:
            self._known(word, choices, f"choice of {name}", node)

    def _one(self, node: Node | None, what: str, known: Iterable[str]) -> str:
        name = self.reader.text(node, what)
        if node is not None:
            self._known(name, known, what, node)
        return name

    def _names(self, node: Node | None, what: str, known: Iterable[str]) -> tuple[str, ...]:
        names = [each for each in known]
        found = []
        for item in node.items if isinstance(node, Items) else (node,) if node else ():
            name = self.reader.text(item, what)
            self._known(name, names, what, item)
            found.append(name)
        return tuple(found)

    def _known(self, name: str, known: Iterable[str], what: str, node: Node) -> None:
        names = list(known)
        if name not in names:
            hint = nearest(name, names)
            self.reader.problem("unknown-name", f"There is no {what} '{name}'.", node.place, hint)
