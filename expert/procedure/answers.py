"""What a person would type, written down beforehand: the answer for each step, with its place."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import unquote

from expert.errors import Place, ReadingError, nearest
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text
from expert.procedure.active import Active, call_of
from expert.procedure.checklist import Checklist
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.kinds_first import own_ids
from expert.procedure.open_items import TYPE as OPEN_ITEM
from expert.procedure.search import ENOUGH, reading_key

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
        if whole is not None and skips(whole):
            return replace(_scripted(whole), member=True)
        if isinstance(node, Fields) and not skips(node):
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
        held = dict(node.fields) if isinstance(node, Fields) and not skips(node) else {}
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


def skips(node: Node) -> bool:
    """Whether a block of answers is left out as a whole, with a reason."""
    return isinstance(node, Fields) and set(node.fields) == {"skip"}


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
