"""Reads the folders practice/ of a pack and those below it, and checks every name in them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeVar

from expert.errors import PackError, Place, nearest
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_files import practice_files
from expert.knowledge.where import SPOTS
from expert.knowledge.yaml_nodes import Node, read_yaml
from expert.plant.faults import faults
from expert.practice.read_action import read_action
from expert.practice.read_exercise import read_exercise
from expert.practice.setting_keys import (
    BESIDE,
    CALL,
    CLOCK,
    PART,
    RIGHT,
    SECTIONS,
    SHORT,
    STOP,
    WALK,
)
from expert.practice.setting_model import (
    STARTS,
    VALUES,
    Exercise,
    PlantAction,
    PlantStop,
    PracticeSetting,
    RackPart,
)
from expert.practice.setting_reader import SettingReader

T = TypeVar("T", PlantAction, PlantStop, Exercise)


def load_practice(folder: Path | None, rulebase: Rulebase) -> PracticeSetting:
    """What a pack and the packs below it have for practice.

    Raises PackError with every problem found, each with its line and the nearest name.
    """
    reader = SettingReader(rulebase)
    found = _Practice(reader)
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

    def __init__(self, reader: SettingReader) -> None:
        self.reader, self.rulebase = reader, reader.rulebase
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
            "actions": lambda n: self._add(self.actions, read_action(self.reader, n)),
            "exercises": lambda n: self._add(self.exercises, read_exercise(self.reader, n)),
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
            self.short_names[word] = self.reader.names(got.fields["reads"], "reading", known)

    def _beside(self, node: Node) -> None:
        if got := self.reader.entry(node, BESIDE):
            name, word = (self.reader.text(got.fields[key], key) for key in BESIDE.names)
            self.reader.choice(name, word, got.fields["reads"])
            self.beside[name] = word

    def _clock(self, node: Node) -> None:
        if got := self.reader.entry(node, CLOCK):
            name = self.reader.text(got.fields["clock"], "clock")
            self.clocks[name] = self.reader.word(got.fields["starts"], "moment", STARTS)

    def _part(self, node: Node) -> None:
        if got := self.reader.entry(node, PART):
            title = self.reader.text(got.fields["part"], "part")
            reads = self.reader.names(got.fields["reads"], "reading", self.rulebase.quantities)
            self.parts.append(RackPart(title, reads))

    def _call(self, node: Node) -> None:
        if got := self.reader.entry(node, CALL):
            name = self.reader.text(got.fields["complaint"], "complaint")
            self.reader.choice("complaint", name, got.fields["complaint"])
            self.calls[name] = self.reader.texts(got.fields["says"], "says")

    def _also_right(self, node: Node) -> None:
        if got := self.reader.entry(node, RIGHT):
            name = self.reader.one(got.fields["fault"], "fault", faults())
            causes = self.reader.names(got.fields["causes"], "cause", self.rulebase.causes)
            if name in self.rights:
                message = f"What counts for '{name}' is already there."
                self.reader.problem("duplicate-id", message, got.place, "Make one entry of them.")
            self.rights[name] = causes

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
