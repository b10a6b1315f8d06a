"""A store as plain data: what a site file says, with every scalar the text that was typed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from expert.errors import UsageError
from expert.knowledge.site import Site
from expert.knowledge.yaml_nodes import as_data, parse_yaml

Data = dict[str, Any]
# What is said of a part by words and not by a value of the rulebase.
FACTS = ("title", "refrigerant", "application", "defrost", "case type", "note")
LAW = "jurisdiction"  # of the store itself


def data_of(text: str, path: str) -> Data:
    """The data of a site file. Raises PackError for what is no YAML."""
    root = as_data(parse_yaml(text, path))
    return root if isinstance(root, dict) else {}


def text_of(data: Data) -> str:
    """The site file that says it."""
    import yaml

    text: str = yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=96)
    return text


def parts(data: Data) -> Iterator[Data]:
    """The site itself, its racks, and what belongs to these, from the top down."""
    yield data.get("site", {})
    for rack in data.get("racks", ()):
        yield rack
        for below in ("compressors", "circuits"):
            for each in rack.get(below, ()):
                yield each
                yield from each.get("cases", ())


def part(data: Data, name: str) -> Data | None:
    """The rack, circuit, compressor or case of an id; 'site' is the store itself."""
    if name == "site":
        found: Data = data.setdefault("site", {})
        return found
    return next((each for each in parts(data) if each.get("id", "").lower() == name.lower()), None)


def facts_of(data: Data, name: str) -> dict[str, str]:
    """What is known of the kind of plant: refrigerant, application, defrost; nearest wins."""
    facts: dict[str, str] = {}
    for rack in data.get("racks", ()):
        own = [each for each in rack.get("circuits", ()) if each.get("id") == name]
        if rack.get("id") == name or own:
            head = [each for each in data["racks"] if each.get("id") == rack.get("group_of")]
            for each in (*head, rack, *own):
                keys = ("refrigerant", "application", "defrost", "case_type")
                facts |= {key: each[key] for key in keys if each.get(key)}
    return facts


def set_value(data: Data, name: str, quantity: str, text: str) -> None:
    """Put a value to a part of the store. Raises UsageError where there is no such part."""
    found = part(data, name)
    if found is None:
        raise UsageError(f"The store has no '{name}'.")
    found.setdefault("values", {})[quantity] = text


def set_row(
    data: Data, name: str, quantity: str, row: Mapping[str, str], instead: Mapping[str, str]
) -> None:
    """Put a row on a sheet of a part of the store; one that says `instead`, its weather and state,
    gives way. Raises UsageError where there is no such part."""
    found = part(data, name)
    if found is None:
        raise UsageError(f"The store has no '{name}'.")
    rows = found.setdefault("sheets", {}).setdefault(quantity, [])
    rows[:] = [each for each in rows if not instead or not instead.items() <= each.items()]
    rows.append(dict(row))


def counts(site: Site) -> str:
    """'2 racks, 25 circuits'."""
    kinds = [each.kind for each in site.subjects.values()]
    racks, circuits = kinds.count("rack"), kinds.count("circuit")
    return f"{racks} rack{'s' * (racks != 1)}, {circuits} circuit{'s' * (circuits != 1)}"
