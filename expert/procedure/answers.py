"""The answers file: what a person would type, written down beforehand, with places."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import unquote

from expert.errors import PackError, Place, ReadingError, nearest
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, parse_yaml, text_of
from expert.procedure.active import Active, call_of, member_suffix
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.kinds_first import own_ids
from expert.procedure.open_items import TYPE as OPEN_ITEM
from expert.procedure.search import ENOUGH, reading_key

_SECTIONS = ("answers", "notes", "photos", "open items", "close")
_PHOTO = ("files", "caption")
ADJUST_KEYS = ("what", "from", "to")


@dataclass(frozen=True)
class Scripted:
    """One answer of the file. `skip` is a reason; `minute` the text of a sample's time."""

    place: Place
    text: str | None = None
    skip: str | None = None
    minute: str = ""
    adjust: tuple[str, str, str] | None = None
    rest: bool = False
    member: bool = False


@dataclass(frozen=True)
class Photos:
    """Photos of one step: paths with ';' between, seen from `folder`, and one caption."""

    files: str
    caption: str
    folder: Path
    place: Place


@dataclass(frozen=True)
class Answers:
    """The answers by the key of their step, a watch as a whole.

    A round stands under the key of its question, what was answered of a member under the key with
    which it is left out, a called checklist under its call. `open_items` answers what earlier jobs
    left open, `close` says how a job ends that is not done.
    """

    checklist: Checklist
    place: Place
    nodes: Mapping[str, Node]
    notes: Mapping[str, str] = field(default_factory=dict)
    photos: Mapping[str, Photos] = field(default_factory=dict)
    open_items: Node | None = None
    close: Node | None = None

    def find(self, active: Active, no: str = "no") -> Scripted | None:
        """What the file says for a step, None where it says nothing.

        The question of a loop is answered by how many rounds there are; `no` ends it.
        """
        if active.step.type == OPEN_ITEM:
            return self._open_item(active)
        if active.step.type == CLOSE:
            return _scripted(self.close) if self.close is not None else None
        node = self.nodes.get(active.step_key) or self.nodes.get(active.step_key.replace("@0", ""))
        if active.loop and active.phase.repeat is not None:
            if node is None:
                return Scripted(self.place, no)
            return Scripted(node.place, active.phase.repeat.answer)
        whole = self.nodes.get(active.member_key) if active.subject else None
        if whole is not None and _skips(whole):
            return replace(_scripted(whole), member=True)
        if isinstance(node, Fields) and not _skips(node):
            if active.step.type == "members":
                return Scripted(node.place, ", ".join(node.fields))
            if active.step.type in ("call", "search"):
                return Scripted(node.place, "done")
        if isinstance(node, Items):
            return _sample(node, active)
        return None if node is None else _scripted(node, rest=active.sample > 0)

    def in_search(self, active: Active, closed: Collection[str]) -> Scripted:
        """The answer to a reading that a search asks; `closed` are the keys that need no more.

        Where the file does not hold it, the next reading that it holds is given by its name; once
        there is none left the search has enough.
        """
        node = self.nodes.get(active.step_key)
        held = dict(node.fields) if isinstance(node, Fields) and not _skips(node) else {}
        search = self.checklist.step(active.step.id)
        for name, key in own_ids(search).items() if search else ():
            if key in self.nodes:
                held.setdefault(name, self.nodes[key])
        if active.quantity in held:
            return _scripted(held[active.quantity])
        for name, value in held.items():
            given = _scripted(value)
            if reading_key(active.step_key, name) not in closed and given.text is not None:
                return replace(given, text=f"{name} {given.text}")
        return Scripted(node.place if node else self.place, ENOUGH)

    def _open_item(self, active: Active) -> Scripted | None:
        """One text answers every open item; or a mapping answers each by its key."""
        node = self.open_items
        if isinstance(node, Fields):
            node = node.fields.get(unquote(active.key.partition(":")[2]))
        return Scripted(node.place, node.text) if isinstance(node, Text) else None

    def check_searches(self, quantities: Collection[str]) -> None:
        """Raises ReadingError where an answer of a search names no quantity."""
        for phase in self.checklist.all_phases:
            for step in (each for each in phase.steps if each.type == "search"):
                node = self.nodes.get(step.id)
                for name, value in node.fields.items() if isinstance(node, Fields) else ():
                    if name not in quantities:
                        hint = nearest(name, quantities)
                        raise ReadingError(f"{value.place}: There is no '{name}'. {hint}")

    def missing_at(self, active: Active) -> Place:
        """The place nearest to where an answer is missing."""
        if active.step.type == OPEN_ITEM and self.open_items is not None:
            return self.open_items.place
        node = self.nodes.get(active.step_key)
        if isinstance(node, Items):
            sample = node.items[active.sample - 1 : active.sample]
            return sample[0].place if sample else node.place
        around = (self.nodes[key].place for key in _around(active) if key in self.nodes)
        return next(around, self.place)


def _around(active: Active) -> Iterable[str]:
    """The keys of what a step stands in, the nearest first."""
    if active.subject:
        yield active.member_key
    call = active.call
    while call:
        yield from (f"{call}@{active.turn}", call)
        call = call_of(call)
    yield f"{active.phase.id}?{active.turn}"


def load_answers(path: Path, checklist: Checklist) -> Answers:
    """The checked answers of a file. Raises ReadingError with everything that is wrong."""
    try:
        text = text_of(path)
    except PackError as error:
        said = error.problems[0].message
        raise ReadingError(f"Cannot read the answers file {path}: {said}") from None
    return parse_answers(text, str(path), checklist)


def parse_answers(text: str, path: str, checklist: Checklist) -> Answers:
    """The checked answers of a text; `path` is only for messages."""
    reader = Reader()
    try:
        root = parse_yaml(text, path)
    except PackError as error:
        raise ReadingError(str(error)) from None
    fields = reader.fields(root, "an answers file", _SECTIONS, ("answers",))
    found: Answers | None = None
    if fields is not None:
        node = fields.fields["answers"]
        taken = _AnswersByKey(reader)
        taken.block(node, "answers", checklist.phases, "", "")
        notes = _notes(fields, checklist, reader)
        photos = dict(_photos(fields, checklist, reader, Path(path).parent))
        items = fields.fields.get("open items")
        if not isinstance(items, Fields | Text | None):
            message = "'open items' must be one answer for all of them, or 'item: answer' lines."
            reader.problem("not-a-mapping", message, items.place)
        close = fields.fields.get("close")
        if close is not None:
            reader.text(close, "close")
        found = Answers(checklist, node.place, taken.nodes, notes, photos, items, close)
    if reader.problems or found is None:
        raise ReadingError("\n".join(map(str, reader.problems)))
    return found


def _notes(fields: Fields, checklist: Checklist, reader: Reader) -> dict[str, str]:
    ids = [step.id for phase in checklist.all_phases for step in phase.steps]
    notes = reader.fields(fields.fields.get("notes"), "notes", ids)
    return {name: reader.text(node, name) for name, node in notes.fields.items()} if notes else {}


def _photos(
    fields: Fields, checklist: Checklist, reader: Reader, folder: Path
) -> Iterator[tuple[str, Photos]]:
    """Photos by the id of the step at which they are entered: {files: [...], caption: ...}."""
    ids = [step.id for phase in checklist.all_phases for step in phase.steps]
    listed = reader.fields(fields.fields.get("photos"), "photos", ids)
    for name, node in listed.fields.items() if listed else ():
        if got := reader.fields(node, f"the photos of '{name}'", _PHOTO, ("files",)):
            files = reader.texts(got.fields["files"], "files")
            caption = reader.text(got.fields.get("caption"), "caption")
            yield name, Photos(";".join(files), caption, folder, got.place)


class _AnswersByKey:
    """Takes the answers out of nested mappings, each under the key of its step."""

    def __init__(self, reader: Reader) -> None:
        self.reader = reader
        self.nodes: dict[str, Node] = {}

    def block(self, node: Node, what: str, phases: Iterable[Phase], call: str, suffix: str) -> None:
        """The answers of some phases; ids are those inside the call, keys end with the suffix."""
        known: dict[str, Step | Phase] = {}
        loose: dict[str, Step] = {}
        for phase in phases:
            names: list[Step | Phase] = list(phase.steps) if phase.once else [phase]
            names += kinds_asked_before(names)
            known |= {each.id.removeprefix(call): each for each in names}
            if phase.repeat is not None:
                # a restore step of a round that no longer applies is asked outside of it
                steps = (step for step in phase.steps if step.type == "restore")
                loose |= {step.id.removeprefix(call): step for step in steps}
        # 'step.caution': a caution that the plant asks for before a step
        given = tuple(node.fields) if isinstance(node, Fields) else ()
        dotted = [name for name in given if "." in name and name.partition(".")[0] in known]
        fields = self.reader.fields(node, what, (*known, *loose, *dotted))
        for name, value in fields.fields.items() if fields else ():
            each = known.get(name) or loose.get(name)
            if each is None:
                self.nodes[f"{call}{name}{suffix}"] = value
                _check_one(value, name, ("skip",), self.reader)
            if isinstance(each, Phase):
                self.phase(value, each, call, suffix)
            elif each is not None:
                self.step(value, each, suffix if name in known else "@0")

    def step(self, node: Node, step: Step, suffix: str) -> None:
        """The answer of one step, or those of the checklist that it calls."""
        self.nodes[f"{step.id}{suffix}"] = node
        if step.called is None:
            _check(node, step, self.reader)
        elif not _skips(node):
            what = f"the answers of '{step.id}'"
            self.block(node, what, step.called.phases, f"{step.id}/", suffix)

    def phase(self, node: Node, phase: Phase, call: str, suffix: str) -> None:
        """The rounds of a phase that repeats, or the members of one that is run for each."""
        steps = (replace(phase, repeat=None, for_each=""),)
        if phase.repeat is not None:
            for n, item in enumerate(self.reader.items(node, f"'{phase.id}'"), 1):
                self.nodes[f"{phase.id}?{n}"] = item
                self.block(item, f"a round of '{phase.id}'", steps, call, f"@{n}")
            return
        self.nodes[f"{phase.id}{suffix}~"] = node
        if not isinstance(node, Fields):
            message = f"'{phase.id}' must be '{phase.for_each}: answers' lines."
            self.reader.problem("not-a-mapping", message, node.place)
        elif not _skips(node):
            for name, item in node.fields.items():
                ending = f"{suffix}{member_suffix(name)}"
                self.nodes[f"{phase.id}{ending}"] = item
                if not _skips(item):
                    self.block(item, f"{name} of '{phase.id}'", steps, call, ending)


def kinds_asked_before(steps: Iterable[Step | Phase]) -> list[Step | Phase]:
    """The steps at which a file may answer what a search now asks itself of the kind of plant."""
    searches = [each for each in steps if isinstance(each, Step) and each.type == "search"]
    kinds = (item for each in searches for item in own_ids(each).items())
    return [Step(key, "observe", name, (name,)) for name, key in kinds]


def _skips(node: Node) -> bool:
    return isinstance(node, Fields) and set(node.fields) == {"skip"}


def _check(node: Node, step: Step, reader: Reader) -> None:
    """Whether an answer has a form that fits the type of its step."""
    if isinstance(node, Items) and step.type == "watch":
        asked = (*step.quantities, *filter(None, (step.until,)))
        for item in node.items:
            sample = reader.fields(item, f"a sample of '{step.id}'", (*asked, "at"))
            for name, value in (sample.fields if sample else {}).items():
                _check_one(value, name, ("skip",), reader)
    elif step.type == "search" and isinstance(node, Fields):
        for name, value in node.fields.items():
            _check_one(value, name, ("skip",), reader)
    elif step.type == "watch" and isinstance(node, Text):
        message = f"'{step.id}' is a watch: give a list, one mapping for each sample."
        reader.problem("not-a-list", message, node.place)
    else:
        parts = ADJUST_KEYS if step.type == "adjust" else ()
        _check_one(node, step.id, ("skip", *parts), reader)


def _check_one(node: Node, name: str, keys: Collection[str], reader: Reader) -> None:
    if isinstance(node, Text):
        return
    parts = tuple(key for key in keys if key != "skip")
    skips = not parts or (isinstance(node, Fields) and "skip" in node.fields)
    required = ("skip",) if skips else parts
    if fields := reader.fields(node, f"the answer to '{name}'", keys, required):
        for key, value in fields.fields.items():
            reader.text(value, key)


def _sample(items: Items, active: Active) -> Scripted | None:
    if active.sample > len(items.items):
        return None
    sample = items.items[active.sample - 1]
    if not isinstance(sample, Fields) or active.quantity not in sample.fields:
        return None
    at = sample.fields.get("at")
    return _scripted(sample.fields[active.quantity], minute=at.text if isinstance(at, Text) else "")


def _scripted(node: Node, *, minute: str = "", rest: bool = False) -> Scripted:
    if isinstance(node, Text):
        return Scripted(node.place, node.text, minute=minute)
    texts = {
        key: value.text
        for key, value in (node.fields if isinstance(node, Fields) else {}).items()
        if isinstance(value, Text)
    }
    if "skip" in texts:
        return Scripted(node.place, skip=texts["skip"], rest=rest)
    what, before, after = (texts.get(key, "") for key in ADJUST_KEYS)
    return Scripted(node.place, adjust=(what, before, after))
