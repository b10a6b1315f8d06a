"""The answers file: what a person would type, written down beforehand, with places."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from expert.errors import PackError, Place, ReadingError
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, parse_yaml
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Phase, Step

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


@dataclass(frozen=True)
class Answers:
    """The answers by step id; a repeated phase has one mapping for each round."""

    checklist: Checklist
    place: Place
    steps: Mapping[str, Node]
    rounds: Mapping[str, tuple[Fields, ...]] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)

    def find(self, active: Active, no: str = "no") -> Scripted | None:
        """What the file says for a step, None where it says nothing.

        The question of a loop is answered by how many rounds there are; `no` ends it.
        """
        rounds = self.rounds.get(active.phase.id, ())
        if active.loop and active.phase.repeat is not None:
            goes_on = active.turn <= len(rounds)
            text = active.phase.repeat.answer if goes_on else no
            place = rounds[active.turn - 1].place if goes_on else self.place
            return Scripted(place, text)
        steps, _ = self._steps(active)
        node = steps.get(active.step.id)
        if isinstance(node, Items):
            return _sample(node, active)
        return None if node is None else _scripted(node, rest=active.sample > 0)

    def missing_at(self, active: Active) -> Place:
        """The place nearest to where an answer is missing."""
        steps, place = self._steps(active)
        node = steps.get(active.step.id)
        if isinstance(node, Items):
            sample = node.items[active.sample - 1 : active.sample]
            return sample[0].place if sample else node.place
        return place

    def _steps(self, active: Active) -> tuple[Mapping[str, Node], Place]:
        rounds = self.rounds.get(active.phase.id, ())
        if active.phase.repeat is None or active.turn == 0:
            return self.steps, self.place
        if active.turn <= len(rounds):
            return rounds[active.turn - 1].fields, rounds[active.turn - 1].place
        return {}, self.place


def load_answers(path: Path, checklist: Checklist) -> Answers:
    """The checked answers of a file. Raises ReadingError with everything that is wrong."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise ReadingError(f"Cannot read the answers file {path}: {reason}.") from None
    return parse_answers(text, str(path), checklist)


def parse_answers(text: str, path: str, checklist: Checklist) -> Answers:
    """The checked answers of a text; `path` is only for messages."""
    reader = Reader()
    try:
        root = parse_yaml(text, path)
    except PackError as error:
        raise ReadingError(str(error)) from None
    fields = reader.fields(root, "an answers file", ("answers", "notes"), ("answers",))
    found: Answers | None = None
    if fields is not None:
        found = _read(fields, checklist, reader)
    if reader.problems or found is None:
        raise ReadingError("\n".join(map(str, reader.problems)))
    return found


def _read(fields: Fields, checklist: Checklist, reader: Reader) -> Answers:
    once = [phase for phase in checklist.phases if phase.repeat is None]
    repeated = {phase.id: phase for phase in checklist.phases if phase.repeat is not None}
    by_id = {step.id: step for phase in once for step in phase.steps}
    # a restore step of a round that no longer applies is asked outside of it
    loose = {step.id: step for p in repeated.values() for step in p.steps if step.type == "restore"}
    node = fields.fields["answers"]
    known = {**by_id, **loose}
    top = reader.fields(node, "answers", (*known, *repeated))
    steps: dict[str, Node] = {}
    rounds: dict[str, tuple[Fields, ...]] = {}
    for name, value in (top.fields if top else {}).items():
        if name in repeated:
            rounds[name] = _rounds(value, repeated[name], reader)
        elif name in known:
            steps[name] = value
            _check(value, known[name], reader)
    return Answers(checklist, node.place, steps, rounds, _notes(fields, checklist, reader))


def _notes(fields: Fields, checklist: Checklist, reader: Reader) -> dict[str, str]:
    ids = [step.id for phase in checklist.phases for step in phase.steps]
    notes = reader.fields(fields.fields.get("notes"), "notes", ids)
    return {name: reader.text(node, name) for name, node in notes.fields.items()} if notes else {}


def _rounds(node: Node, phase: Phase, reader: Reader) -> tuple[Fields, ...]:
    by_id = {step.id: step for step in phase.steps}
    found = []
    for item in reader.items(node, f"'{phase.id}'"):
        if fields := reader.fields(item, f"a round of '{phase.id}'", tuple(by_id)):
            found.append(fields)
            for name, value in fields.fields.items():
                if name in by_id:
                    _check(value, by_id[name], reader)
    return tuple(found)


def _check(node: Node, step: Step, reader: Reader) -> None:
    """Whether an answer has a form that fits the type of its step."""
    if isinstance(node, Items) and step.type == "watch":
        asked = (*step.quantities, *filter(None, (step.until,)))
        for item in node.items:
            sample = reader.fields(item, f"a sample of '{step.id}'", (*asked, "at"))
            for name, value in (sample.fields if sample else {}).items():
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
