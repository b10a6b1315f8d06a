"""From an answers file to its answers by step, checked; all that is wrong is told at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from expert.errors import PackError, ReadingError
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, parse_yaml, text_of
from expert.procedure.active import member_suffix
from expert.procedure.answers import ADJUST_KEYS, Answers, Photos, skips
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.kinds_first import own_ids

_SECTIONS = ("answers", "notes", "photos", "open items", "close")
_PHOTO = ("files", "caption")


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
        elif not skips(node):
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
        elif not skips(node):
            for name, item in node.fields.items():
                ending = f"{suffix}{member_suffix(name)}"
                self.nodes[f"{phase.id}{ending}"] = item
                if not skips(item):
                    self.block(item, f"{name} of '{phase.id}'", steps, call, ending)


def kinds_asked_before(steps: Iterable[Step | Phase]) -> list[Step | Phase]:
    """The steps at which a file may answer what a search now asks itself of the kind of plant."""
    searches = [each for each in steps if isinstance(each, Step) and each.type == "search"]
    kinds = (item for each in searches for item in own_ids(each).items())
    return [Step(key, "observe", name, (name,)) for name, key in kinds]


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
