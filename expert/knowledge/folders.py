"""Which folder of a pack an entry belongs in: the one of its system of the plant.

A pack that has no folder named like a system is free in its layout. In one that has, each entry
stands in such a folder: a cause in that of its `system:`, a rule in that of a cause it speaks for
(else of one it speaks against, else of a sign it concludes), a sign beside a rule that concludes
it, a likeness beside its cause, a limit beside its quantity (one for a quantity of a pack below in
any of the folders), the proof of a rule in the folder of the rule.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path

from expert.errors import Place
from expert.knowledge.layers import Layer
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.reader import Reader

BESIDE = ("instruments", "log", "plant", "safety")  # these may have no cause of their own


def folder_of(system: str) -> str:
    """The name of the folder for a system of the plant."""
    return system.replace(" ", "-")


def usual_folder(rule: Rule, rulebase: Rulebase, pack: Path) -> str:
    """The folder for a new rule in a pack that has folders by system; empty in any other."""
    systems = _systems(rulebase)
    if not any(each.is_dir() and each.name in systems for each in pack.iterdir()):
        return ""
    return min(_of_rule(rule, rulebase, systems), default="plant")


def check_folders(layers: Iterable[Layer], rulebase: Rulebase, reader: Reader) -> None:
    """Every entry of a pack that has folders by system must stand in the right one."""
    systems = _systems(rulebase)
    for layer in layers:
        if any(_folder(str(path), layer) in systems for path in layer.files):
            for what, place, right in _belongs(rulebase, layer, systems):
                if right and layer.has(place) and _folder(place.path, layer) not in right:
                    reader.problem(
                        "wrong-folder", f"{what} belongs in another folder.", place,
                        f"Put it into {' or '.join(f'{name}/' for name in sorted(right))}.",
                    )  # fmt: skip


def _systems(rulebase: Rulebase) -> set[str]:
    return {folder_of(cause.system) for cause in rulebase.causes.values()} | set(BESIDE)


def _folder(path: str, layer: Layer) -> str:
    """The folder of the pack in which a file lies; empty for one at the top."""
    return _first_part(path, str(layer.folder))


def _belongs(
    rulebase: Rulebase, layer: Layer, systems: set[str]
) -> Iterator[tuple[str, Place, set[str]]]:
    """What an entry is called, where it stands, and the folders where it may stand."""
    homes: dict[str, set[str]] = {name: set() for name in rulebase.signs}
    for rule in rulebase.rules.values():
        for name in rule.concludes:
            homes.setdefault(name, set()).update(_named(rule.place, systems))
    for cause in rulebase.causes.values():
        yield f"'{cause.id}', a cause of '{cause.system}',", cause.place, {folder_of(cause.system)}
    for rule in rulebase.rules.values():
        yield f"Rule '{rule.id}'", rule.place, _of_rule(rule, rulebase, systems)
        apart = {each.place.path: each.place for each in reversed(rule.tests)}
        apart.pop(rule.place.path, None)
        for place in apart.values():
            yield f"The proof of '{rule.id}'", place, _named(rule.place, systems)
    for each in rulebase.likenesses.values():
        if each.cause in rulebase.causes:
            right = {folder_of(rulebase.causes[each.cause].system)}
            yield f"The likeness of '{each.cause}'", each.place, right
    for sign in rulebase.signs.values():
        yield f"Sign '{sign.id}'", sign.place, homes[sign.id]
    for limit in rulebase.limits:
        if (quantity := rulebase.quantities.get(limit.quantity)) is not None:
            own = layer.has(quantity.place)  # else it is a limit for what a pack below has
            right = _named(quantity.place, systems) if own else systems
            yield f"Limit '{limit.id}' of {quantity.id}", limit.place, right
    for quantity in rulebase.quantities.values():
        yield f"Quantity '{quantity.id}'", quantity.place, systems


def _of_rule(rule: Rule, rulebase: Rulebase, systems: set[str]) -> set[str]:
    """The folders of what a rule speaks for, else against, else of the signs it concludes."""
    for evidence in (rule.evidence_for, () if rule.concludes else rule.evidence_against):
        if evidence:
            causes = (rulebase.causes.get(name) for name in evidence)
            return {folder_of(cause.system) for cause in causes if cause is not None}
    signs = (rulebase.signs.get(name) for name in rule.concludes)
    beside = {name for sign in signs if sign for name in _named(sign.place, systems)}
    return beside or (set() if rule.concludes else systems)


def _named(place: Place, systems: set[str]) -> set[str]:
    """The system in whose folder a place lies, seen from the end of its path."""
    return {_lies_in(place.path)} & systems


@lru_cache(2048)
def _first_part(path: str, folder: str) -> str:
    parts = Path(path).relative_to(folder).parts
    return parts[0] if len(parts) > 1 else ""


@lru_cache(2048)
def _lies_in(path: str) -> str:
    return Path(path).parent.name
