"""What of a company pack touches safety: gates, hazards, published limits. Told before all else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from expert.errors import Place
from expert.inference.sentences import band_text
from expert.knowledge.conditions import Condition, Is, everywhere, signs_in
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.resolve import NUMBER_STATES
from expert.units.kinds import Kind

PUBLISHED, SAFETY = "published", "safety"
_OF_OTHERS = (PUBLISHED, "from memory")  # a law that was not opened again is a law all the same
_PRESSURES = (Kind.GAUGE_PRESSURE, Kind.ABSOLUTE_PRESSURE)

Gated = Mapping[str, dict[str, None]]


def safety_lines(rulebase: Rulebase, folder: Path, system: str = "us") -> Iterator[str]:
    """Each change of the pack in a folder, in words; nothing where it lies over no other."""
    if rulebase.info.over is None:
        return
    rules = (*rulebase.rules.values(), *(off.rule for off in rulebase.switched_off))
    signs, quantities = _gated(rulebase, rules)

    def own(place: Place) -> bool:
        return Path(place.path).is_relative_to(folder)

    for gate in filter(lambda each: own(each.place), rulebase.gates.values()):
        yield f"gate {gate.id}: one more gate of '{gate.action}'"
    for caution in filter(lambda each: own(each.place), rulebase.cautions.values()):
        yield f"caution {caution.id}: one more hazard, {caution.title}"
    for rule in filter(lambda each: own(each.place), rulebase.rules.values()):
        yield from _rule(rule, signs, rulebase)
    for quantity in filter(lambda each: own(each.place), rulebase.quantities.values()):
        if quantity.kind in _PRESSURES and not quantity.cautions and not quantity.given:
            yield f"quantity {quantity.id}: a pressure that is read without any caution"
    yield from _limits(rulebase, own_limits(rulebase, folder), quantities, system)
    for off in rulebase.switched_off:
        if gates := _gates_of(off.rule, signs):
            yield f"switched off {off.rule.id}: {_gates(gates)} waited for it ({off.reason})"
        for cause in _safety_causes(off.rule.evidence_for, rulebase):
            yield f"switched off {off.rule.id}: it spoke for '{cause}', a danger ({off.reason})"


def own_limits(rulebase: Rulebase, folder: Path) -> list[tuple[Limit, Limit, str]]:
    """The limits that a pack puts in the place of others: before, after, and who said why."""
    found = [
        (each.before, each.after, f" {each.reason} ({each.author}, {each.date})")
        for each in rulebase.overrides
    ]
    overridden = {each.after.id for each in rulebase.overrides}
    for limit in rulebase.limits:
        if limit.id in overridden or not Path(limit.place.path).is_relative_to(folder):
            continue
        below = (
            each
            for each in rulebase.limits
            if each.quantity == limit.quantity and each is not limit
        )
        found += [(each, limit, " It is the narrower one.") for each in below]
    return found


def _limits(
    rulebase: Rulebase, changed: Iterable[tuple[Limit, Limit, str]], quantities: Gated, system: str
) -> Iterator[str]:
    for before, after, why in changed:
        quantity = rulebase.quantities[after.quantity]
        bands = " where it was ".join(band_text(each, quantity, system) for each in (after, before))
        if before.source.label in _OF_OTHERS and before.source.names_document:
            yield f"limit {after.id}: {quantity.title} {bands}, {before.source}.{why}"
        elif gates := quantities.get(after.quantity):
            yield f"limit {after.id}: {quantity.title} {bands}; it opens {_gates(gates)}.{why}"


def _rule(rule: Rule, signs: Gated, rulebase: Rulebase) -> Iterator[str]:
    if gates := _gates_of(rule, signs):
        listed = ", ".join(name for name in rule.concludes if name in signs)
        yield f"rule {rule.id}: it can open {_gates(gates)}, for it concludes {listed}"
    for cause in _safety_causes(rule.evidence_against, rulebase):
        yield f"rule {rule.id}: it speaks against '{cause}', a danger"


def _gates_of(rule: Rule, signs: Gated) -> dict[str, None]:
    return {gate: None for name in rule.concludes for gate in signs.get(name, {})}


def _gates(names: Iterable[str]) -> str:
    listed = [*names]
    return f"the gate{'s' if len(listed) > 1 else ''} {', '.join(listed)}"


def _safety_causes(named: Iterable[str], rulebase: Rulebase) -> list[str]:
    causes = (rulebase.causes[name] for name in named if name in rulebase.causes)
    return [cause.title for cause in causes if cause.urgency == SAFETY]


def _gated(rulebase: Rulebase, rules: Iterable[Rule]) -> tuple[Gated, Gated]:
    """The gates that hang on each sign and on each quantity, through whatever concludes them."""
    concluding: dict[str, list[Rule]] = {}
    for rule in rules:
        for name in rule.concludes:
            concluding.setdefault(name, []).append(rule)
    signs: dict[str, dict[str, None]] = {}
    quantities: dict[str, dict[str, None]] = {}
    for gate in rulebase.gates.values():
        waiting: list[Condition] = [*gate.needs]
        seen: set[str] = set()
        while waiting:
            condition = waiting.pop()
            for part in everywhere(condition):
                if isinstance(part, Is) and part.word in NUMBER_STATES:  # a limit decides it
                    quantities.setdefault(part.quantity, {})[gate.id] = None
            for name in {n for part in everywhere(condition) for n in signs_in(part)} - seen:
                seen.add(name)
                signs.setdefault(name, {})[gate.id] = None
                for rule in concluding.get(name, ()):
                    waiting += [*rule.when, *rule.unless]
    return signs, quantities
