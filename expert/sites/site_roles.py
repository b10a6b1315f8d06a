"""What a store is asked for and how a legend names it: read from reports/sites.yaml."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from functools import cache

from expert.errors import PackError
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, read_yaml
from expert.made_when_used import dataclass
from expert.places import shipped

_SECTIONS = ("asked", "only_for", "columns", "words")
LEVELS = ("site", "rack", "compressor", "circuit")


@dataclass(frozen=True)
class SiteRoles:
    """`asked` has the values of a level in the order in which they are asked, `only_for` the facts
    a value needs, `columns` the headers of a legend by what they hold, `words` what stands in its
    cells for one of our words, by fact."""

    asked: Mapping[str, tuple[str, ...]]
    only_for: Mapping[str, Mapping[str, tuple[str, ...]]]
    columns: Mapping[str, tuple[str, ...]]
    words: Mapping[str, Mapping[str, tuple[str, ...]]]


@cache
def site_roles() -> SiteRoles:
    """The file as shipped. Raises PackError."""
    reader = Reader()
    root = reader.fields(read_yaml(shipped("reports") / "sites.yaml"), "sites", _SECTIONS)
    parts = root.fields if root else {}
    found = SiteRoles(
        _lists(parts.get("asked"), reader),
        {name: _lists(node, reader) for name, node in _fields(parts.get("only_for"))},
        _lists(parts.get("columns"), reader),
        {name: _lists(node, reader) for name, node in _fields(parts.get("words"))},
    )
    if reader.problems:
        raise PackError(reader.problems)
    return found


def _fields(node: Node | None) -> list[tuple[str, Node]]:
    return list(node.fields.items()) if isinstance(node, Fields) else []


def _lists(node: Node | None, reader: Reader) -> dict[str, tuple[str, ...]]:
    return {name: tuple(reader.texts(each, name)) for name, each in _fields(node)}


def values_of(
    level: str, facts: Mapping[str, str], rulebase: Rulebase, *, every: bool = False
) -> list[Quantity]:
    """The values of a site that one of a level may have, those asked first at the beginning.

    `every` adds the rest of the rulebase. What is known to be of another kind of plant is left out.
    """
    roles, known = site_roles(), rulebase.quantities
    first = [known[name] for name in roles.asked.get(level, ()) if name in known]
    rest = [
        each
        for each in known.values()
        if every and each.given == "site" and each.subject == level and each not in first
    ]
    return [each for each in (*first, *rest) if _fits(roles.only_for.get(each.id, {}), facts)]


def _fits(needs: Mapping[str, Collection[str]], facts: Mapping[str, str]) -> bool:
    return all(facts.get(name) in (*words, None) for name, words in needs.items())


def case_types(rulebase: Rulebase) -> tuple[str, ...]:
    """The kinds of case that limits and rules tell apart."""
    made_for = [each.applies for each in rulebase.limits]
    made_for += [each.applies for each in rulebase.rules.values()]
    return tuple(dict.fromkeys(word for each in made_for for word in each.get("case_type", ())))


def case_type_of(text: str, rulebase: Rulebase) -> str:
    """The kind of case that words mean: the one all of whose words stand there, else the only one
    with any of them; empty where that is not told."""
    words = set(re.split(r"[^a-z-]+", text.lower()))
    known = {each: set(each.split()) for each in case_types(rulebase)}
    whole = [each for each, named in known.items() if named <= words]
    some = [each for each, named in known.items() if named & words]
    if whole:
        return max(whole, key=lambda each: len(known[each]))
    return some[0] if len(some) == 1 else ""
