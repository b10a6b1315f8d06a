"""From a pack folder to a checked Rulebase; every problem of every file is reported in one go."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Protocol, TypeVar

from expert.errors import PackError, Place, Problem
from expert.knowledge.check import check_rulebase
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Certainty, Limit, PackInfo, Rulebase, Source
from expert.knowledge.read_quantities import read_derived, read_limit, read_quantity
from expert.knowledge.read_rules import (
    read_caution,
    read_cause,
    read_certainty,
    read_gate,
    read_rule,
    read_sign,
)
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.yaml_nodes import Node, read_yaml
from expert.physics.catalog import CATALOG
from expert.units.kinds import Kind

SECTIONS = (
    "pack", "certainty", "quantities", "derived", "limits", "signs", "causes", "rules", "cautions",
    "gates",
)  # fmt: skip


class _Named(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def place(self) -> Place: ...


T = TypeVar("T", bound=_Named)


def physics_outputs() -> dict[str, tuple[Kind, frozenset[str]]]:
    """Kind and input names of every function a derived value may use."""
    return {name: (f.output, frozenset(f.inputs)) for name, f in CATALOG.items()}


def load_rulebase(folder: Path) -> Rulebase:
    """The checked rulebase of a folder. Raises PackError with every problem found."""
    files = sorted(folder.rglob("*.yaml"))
    if not files:
        raise PackError([Problem("no-pack", "There is no rulebase here.", Place(str(folder)))])
    reader = Reader()
    for path in sorted(folder.rglob("*.yml")):
        reader.problem("file-name", "This file would not be read.", Place(str(path)), "Name it .yaml.")
    sections = _gather(files, reader)
    quantities = _named(sections["quantities"], lambda node: read_quantity(node, reader), reader)
    outputs = physics_outputs()
    derived = _named(sections["derived"], lambda node: read_derived(node, outputs, reader), reader)
    for quantity in derived.values():
        _add(quantities, quantity, reader)
    limits = [
        limit
        for node in sections["limits"]
        if (limit := read_limit(node, quantities, reader)) is not None
    ]
    signs = _named(sections["signs"], lambda node: read_sign(node, reader), reader)
    causes = _named(sections["causes"], lambda node: read_cause(node, reader), reader)
    rules = _named(sections["rules"], lambda node: read_rule(node, reader), reader)
    gates = _named(sections["gates"], lambda node: read_gate(node, reader), reader)
    cautions = _named(sections["cautions"], lambda node: read_caution(node, reader), reader)

    def held(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(resolve(condition, quantities, signs, reader) for condition in conditions)

    rulebase = Rulebase(
        info=_info(sections["pack"], folder, files, reader),
        quantities=quantities,
        limits=tuple(
            replace(limit, cannot_judge_when=held(limit.cannot_judge_when)) for limit in limits
        ),
        signs=signs,
        causes=causes,
        rules={
            rule.id: replace(rule, when=held(rule.when), unless=held(rule.unless))
            for rule in rules.values()
        },
        cautions=cautions,
        certainty=_certainty(sections["certainty"], folder, reader),
        gates={gate.id: replace(gate, needs=held(gate.needs)) for gate in gates.values()},
    )
    check_rulebase(rulebase, reader)
    if reader.problems:
        once = dict.fromkeys(reader.problems)
        raise PackError(sorted(once, key=lambda problem: problem.place))
    return rulebase


def _gather(files: list[Path], reader: Reader) -> dict[str, list[Node]]:
    sections: dict[str, list[Node]] = {name: [] for name in SECTIONS}
    for path in files:
        try:
            root = read_yaml(path)
        except PackError as error:
            reader.problems.extend(error.problems)
            continue
        fields = reader.fields(root, "a rulebase file", SECTIONS)
        for name, node in (fields.fields if fields else {}).items():
            if name in ("pack", "certainty"):
                sections[name].append(node)
            elif name in sections:
                sections[name].extend(reader.items(node, f"'{name}'"))
    return sections


def _named(nodes: list[Node], read: Callable[[Node], T | None], reader: Reader) -> dict[str, T]:
    found: dict[str, T] = {}
    for node in nodes:
        if (item := read(node)) is not None:
            _add(found, item, reader)
    return found


def _add(found: dict[str, T], item: T, reader: Reader) -> None:
    if item.id in found:
        first = found[item.id].place
        reader.problem(
            "duplicate-id", f"'{item.id}' is already there ({first.path}:{first.line}).", item.place
        )
    else:
        found[item.id] = item


def _info(nodes: list[Node], folder: Path, files: list[Path], reader: Reader) -> PackInfo:
    keys = ("name", "version", "title", "description")
    node = _only(nodes, "pack: {name, version}", folder, reader)
    fields = reader.fields(node, "pack", keys, ("name", "version"))
    if fields is None:
        return PackInfo("", "")
    got = {key: reader.text(fields.fields.get(key), key) for key in keys}
    return PackInfo(got["name"], got["version"], got["title"], got["description"], _hash(folder, files))


def _hash(folder: Path, files: list[Path]) -> str:
    """SHA-256 over names and contents, independent of where the folder lies."""
    digest = hashlib.sha256()
    for path in files:
        digest.update(path.relative_to(folder).as_posix().encode())
        digest.update(b"\0")
        digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
        digest.update(b"\0")
    return digest.hexdigest()


def _certainty(nodes: list[Node], folder: Path, reader: Reader) -> Certainty:
    node = _only(nodes, "certainty:", folder, reader)
    found = None if node is None else read_certainty(node, reader)
    return found or Certainty({}, ((0.0, "possible"),), 0.2, Source("from memory"))


def _only(nodes: list[Node], what: str, folder: Path, reader: Reader) -> Node | None:
    """The one node of a section that stands once in a rulebase."""
    if not nodes:
        reader.problem("missing-section", f"No file has '{what}'.", Place(str(folder)))
        return None
    for node in nodes[1:]:
        reader.problem("duplicate-key", f"'{what}' stands in the rulebase twice.", node.place)
    return nodes[0]


def limits_by_quantity(limits: tuple[Limit, ...]) -> Mapping[str, tuple[Limit, ...]]:
    """Limits in groups by their quantity."""
    groups: dict[str, list[Limit]] = {}
    for limit in limits:
        groups.setdefault(limit.quantity, []).append(limit)
    return {quantity: tuple(group) for quantity, group in groups.items()}
