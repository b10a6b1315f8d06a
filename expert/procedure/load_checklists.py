"""From checklist files to checked checklists; every problem is reported in one go."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from functools import cached_property
from pathlib import Path

from expert.errors import PackError, Problem, nearest
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.yaml_nodes import parse_yaml, text_of
from expert.made_when_used import altered, dataclass
from expert.procedure.calls import placed
from expert.procedure.check_checklist import check_checklist
from expert.procedure.check_order import check_order
from expert.procedure.check_stops import check_stops
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.pack_steps import changes_hash, tell_whose, with_pack_steps
from expert.procedure.read_checklist import read_checklist


def load_checklist(path: Path, rulebase: Rulebase, beside: Iterable[Path] = ()) -> Checklist:
    """The checked checklist of a file, with those it calls from its folder and those `beside`.

    Raises PackError with every problem found.
    """
    return _Folders((path.parent, *beside), rulebase).load(path)


def load_checklists(folders: Path | Sequence[Path], rulebase: Rulebase) -> dict[str, Checklist]:
    """Every checklist of some folders by its id. Raises PackError with the problems of all files.

    Folders inside them are not searched: they hold sites and answers.
    """
    places = (folders,) if isinstance(folders, Path) else tuple(folders)
    files = _Folders(places, rulebase)
    found: dict[str, Checklist] = {}
    problems: dict[Problem, None] = {}
    lost = False
    for path in (each for place in places for each in sorted(place.glob("*.yaml"))):
        try:
            checklist = files.load(path)
        except PackError as error:
            problems.update(dict.fromkeys(error.problems))
            lost = True
            continue
        if checklist.id in found:
            message = f"'{checklist.id}' is already in {found[checklist.id].place.path}."
            hint = "Choose another id; a pack changes a checklist with 'add_steps:'."
            problems[Problem("duplicate-id", message, checklist.place, hint)] = None
        found[checklist.id] = checklist
    if not lost:
        for change in rulebase.step_changes:
            if change.checklist not in found:
                message = f"There is no checklist '{change.checklist}'."
                hint = nearest(change.checklist, found)
                problems[Problem("unknown-checklist", message, change.place, hint)] = None
    if problems:
        raise PackError(sorted(problems, key=lambda problem: problem.place))
    return found


def parse_checklist(text: str, path: str, rulebase: Rulebase) -> Checklist:
    """The checked checklist of a text that calls no other; `path` is only for messages."""
    return _Folders((), rulebase).checked(_Read.of(text, path), ())


@dataclass
class _Read:
    """A file as read, not yet held against anything."""

    text: str
    reader: Reader
    checklist: Checklist | None

    @classmethod
    def of(cls, text: str, path: str) -> _Read:
        reader = Reader()
        return cls(text, reader, read_checklist(parse_yaml(text, path), reader))


class _Folders:
    """The checklists of some folders. Each is read and checked once, however often it is called."""

    def __init__(self, folders: Sequence[Path], rulebase: Rulebase) -> None:
        self._folders = tuple(dict.fromkeys(folders))
        self._rulebase = rulebase
        self._files: dict[Path, _Read] = {}
        self._checked: dict[Path, Checklist | PackError] = {}

    def load(self, path: Path, callers: tuple[str, ...] = ()) -> Checklist:
        """The checked checklist of a file. Raises PackError."""
        if path not in self._checked:
            try:
                self._checked[path] = self.checked(self._read(path), callers)
            except PackError as error:
                self._checked[path] = error
        found = self._checked[path]
        if isinstance(found, PackError):
            raise found
        return found

    def checked(self, read: _Read, callers: tuple[str, ...]) -> Checklist:
        """The checklist held against the rulebase and with those it calls. Raises PackError."""
        reader, checklist = read.reader, read.checklist
        problems: list[Problem] = []
        if checklist is not None:
            checklist = with_pack_steps(checklist, self._rulebase, reader)
            changes = [x for x in self._rulebase.step_changes if x.checklist == checklist.id]
            chain = (*callers, checklist.id)
            phases = []
            for phase in checklist.phases:
                held = _resolved(phase, self._rulebase, reader)
                steps = tuple(self._called(each, chain, reader, problems) for each in held.steps)
                steps = tuple(self._handed(each, reader) for each in steps)
                phases.append(altered(held, steps=steps))
            text_hash = changes_hash(_hash(read.text, phases), changes)
            checklist = altered(checklist, phases=tuple(phases), hash=text_hash)
            before = len(reader.problems)
            check_checklist(checklist, self._rulebase, reader)
            check_order(checklist, self._rulebase, reader)
            check_stops(checklist, self._rulebase, reader)
            tell_whose(checklist, changes, reader.problems[before:], reader)
        problems += reader.problems
        if problems or checklist is None:
            raise PackError(sorted(set(problems), key=lambda problem: problem.place))
        return checklist

    def _called(
        self, step: Step, chain: tuple[str, ...], reader: Reader, problems: list[Problem]
    ) -> Step:
        """A call with its checklist in place; any other step as it is."""
        if step.type != "call" or not step.text:
            return step
        if step.text in chain:
            circle = " -> ".join((*chain[chain.index(step.text) :], step.text))
            message = f"The call comes back to where it started: {circle}."
            reader.problem("call-circle", message, step.place)
            return step
        path = self._path_of(step.text)
        if path is None:
            message = f"There is no checklist '{step.text}'."
            reader.problem("unknown-checklist", message, step.place, nearest(step.text, self._ids))
            return step
        try:
            return placed(self.load(path, chain), step)
        except PackError as error:
            problems += error.problems
            return step

    def _handed(self, step: Step, reader: Reader) -> Step:
        """A search with the checklists that it hands over to, without their phases."""
        if not step.hands_over:
            return step
        known = {name for c in self._rulebase.causes.values() for name in (c.id, c.system)}
        for name in step.hands_over:
            if name not in known:
                message = f"There is no cause or system '{name}'."
                reader.problem("unknown-cause", message, step.place, nearest(name, known))
        handed = {
            name: tuple(found for each in listed if (found := self._head(each, reader)))
            for name, listed in step.hands_over.items()
        }
        return altered(step, hands_over=handed)

    def _head(self, named: Checklist, reader: Reader) -> Checklist | None:
        """A checklist of the folder by its id, without its phases."""
        path = self._path_of(named.id)
        found = self._read(path).checklist if path is not None else None
        if found is None:
            message = f"There is no checklist '{named.id}'."
            hint = nearest(named.id, self._ids)
            reader.problem("unknown-checklist", message, named.place, hint)
            return None
        return altered(found, phases=())

    def _path_of(self, checklist_id: str) -> Path | None:
        """The file of an id; the one named after it is looked at first."""
        for folder in self._folders:
            own = folder / f"{checklist_id}.yaml"
            if own.is_file() and self._id(own) == checklist_id:
                return own
        return self._ids.get(checklist_id)

    @cached_property
    def _ids(self) -> dict[str, Path]:
        paths = [path for folder in self._folders for path in sorted(folder.glob("*.yaml"))]
        return {name: path for path in paths if (name := self._id(path))}

    def _id(self, path: Path) -> str:
        try:
            found = self._read(path).checklist
        except PackError:
            return ""
        return found.id if found else ""

    def _read(self, path: Path) -> _Read:
        if path not in self._files:
            self._files[path] = _Read.of(text_of(path), str(path))
        return self._files[path]


def _hash(text: str, phases: list[Phase]) -> str:
    """Of the text, and of the checklists that it calls."""
    digest = hashlib.sha256(text.replace("\r\n", "\n").encode())
    for phase in phases:
        for step in phase.steps:
            if step.called is not None:
                digest.update(step.called.hash.encode())
    return digest.hexdigest()


def _resolved(phase: Phase, rulebase: Rulebase, reader: Reader) -> Phase:
    def held(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(
            resolve(condition, rulebase.quantities, rulebase.signs, reader)
            for condition in conditions
        )

    def of(step: Step) -> Step:
        if not (step.when or step.unless or step.passed or step.short or step.not_asked):
            return step
        return altered(
            step,
            when=held(step.when),
            unless=held(step.unless),
            passed=held(step.passed),
            short=held(step.short),
            not_asked=tuple(altered(each, when=held(each.when)) for each in step.not_asked),
        )

    return altered(phase, steps=tuple(map(of, phase.steps)))
