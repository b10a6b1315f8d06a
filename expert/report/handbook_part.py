"""The part of a rulebase that belongs to one system of the plant, to read in the handbook."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from expert.errors import UsageError, nearest
from expert.knowledge.conditions import Condition, quantities_anywhere, signs_in
from expert.knowledge.model import Cause, Rule, Rulebase


def part_of(rulebase: Rulebase, system: str) -> Rulebase:
    """The causes of a system with what they lead to, and all that is read to tell them.

    Raises UsageError where no cause has such a system.
    """
    systems = {_plain(cause.system): cause.system for cause in rulebase.causes.values()}
    if _plain(system) not in systems:
        known = sorted(systems.values())
        hint = nearest(system, known) or f"There are: {', '.join(known)}."
        raise UsageError(f"No cause belongs to '{system}'. {hint}")
    named_so = systems[_plain(system)]
    own = [cause.id for cause in rulebase.causes.values() if cause.system == named_so]
    causes = _reached(rulebase, own)
    actions = {step.action for cause in causes.values() for step in cause.remedy}
    gates = {gate.id: gate for gate in rulebase.gates.values() if gate.action in actions}
    held = {sign for gate in gates.values() for c in gate.needs for sign in signs_in(c)}
    rules = _rules(rulebase, own, causes, held)
    looked = [c for rule in rules.values() for c in (*rule.when, *rule.unless)]
    looked += [c for gate in gates.values() for c in gate.needs]
    named = {name for rule in rules.values() for name in rule.doubts}
    named |= {n for rule in rules.values() if rule.cannot_tell for n in rule.cannot_tell.read}
    quantities = _quantities(rulebase, looked, named)
    return replace(
        rulebase,
        causes=causes,
        rules=rules,
        gates=gates,
        signs={
            n: s for n, s in rulebase.signs.items() if any(n in r.concludes for r in rules.values())
        },
        quantities={n: q for n, q in rulebase.quantities.items() if n in quantities},
        limits=tuple(each for each in rulebase.limits if each.quantity in quantities),
        overrides=(),
        switched_off=(),
    )


def _plain(system: str) -> str:
    """'hot gas defrost' of 'hot-gas defrost' and of the name of its folder."""
    return system.replace("-", " ").lower()


def _reached(rulebase: Rulebase, own: Iterable[str]) -> dict[str, Cause]:
    found: dict[str, Cause] = {}
    waiting = [*own]
    while waiting:
        cause = rulebase.causes[waiting.pop()]
        if cause.id not in found:
            found[cause.id] = cause
            waiting += cause.leads_to
    return {name: each for name, each in rulebase.causes.items() if name in found}


def _rules(
    rulebase: Rulebase, own: Iterable[str], causes: Iterable[str], held: set[str]
) -> dict[str, Rule]:
    """What speaks for or against the causes, with the rules that conclude the signs it needs and
    those of the gates."""
    about, shown = {*own}, {*causes}
    found = {
        r.id for r in rulebase.rules.values() if about & {*r.evidence_for, *r.evidence_against}
    }
    found |= {rule.id for rule in rulebase.rules.values() if held & {*rule.concludes}}
    signs: set[str] = set()
    new = {*found}
    while new:
        rules = [rulebase.rules[name] for name in new]
        needed = {s for r in rules for c in (*r.when, *r.unless) for s in signs_in(c)} - signs
        signs |= needed
        new = {r.id for r in rulebase.rules.values() if needed & {*r.concludes}} - found
        found |= new
    return {
        name: replace(
            rule,
            evidence_for={k: v for k, v in rule.evidence_for.items() if k in shown},
            evidence_against={k: v for k, v in rule.evidence_against.items() if k in shown},
        )
        for name, rule in rulebase.rules.items()
        if name in found
    }


def _quantities(
    rulebase: Rulebase, conditions: Iterable[Condition], named: Iterable[str]
) -> set[str]:
    """The quantities that are looked at, what they are computed from, and what blocks a limit."""
    found: set[str] = set()
    waiting = [*named, *(name for each in conditions for name in quantities_anywhere(each))]
    while waiting:
        name = waiting.pop()
        quantity = rulebase.quantities.get(name)
        if name in found or quantity is None:
            continue
        found.add(name)
        inputs = quantity.derivation.inputs.values() if quantity.derivation else ()
        waiting += [source.quantity for source in inputs]
        waiting += quantity.derivation.kinds if quantity.derivation else ()
        blocked = (
            c
            for limit in rulebase.limits
            if limit.quantity == name
            for c in limit.cannot_judge_when
        )
        waiting += [other for condition in blocked for other in quantities_anywhere(condition)]
    return found
