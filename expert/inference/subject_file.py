"""Reads a file of one subject's readings, for `diagnose` and for scenarios."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from expert.errors import PackError, Place, Problem, ReadingError, nearest
from expert.inference.model import Reading
from expert.knowledge.check import fact_words
from expert.knowledge.judge import choice, number, words
from expert.knowledge.load_site import load_site, read_refrigerant
from expert.knowledge.model import APPLIES_KEYS, Quantity, Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.site import Subject
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, read_yaml
from expert.physics.air import barometer
from expert.units.kinds import Kind

_FRAME = ("title", "site", "subject", "altitude", "readings", *APPLIES_KEYS)


@dataclass(frozen=True)
class SubjectFile:
    """A subject and what was read on it."""

    subject: Subject
    readings: tuple[Reading, ...]


def read_subject_file(path: Path, rulebase: Rulebase, system: str = "us") -> SubjectFile:
    """The subject and readings of a file.

    Readings stand under `readings:`, or at the top beside refrigerant, application, defrost,
    case_type and altitude. Raises PackError for a malformed file and ReadingError, with every
    refusal in one text, for readings that cannot be accepted.
    """
    root = read_yaml(path)
    if not isinstance(root, Fields):
        message = "The file must be 'name: value' lines."
        raise PackError([Problem("not-a-mapping", message, root.place)])
    reader = Reader()
    subject = _subject(root, path, rulebase, reader)
    given = [(name, root.key_place(name), n) for name, n in root.fields.items() if name not in _FRAME]
    under = root.fields.get("readings")
    if isinstance(under, Fields):
        given += [(name, under.key_place(name), node) for name, node in under.fields.items()]
    elif under is not None:
        reader.problem("not-a-mapping", "readings must be 'quantity: value' lines.", under.place)
    if reader.problems:
        raise PackError(reader.problems)
    readings: list[Reading] = []
    refused: list[str] = []
    air = barometer(subject.altitude)
    for name, place, node in given:
        try:
            readings += _readings(name, place, node, rulebase.quantities, air, system)
        except ReadingError as error:
            refused.append(str(error))
    if refused:
        raise ReadingError("\n".join(refused))
    return SubjectFile(subject, tuple(readings))


def _subject(root: Fields, path: Path, rulebase: Rulebase, reader: Reader) -> Subject:
    got = root.fields
    base = Subject("subject", path.stem, "circuit", "", {})
    if "site" in got:
        site = load_site(path.parent / reader.text(got["site"], "site"), rulebase)
        wanted = reader.text(got.get("subject"), "subject")
        if wanted not in site.subjects:
            place = got["subject"].place if "subject" in got else root.place
            hint = nearest(wanted, site.subjects) or f"Known: {', '.join(site.subjects)}."
            reader.problem("unknown-subject", f"The site has no '{wanted}'.", place, hint)
            return base
        base = site.subjects[wanted]
    facts = dict(base.facts)
    for key in APPLIES_KEYS:
        if key in got:
            facts[key] = _fact(key, got[key], reader)
    altitude = reader.measure(got.get("altitude"), "altitude", Kind.LENGTH)
    return replace(
        base,
        title=reader.text(got.get("title"), "title") or base.title,
        facts=facts,
        altitude=base.altitude if altitude is None else altitude,
    )


def _fact(key: str, node: Node, reader: Reader) -> str:
    if key == "refrigerant":
        return read_refrigerant(node, reader)
    known = fact_words().get(key)
    if known is None:
        return reader.text(node, key)
    return reader.word(node, key.replace("_", " "), known)


def _readings(
    name: str,
    place: Place,
    node: Node,
    quantities: Mapping[str, Quantity],
    air: float,
    system: str,
) -> list[Reading]:
    quantity = quantities.get(name)
    if quantity is None:
        hint = nearest(name, quantities) or "'rackwalk quantities' lists the names."
        raise ReadingError(f"{place}: '{name}' is no quantity. {hint}")
    nodes = node.items if isinstance(node, Items) else (node,)
    return [_reading(quantity, each, air, system) for each in nodes]


def _reading(quantity: Quantity, node: Node, air: float, system: str) -> Reading:
    if not isinstance(node, Text):
        raise ReadingError(f"{node.place}: {quantity.id} must be one value, or a list of values.")
    try:
        return accept(quantity, node.text, air, system)
    except ReadingError as error:
        raise ReadingError(f"{node.place}: {quantity.id}: {error}") from None


def accept(quantity: Quantity, text: str, air: float, system: str = "us") -> Reading:
    """A reading from typed text; `air` is the barometer [Pa]. Raises ReadingError."""
    if quantity.is_choice:
        return Reading(quantity.id, choice(text, quantity), text)
    if quantity.kind is Kind.TEXT:
        return Reading(quantity.id, words(text, quantity.title), text)
    return Reading(quantity.id, number(text, quantity, barometer=air, system=system), text)
