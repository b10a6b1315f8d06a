"""Reads a file of one subject's readings, for `diagnose` and for scenarios."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from expert.errors import PackError, Place, ReadingError, nearest
from expert.inference.about_call import WITH
from expert.inference.evaluation_model import Reading
from expert.inference.hangs_on import complaint_of
from expert.knowledge.entry_model import FACTS
from expert.knowledge.fact_words import fact_words
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.judge import choice, how_taken, in_words, number, split_time, words
from expert.knowledge.load_site import load_site, read_altitude, read_refrigerant
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.read_tests import PLURALS
from expert.knowledge.reader import Reader
from expert.knowledge.site import Subject
from expert.knowledge.synonyms import meant
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, read_yaml
from expert.physics.air.barometer import barometer
from expert.units.kinds import Kind

FRAME = (
    "title", "site", "subject", "altitude", "has", "readings", "as found", "scenario", *PLURALS,
    *FACTS,
)  # fmt: skip


@dataclass(frozen=True)
class SubjectFile:
    """A subject and what was read on it; `found` are readings as found beside those as left."""

    subject: Subject
    readings: tuple[Reading, ...]
    found: tuple[Reading, ...] | None = None
    members: tuple[Subject, ...] = ()


def read_subject_file(path: Path, rulebase: Rulebase, system: str = "us") -> SubjectFile:
    """The subject and readings of a file.

    Readings stand under `readings:`, or at the top beside refrigerant, application, defrost,
    case_type, has and altitude; those of other circuits under `circuits:` by id (likewise
    compressors, cases), and those before a change under `as found:`.
    Raises ReadingError, with everything that is wrong in one text; PackError only for what is
    wrong with the site file.
    """
    try:
        root = read_yaml(path)
    except PackError as error:
        raise ReadingError(str(error)) from None
    return subject_of(root, path, rulebase, system)


def subject_of(root: Node, path: Path, rulebase: Rulebase, system: str = "us") -> SubjectFile:
    """The subject and readings of a file that was read already; `path` is where it lies."""
    reader = Reader()
    if not isinstance(root, Fields):
        reader.problem("not-a-mapping", "The file must be 'name: value' lines.", root.place)
        raise ReadingError(_told(reader))
    subject, members = _subject(root, path, rulebase, reader, system)
    groups: list[tuple[Fields, str]] = [(root, "")]
    groups += [(each, "") for each in _mapping(root, "readings", reader)]
    found = _mapping(root, "as found", reader)
    for plural, kind in PLURALS.items():
        for named in _mapping(root, plural, reader):
            for name in named.fields:
                groups += [(each, name) for each in _mapping(named, name, reader)]
                if name not in {member.id for member in members}:
                    members = (*members, replace(subject, id=name, kind=kind, title=name))
    under = root.fields.get("readings")
    for name in root.fields if isinstance(under, Fields) else ():
        if isinstance(under, Fields) and name in under.fields:
            message = f"'{name}' stands under 'readings:' a second time."
            reader.problem("duplicate-key", message, under.key_place(name))
    if reader.problems:
        raise ReadingError(_told(reader))
    taker = _Taker(rulebase.quantities, barometer(subject.altitude), system)
    readings = tuple(r for group, name in groups for r in taker.take(group, name))
    before = tuple(r for group in found for r in taker.take(group, "")) if found else None
    if taker.refused:
        raise ReadingError("\n".join(taker.refused))
    if "site" not in root.fields:
        subject = replace(subject, kind=_read_on((*readings, *(before or ())), rulebase))
    return SubjectFile(subject, readings, before, members)


def _read_on(readings: tuple[Reading, ...], rulebase: Rulebase) -> str:
    """What a file without a site is about: a rack where nothing was read on a circuit or case.

    Where nothing was read on either, what is complained of decides, and then it is a circuit.
    """
    own = [each for each in readings if not each.subject]
    read = {rulebase.quantities[each.quantity].subject for each in own}
    if read & {*WITH["circuit"]}:
        return "circuit"
    if read & {"rack", "compressor"}:
        return "rack"
    said = next((str(each.value) for each in own if each.quantity == COMPLAINT), "")
    about = complaint_of(said, rulebase)
    return "rack" if about and about.subjects[:1] == ("rack",) else "circuit"


def _mapping(fields: Fields, name: str, reader: Reader) -> list[Fields]:
    node = fields.fields.get(name)
    if isinstance(node, Fields):
        return [node]
    if node is not None:
        message = f"'{name}' must be 'quantity: value' lines."
        reader.problem("not-a-mapping", message, node.place)
    return []


class _Taker:
    """Takes readings out of mappings and keeps what was refused."""

    def __init__(self, quantities: Mapping[str, Quantity], air: float, system: str):
        self.quantities = quantities
        self.air = air
        self.system = system
        self.refused: list[str] = []

    def take(self, group: Fields, subject: str) -> list[Reading]:
        """Every reading of a mapping, taken on a subject ('' for the file's own)."""
        readings: list[Reading] = []
        for name, node in group.fields.items():
            if name in FRAME:
                continue
            try:
                readings += self._readings(name, group.key_place(name), node, subject)
            except ReadingError as error:
                self.refused.append(str(error))
        return readings

    def _readings(self, name: str, place: Place, node: Node, subject: str) -> list[Reading]:
        quantity = self.quantities.get(name)
        if quantity is None:
            hint = meant(name, self.quantities, FRAME)
            hint = hint or "'rackwalk quantities' lists the names."
            raise ReadingError(f"{place}: '{name}' is not a known quantity. {hint}")
        nodes = node.items if isinstance(node, Items) else (node,)
        return [replace(self._reading(quantity, each), subject=subject) for each in nodes]

    def _reading(self, quantity: Quantity, node: Node) -> Reading:
        if not isinstance(node, Text):
            raise ReadingError(f"{node.place}: {quantity.id} must be one value, or a list.")
        try:
            text, seconds = split_time(node.text)
            return replace(accept(quantity, text, self.air, self.system), seconds=seconds)
        except ReadingError as error:
            raise ReadingError(f"{node.place}: {quantity.id}: {error}") from None


def _told(reader: Reader) -> str:
    return "\n".join(str(problem) for problem in dict.fromkeys(reader.problems))


def _subject(
    root: Fields, path: Path, rulebase: Rulebase, reader: Reader, system: str
) -> tuple[Subject, tuple[Subject, ...]]:
    got = root.fields
    base = Subject("subject", path.stem, "circuit", "", {})
    members: tuple[Subject, ...] = ()
    if "site" in got:
        named = reader.text(got["site"], "site")
        if not named:
            reader.problem("empty", "'site' names no file.", root.key_place("site"))
            return base, ()
        site = load_site(path.parent / named, rulebase)
        wanted = reader.text(got.get("subject"), "subject")
        if wanted not in site.subjects:
            place = got["subject"].place if "subject" in got else root.place
            hint = nearest(wanted, site.subjects) or f"Known: {', '.join(site.subjects)}."
            reader.problem("unknown-subject", f"The site has no '{wanted}'.", place, hint)
            return base, ()
        base = site.subjects[wanted]
        members = site.members(base)
    facts = dict(base.facts)
    for key in FACTS:
        if key in got:
            facts[key] = _fact(key, got[key], reader)
    altitude = read_altitude(got.get("altitude"), reader, system)
    subject = replace(
        base,
        title=reader.text(got.get("title"), "title") or base.title,
        facts=facts,
        has=(*base.has, *reader.texts(got.get("has"), "has")),
        altitude=base.altitude if altitude is None else altitude,
    )
    return subject, members


def _fact(key: str, node: Node, reader: Reader) -> str:
    if key == "refrigerant":
        return read_refrigerant(node, reader)
    known = fact_words().get(key)
    if known is None:
        return reader.text(node, key)
    return reader.word(node, key.replace("_", " "), known)


def accept(quantity: Quantity, text: str, air: float, system: str = "us") -> Reading:
    """A reading from typed text; `air` is the barometer [Pa]. Raises ReadingError.

    A number that is known only as low, normal or high is taken in that word.
    """
    if quantity.is_choice:
        return Reading(quantity.id, choice(text, quantity), text)
    if quantity.kind is Kind.TEXT:
        return Reading(quantity.id, words(text, quantity.title), text)
    if word := in_words(text):
        return Reading(quantity.id, word, text)
    how = how_taken(text, quantity)
    value = number(text, quantity, barometer=air, system=system)
    return Reading(quantity.id, value, text, way=how.way.id if how else "")
