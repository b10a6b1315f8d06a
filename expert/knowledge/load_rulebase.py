"""From a pack folder to a checked Rulebase; every problem of every file is reported in one go."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Protocol, TypeVar

from expert.errors import PackError, Place
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.check_across import check_rulebase
from expert.knowledge.conditions import Condition
from expert.knowledge.folders import check_folders
from expert.knowledge.layers import Layer, only, read_layers, stacked
from expert.knowledge.memory import Memory
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.overlay import apply_overrides, check_switched_off, switch_off
from expert.knowledge.pack_keys import EXPLAINED
from expert.knowledge.pack_model import Explained
from expert.knowledge.read_influences import read_complaint, read_influence, read_plant_state
from expert.knowledge.read_likeness import check_likenesses, read_likeness, read_usual_words
from expert.knowledge.read_limits import read_limit
from expert.knowledge.read_quantities import read_derived, read_quantity
from expert.knowledge.read_refrigerants import read_own_refrigerant
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
from expert.knowledge.read_tests import proof_by_rule, read_proof
from expert.knowledge.read_ways import read_way, with_ways
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.rule_test_model import Given, RuleTest
from expert.knowledge.source import Source
from expert.knowledge.step_changes import read_step_changes
from expert.knowledge.yaml_nodes import Node, id_of
from expert.made_when_used import altered
from expert.physics.fluids.own_refrigerant import carry
from expert.physics.frame.catalog import CATALOG
from expert.units.kinds import Kind


class _Identified(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def place(self) -> Place: ...


T = TypeVar("T", bound=_Identified)
M = TypeVar("M")


def physics_outputs() -> dict[str, tuple[Kind, frozenset[str]]]:
    """Kind and input names of every function a derived value may use."""
    return {name: (f.output, frozenset(f.inputs)) for name, f in CATALOG.items()}


def load_rulebase(folder: Path, memory: Memory | None = None, *, proof: bool = True) -> Rulebase:
    """The checked rulebase of a folder, with what it lies over.

    `memory` holds what was read the time before, where the same folder is read again and again.
    Without `proof` no test of a rule is read: they judge nothing, and are half of the text.
    Raises PackError with every problem found.
    """
    memory = memory or Memory()
    memory.begin()
    reader = Reader(proof=proof)
    layers = read_layers(folder, reader, memory)
    stack = _Stack(layers, reader, memory)
    own = stack.entries("refrigerants", lambda node: read_own_refrigerant(node, reader))
    carry(each.own for each in own.values())  # limits and rules may name them
    quantities = stack.entries("quantities", lambda node: read_quantity(node, reader))
    outputs = physics_outputs()
    derived = stack.entries("derived", lambda node: read_derived(node, outputs, reader))
    for quantity in derived.values():
        stack.add(quantities, quantity, "derived")
    ways = stack.entries("ways_of_reading", lambda node: read_way(node, reader))
    quantities = memory.same("quantities", with_ways(quantities, ways, reader))
    given = f"limits over {id(quantities)}"
    limits = stack.entries("limits", lambda node: read_limit(node, quantities, reader), given)
    signs = memory.same("signs", stack.entries("signs", lambda node: read_sign(node, reader)))
    causes = stack.entries("causes", lambda node: read_cause(node, reader))
    given = "rules" if proof else "rules without tests"
    rules = stack.entries("rules", lambda node: read_rule(node, reader), given)
    rules = stack.proven(rules) if proof else rules
    gates = stack.entries("gates", lambda node: read_gate(node, reader))
    cautions = stack.entries("cautions", lambda node: read_caution(node, reader))
    states = stack.entries("plant_states", lambda node: read_plant_state(node, reader))
    complaints = stack.entries("complaints", lambda node: read_complaint(node, reader))
    influences = stack.entries("influences", lambda node: read_influence(node, reader))
    likenesses = stack.entries("likenesses", lambda node: read_likeness(node, reader))
    usual = stack.entries("usual_words", lambda node: read_usual_words(node, reader))
    errors = stack.entries("plausible_errors", lambda node: read_plausible_error(node, reader))
    telltales = stack.entries("telltales", lambda node: read_telltale(node, reader))
    overrides = apply_overrides(
        stack.nodes("override_limits"), limits, quantities, stack.whose, reader
    )
    switched_off = switch_off(stack.nodes("switch_off"), rules, stack.whose, reader)
    check_switched_off(switched_off, rules, signs, gates, reader)

    def held(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(resolve(condition, quantities, signs, reader) for condition in conditions)

    rulebase = Rulebase(
        info=stacked(layers),
        quantities={
            each.id: altered(each, asked_when=held(each.asked_when)) if each.asked_when else each
            for each in quantities.values()
        },
        limits=tuple(
            altered(limit, cannot_judge_when=held(limit.cannot_judge_when))
            for limit in limits.values()
        ),
        signs=signs,
        causes={
            each.id: altered(each, can_be_when=held(each.can_be_when)) if each.can_be_when else each
            for each in causes.values()
        },
        rules={
            rule.id: stack.made(
                f"rule over {id(quantities)} {id(signs)}",
                rule,
                partial(_with_conditions, rule, held),
            )
            for rule in rules.values()
        },
        cautions=cautions,
        certainty=_certainty(layers, stack.nodes("certainty"), reader),
        gates={gate.id: altered(gate, needs=held(gate.needs)) for gate in gates.values()},
        overrides=overrides,
        switched_off=switched_off,
        explained=tuple(
            each
            for section in ("coverage", "analysis")
            for each in _explained(section, stack.nodes(section), reader)
        ),
        plausible_errors=errors,
        ways=ways,
        refrigerants=tuple(each.own for each in own.values()),
        plant_states={
            state.id: altered(
                state,
                seen_in=tuple(
                    altered(way, high=held(way.high), normal=held(way.normal), low=held(way.low))
                    for way in state.seen_in
                ),
            )
            for state in states.values()
        },
        complaints={
            each.id: altered(each, or_when=held(each.or_when)) for each in complaints.values()
        },
        influences={
            arrow.id: altered(arrow, when=held(arrow.when)) for arrow in influences.values()
        },
        likenesses=likenesses,
        usual_words=usual,
        telltales=telltales,
        step_changes=read_step_changes(
            stack.nodes("add_steps"), stack.nodes("leave_out_steps"), reader
        ),
    )
    over = f"test over {id(quantities)} {id(signs)}"
    check_rulebase(rulebase, reader, partial(stack.made, over))
    check_likenesses(rulebase, reader)
    check_folders(layers, rulebase, reader)
    if reader.problems:
        once = dict.fromkeys(reader.problems)
        raise PackError(sorted(once, key=lambda problem: problem.place))
    return _settled(rulebase, memory)


def _with_conditions(
    rule: Rule, held: Callable[[tuple[Condition, ...]], tuple[Condition, ...]]
) -> Rule:
    return altered(rule, when=held(rule.when), unless=held(rule.unless))


def _settled(rulebase: Rulebase, memory: Memory) -> Rulebase:
    """The rulebase in the order of ids, without the places of single words.

    The order does not hang on the file in which an entry stands, so that moving it changes no
    report. The places only the checks need, and half of what is kept between runs would be these.
    """

    def anywhere(one: Given) -> Given:  # there are ten thousand; `replace` takes five times
        return Given(one.name, one.texts, one.place, one.kind, one.subject, one.stage)

    def test(each: RuleTest) -> RuleTest:
        given = tuple(map(anywhere, each.given))
        return RuleTest(given, each.expect, each.facts, each.place, {}, each.finds, each.edge)

    def lean(rule: Rule) -> Rule:
        return altered(rule, places={}, tests=tuple(map(test, rule.tests)))

    limits = sorted(rulebase.limits, key=lambda limit: limit.id)
    return replace(
        rulebase,
        quantities={name: altered(q, places={}) for name, q in sorted(rulebase.quantities.items())},
        limits=tuple(altered(limit, places={}) for limit in limits),
        signs=dict(sorted(rulebase.signs.items())),
        causes={name: altered(each, places={}) for name, each in sorted(rulebase.causes.items())},
        rules={
            name: memory.of("lean", rule, partial(lean, rule))
            for name, rule in sorted(rulebase.rules.items())
        },
        cautions=dict(sorted(rulebase.cautions.items())),
        gates=dict(sorted(rulebase.gates.items())),
        plausible_errors=dict(sorted(rulebase.plausible_errors.items())),
        ways=dict(sorted(rulebase.ways.items())),
        plant_states=dict(sorted(rulebase.plant_states.items())),
        influences=dict(sorted(rulebase.influences.items())),
        likenesses=dict(sorted(rulebase.likenesses.items())),
        usual_words=dict(sorted(rulebase.usual_words.items())),
        telltales=dict(sorted(rulebase.telltales.items())),
    )


class _Stack:
    """The entries of all packs of a rulebase, the lowest pack first."""

    def __init__(self, layers: tuple[Layer, ...], reader: Reader, memory: Memory) -> None:
        self._layers = layers
        self._reader = reader
        self._memory = memory

    def nodes(self, section: str) -> tuple[Node, ...]:
        """The nodes of a section, of all packs."""
        return tuple(node for layer in self._layers for node in layer.sections[section])

    def entries(
        self, section: str, read: Callable[[Node], T | None], given: str = ""
    ) -> dict[str, T]:
        """What was read of a section by id; `given` names what the reading hangs on besides."""
        found: dict[str, T] = {}
        for node in self.nodes(section):
            if (item := self.made(given or section, node, partial(read, node))) is not None:
                self.add(found, item, section)
            elif named := id_of(node):
                self._reader.lost.add(named)
        return found

    def made(self, what: str, given: object, make: Callable[[], M]) -> M:
        """What is made of an object; remembered where nothing was wrong with it."""
        before = (len(self._reader.problems), len(self._reader.lost))
        return self._memory.of(
            what,
            given,
            make,
            when=lambda: before == (len(self._reader.problems), len(self._reader.lost)),
        )

    def proven(self, rules: Mapping[str, Rule]) -> dict[str, Rule]:
        """The rules, each with the tests of its proof after those beside it."""
        read = partial(read_proof, reader=self._reader)
        made = (self.made("proof", node, partial(read, node)) for node in self.nodes("proof"))
        proofs = proof_by_rule(filter(None, made), rules, self._reader)

        def proven(rule: Rule) -> Rule:
            more = tuple(test for proof in proofs[rule.id] for test in proof.tests)
            return altered(rule, tests=(*rule.tests, *more))

        return {
            name: self.made(f"by {[*map(id, proofs[name])]}", rule, partial(proven, rule))
            if name in proofs
            else rule
            for name, rule in rules.items()
        }

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
