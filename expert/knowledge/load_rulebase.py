"""From a pack folder to a checked Rulebase; every problem of every file is reported in one go."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Protocol, TypeVar

from expert.errors import PackError, Place
from expert.knowledge.check import check_rulebase
from expert.knowledge.conditions import Condition
from expert.knowledge.keys import EXPLAINED
from expert.knowledge.layers import Layer, only, read_layers, stacked
from expert.knowledge.model import (
    NOWHERE,
    Certainty,
    Explained,
    Limit,
    Rulebase,
    RuleTest,
    Source,
)
from expert.knowledge.overlay import apply_overrides, check_switched_off, switch_off
from expert.knowledge.read_limits import read_limit
from expert.knowledge.read_quantities import read_derived, read_quantity
from expert.knowledge.read_rules import (
    read_cause,
    read_caution,
    read_certainty,
    read_gate,
    read_plausible_error,
    read_rule,
    read_sign,
)
from expert.knowledge.read_telltales import read_telltale
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.yaml_nodes import Node, id_of
from expert.physics.frame.catalog import CATALOG
from expert.units.kinds import Kind


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
    """The checked rulebase of a folder, with what it lies over.

    Raises PackError with every problem found.
    """
    reader = Reader()
    layers = read_layers(folder, reader)
    stack = _Stack(layers, reader)
    quantities = stack.entries("quantities", lambda node: read_quantity(node, reader))
    outputs = physics_outputs()
    derived = stack.entries("derived", lambda node: read_derived(node, outputs, reader))
    for quantity in derived.values():
        stack.add(quantities, quantity, "derived")
    limits = stack.entries("limits", lambda node: read_limit(node, quantities, reader))
    signs = stack.entries("signs", lambda node: read_sign(node, reader))
    causes = stack.entries("causes", lambda node: read_cause(node, reader))
    rules = stack.entries("rules", lambda node: read_rule(node, reader))
    gates = stack.entries("gates", lambda node: read_gate(node, reader))
    cautions = stack.entries("cautions", lambda node: read_caution(node, reader))
    errors = stack.entries("plausible_errors", lambda node: read_plausible_error(node, reader))
    telltales = stack.entries("telltales", lambda node: read_telltale(node, reader))
    overrides = apply_overrides(
        stack.nodes("override_limits"), limits, quantities, stack.whose, reader
    )
    switched_off = switch_off(stack.nodes("switch_off"), rules, stack.whose, reader)
    check_switched_off(switched_off, rules, signs, reader)

    def held(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(resolve(condition, quantities, signs, reader) for condition in conditions)

    rulebase = Rulebase(
        info=stacked(layers),
        quantities=quantities,
        limits=tuple(
            replace(limit, cannot_judge_when=held(limit.cannot_judge_when))
            for limit in limits.values()
        ),
        signs=signs,
        causes=causes,
        rules={
            rule.id: replace(rule, when=held(rule.when), unless=held(rule.unless))
            for rule in rules.values()
        },
        cautions=cautions,
        certainty=_certainty(layers, stack.nodes("certainty"), reader),
        gates={gate.id: replace(gate, needs=held(gate.needs)) for gate in gates.values()},
        overrides=overrides,
        switched_off=switched_off,
        explained=tuple(
            each
            for section in ("coverage", "analysis")
            for each in _explained(section, stack.nodes(section), reader)
        ),
        plausible_errors=errors,
        telltales=telltales,
    )
    check_rulebase(rulebase, reader)
    if reader.problems:
        once = dict.fromkeys(reader.problems)
        raise PackError(sorted(once, key=lambda problem: problem.place))
    return _lean(rulebase)


def _lean(rulebase: Rulebase) -> Rulebase:
    """The rulebase without the places of single words, which only the checks need.

    A rulebase is kept between runs, and half of what is kept would be these.
    """

    def test(each: RuleTest) -> RuleTest:
        given = tuple(replace(one, name_place=NOWHERE) for one in each.given)
        return replace(each, given=given, places={})

    return replace(
        rulebase,
        quantities={q.id: replace(q, places={}) for q in rulebase.quantities.values()},
        limits=tuple(replace(limit, places={}) for limit in rulebase.limits),
        causes={cause.id: replace(cause, places={}) for cause in rulebase.causes.values()},
        rules={
            rule.id: replace(rule, places={}, tests=tuple(map(test, rule.tests)))
            for rule in rulebase.rules.values()
        },
    )


class _Stack:
    """The entries of all packs of a rulebase, the lowest pack first."""

    def __init__(self, layers: tuple[Layer, ...], reader: Reader) -> None:
        self._layers = layers
        self._reader = reader

    def nodes(self, section: str) -> tuple[Node, ...]:
        """The nodes of a section, of all packs."""
        return tuple(node for layer in self._layers for node in layer.sections[section])

    def entries(self, section: str, read: Callable[[Node], T | None]) -> dict[str, T]:
        """What was read of a section by id."""
        found: dict[str, T] = {}
        for node in self.nodes(section):
            if (item := read(node)) is not None:
                self.add(found, item, section)
            elif named := id_of(node):
                self._reader.lost.add(named)
        return found

    def add(self, found: dict[str, T], item: T, section: str) -> None:
        """Keep an entry; a problem where its id is taken."""
        if item.id not in found:
            found[item.id] = item
            return
        first = found[item.id].place
        below = self.whose(first)
        where, hint = f"{first.path}:{first.line}", "Choose another id."
        if below != self.whose(item.place):
            where = f"in {self._layers[below].info.name}, {where}"
            hint = _CLASH.get(section, "A pack adds to the one below; choose another id.")
        self._reader.problem(
            "duplicate-id", f"'{item.id}' is already there ({where}).", item.place, hint
        )

    def whose(self, place: Place) -> int:
        """In which pack, counted from the lowest, a place lies."""
        return next((n for n, layer in enumerate(self._layers) if layer.has(place)), 0)


_CLASH = {
    "limits": "To change its numbers write 'override_limits:'; else choose another id.",
    "rules": "Choose another id; to put yours in its place, name that one under 'switch_off:' too.",
}


def _certainty(layers: tuple[Layer, ...], nodes: tuple[Node, ...], reader: Reader) -> Certainty:
    lowest = layers[0]
    node = None
    if nodes or not (lowest.over or not lowest.info.name):  # else its base was not found
        node = only(nodes, "certainty:", lowest.folder, reader)
    found = None if node is None else read_certainty(node, reader)
    return found or Certainty({}, ((0.0, "possible"),), 0.2, Source("from memory"))


def _explained(section: str, nodes: tuple[Node, ...], reader: Reader) -> Iterator[Explained]:
    for node in nodes:
        if (fields := reader.entry(node, EXPLAINED)) is not None:
            what, why = (reader.text(fields.fields[key], key) for key in EXPLAINED.names)
            yield Explained(what, why, fields.place, section)


def limits_by_quantity(limits: tuple[Limit, ...]) -> Mapping[str, tuple[Limit, ...]]:
    """Limits in groups by their quantity."""
    groups: dict[str, list[Limit]] = {}
    for limit in limits:
        groups.setdefault(limit.quantity, []).append(limit)
    return {quantity: tuple(group) for quantity, group in groups.items()}
