"""From a site file to a checked Site."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path

from expert.errors import PackError, ReadingError, nearest
from expert.knowledge.check_across import check_preconditions
from expert.knowledge.fact_words import NOT_KNOWN, fact_words
from expert.knowledge.influence_model import CASES, COOLS, PARALLEL, PLANT_KIND
from expert.knowledge.judge import refused
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import Limit, Quantity, Rulebase
from expert.knowledge.plants import suited
from expert.knowledge.read_limits import read_limit
from expert.knowledge.read_site_sheets import read_site_sheets
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.site import Site, SiteValue, Subject
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, parse_yaml, text_of
from expert.physics.air.barometer import barometer
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

SECTIONS = ("site", "racks", "log")
_SITE = ("name", "invented", "altitude", "jurisdiction", "has", "values", "limits", "note")
_RACK = (
    "id", "title", "group_of", "refrigerant", "application", "defrost", "case_type", "has",
    "values", "limits", "sheets", "circuits", "compressors", "note",
)  # fmt: skip
_PART = ("id", "title", "application", "defrost", "case_type", "has", "values", "limits", "note")
_CIRCUIT = (*_PART, "cases")


def load_site(path: Path, rulebase: Rulebase) -> Site:
    """The checked site of a file. Raises PackError with every problem found."""
    return parse_site(text_of(path), str(path), rulebase)


def parse_site(text: str, path: str, rulebase: Rulebase) -> Site:
    """The checked site of a text; `path` is only for messages."""
    reader = Reader()
    root = reader.fields(parse_yaml(text, path), "a site file", SECTIONS, ("site", "racks"))
    subjects: dict[str, Subject] = {}
    name, invented, log = "", False, None
    if root is not None and (
        head := reader.fields(root.fields["site"], "site", _SITE, ("name", "altitude"))
    ):
        name = reader.text(head.fields["name"], "name")
        invented = reader.word(head.fields.get("invented"), "answer", ("yes", "no"), "no") == "yes"
        altitude = read_altitude(head.fields["altitude"], reader) or 0.0
        top = Subject("site", name, "site", "", _jurisdiction(head, reader), altitude)
        top = _inherit(top, head, rulebase, reader)
        subjects["site"] = top
        racks = tuple(reader.items(root.fields["racks"], "racks"))
        heads = {
            named.text
            for each in racks
            if isinstance(each, Fields) and isinstance(named := each.fields.get("group_of"), Text)
        }
        for node in racks:
            _read_rack(node, top, heads, subjects, rulebase, reader)
        if "log" in root.fields:
            from expert.knowledge.read_log import read_log

            log = read_log(root.fields["log"], subjects, rulebase.quantities, reader)
    if reader.problems:
        raise PackError(reader.problems)
    return Site(name, invented, subjects, path, text, log)


def _jurisdiction(head: Fields, reader: Reader) -> dict[str, str]:
    """By whose law a store is kept, as a fact of everything in it; nothing where it says none."""
    if (node := head.fields.get("jurisdiction")) is None:
        return {}
    return {"jurisdiction": reader.word(node, "jurisdiction", JURISDICTIONS)}


def _read_rack(
    node: Node, top: Subject, heads: Collection[str], subjects: dict[str, Subject],
    rulebase: Rulebase, reader: Reader,
) -> None:  # fmt: skip
    """A rack, or a suction group on the condenser and receiver of one that stands above it.

    A group has what its rack says, where it says nothing itself; a rack with groups may leave its
    application to them.
    """
    needed: tuple[str, ...] = ("id", "refrigerant", "application")
    if isinstance(node, Fields):
        own = node.fields.get("id")
        if "group_of" in node.fields:
            needed = needed[:1]
        elif isinstance(own, Text) and own.text in heads:
            needed = needed[:2]
    fields = reader.fields(node, "a rack", _RACK, needed)
    if fields is None:
        return
    if "group_of" in fields.fields:
        name = reader.text(fields.fields["group_of"], "group_of")
        racks = [each for each in subjects if subjects[each].kind == "rack"]
        if name not in racks:
            message = f"No rack '{name}' stands above this one."
            reader.problem(
                "unknown-rack", message, fields.fields["group_of"].place, nearest(name, racks)
            )
        top = subjects.get(name, top)
    rack = _read_subject(fields, "rack", top, rulebase, reader)
    circuits = fields.fields.get("circuits")
    several = isinstance(circuits, Items) and len(circuits.items) > 1
    if several or rack.id in heads or "group_of" in fields.fields:
        rack = _told_by_its_parts(rack, PLANT_KIND, PARALLEL, rulebase)
    _add(subjects, rack, fields, reader)
    for item in reader.items(fields.fields.get("compressors"), "compressors"):
        _read_part(item, "compressor", rack, subjects, rulebase, reader)
    for item in reader.items(fields.fields.get("circuits"), "circuits"):
        _read_part(item, "circuit", rack, subjects, rulebase, reader)


def _told_by_its_parts(subject: Subject, name: str, choice: str, rulebase: Rulebase) -> Subject:
    """A part of a store of which a kind of plant is plain by what stands in the file: a rack with
    several circuits or groups is no single unit, a circuit with a kind of case cools cases."""
    if name in subject.values or choice not in _choices(name, rulebase):
        return subject
    return replace(subject, values={**subject.values, name: SiteValue(name, choice, choice)})


def _choices(name: str, rulebase: Rulebase) -> Collection[str]:
    quantity = rulebase.quantities.get(name)
    return quantity.choices if quantity else ()


def _read_part(
    node: Node,
    kind: str,
    above: Subject,
    subjects: dict[str, Subject],
    rulebase: Rulebase,
    reader: Reader,
) -> None:
    """A circuit with its cases, a compressor, or a case."""
    keys = _CIRCUIT if kind == "circuit" else _PART
    fields = reader.fields(node, f"a {kind}", keys, ("id",))
    if fields is None:
        return
    part = _read_subject(fields, kind, above, rulebase, reader)
    if kind == "circuit" and "case_type" in part.facts:
        part = _told_by_its_parts(part, COOLS, CASES, rulebase)
    _add(subjects, part, fields, reader)
    for item in reader.items(fields.fields.get("cases"), "cases"):
        _read_part(item, "case", part, subjects, rulebase, reader)


def _add(subjects: dict[str, Subject], subject: Subject, fields: Fields, reader: Reader) -> None:
    if subject.id in subjects:
        place = fields.fields["id"].place
        reader.problem("duplicate-id", f"'{subject.id}' is already there.", place)
    subjects[subject.id] = subject


def _read_subject(
    fields: Fields, kind: str, above: Subject, rulebase: Rulebase, reader: Reader
) -> Subject:
    got = fields.fields
    facts = dict(above.facts)
    untold = {key for key in ("refrigerant", "application") if _text(got.get(key)) == NOT_KNOWN}
    for key in ("application", "defrost", "case_type"):
        if key in got and key not in untold:
            known = fact_words().get(key)
            if known is None:
                facts[key] = reader.text(got[key], key)
            else:
                facts[key] = reader.word(got[key], key.replace("_", " "), known)
    if "refrigerant" in got and "refrigerant" not in untold:
        facts["refrigerant"] = read_refrigerant(got["refrigerant"], reader)
    subject_id = reader.text(got["id"], "id")
    rack = subject_id if kind == "rack" else above.rack
    subject = Subject(
        subject_id, reader.text(got.get("title"), "title") or subject_id, kind, rack, facts,
        above.altitude, above.values, above.limits,
        (*above.has, *reader.texts(got.get("has"), "has")),
        above.id, above.sheets,
    )  # fmt: skip
    return _inherit(subject, fields, rulebase, reader)


def _text(node: Node | None) -> str:
    return node.text if isinstance(node, Text) else ""


def read_refrigerant(node: Node, reader: Reader) -> str:
    """The designation of a refrigerant, however it is spelt."""
    text = reader.text(node, "refrigerant")
    try:
        return refrigerant(text).designation
    except PhysicsError as error:
        reader.problem("unknown-refrigerant", str(error), node.place)
        return text


def read_altitude(node: Node | None, reader: Reader, system: str = "") -> float | None:
    """An altitude [m] for which there is a barometer; a bare number needs a unit `system`."""
    if node is None:
        return None
    try:
        if system and isinstance(node, Text):
            value: float | None = parse_measure(node.text, Kind.LENGTH, system=system).value
        else:
            value = reader.measure(node, "altitude", Kind.LENGTH)
        barometer(value or 0.0)
    except (ReadingError, PhysicsError) as error:
        reader.problem("altitude", str(error), node.place)
        return None
    return value


def _inherit(subject: Subject, fields: Fields, rulebase: Rulebase, reader: Reader) -> Subject:
    values = dict(subject.values)
    given = fields.fields.get("values")
    if isinstance(given, Fields):
        for name, node in given.fields.items():
            if value := _value(name, node, given, subject, rulebase.quantities, reader):
                values[name] = value
    elif given is not None:
        reader.problem("not-a-mapping", "values must be 'quantity: value' lines.", given.place)
    limits = {limit.quantity: limit for limit in subject.limits}
    own = fields.fields.get("limits")
    if isinstance(own, Fields):
        for name, node in own.fields.items():
            if limit := _limit(name, node, own, rulebase, reader):
                limits[name] = limit
    elif own is not None:
        reader.problem("not-a-mapping", "limits must be 'quantity: {...}' lines.", own.place)
    sheets = {
        **subject.sheets,
        **read_site_sheets(fields.fields.get("sheets"), rulebase.quantities, reader),
    }
    return replace(subject, values=values, limits=tuple(limits.values()), sheets=sheets)


def _value(
    name: str,
    node: Node,
    given: Fields,
    subject: Subject,
    quantities: Mapping[str, Quantity],
    reader: Reader,
) -> SiteValue | None:
    quantity = quantities.get(name)
    if quantity is None:
        hint = nearest(name, [q.id for q in quantities.values() if q.given == "site"])
        reader.problem(
            "unknown-quantity", f"'{name}' is not a known quantity.", given.key_place(name), hint
        )
        return None
    if quantity.given != "site":
        message = f"'{name}' is measured or computed, not set; it has no place in a site file."
        reader.problem("not-a-setting", message, given.key_place(name))
        return None
    text = reader.text(node, name)
    if quantity.is_choice:
        word = reader.word(node, f"choice of {name}", tuple(quantity.choices))
        return SiteValue(name, word, text)
    if not text:
        reader.problem("empty", f"'{name}' is empty.", node.place)
        return None
    if quantity.kind is Kind.TEXT:
        return SiteValue(name, text, text)
    value = reader.measure_text(text, node.place, quantity.kind)
    if value is None:
        return None
    if impossible := refused(value, suited(quantity, subject), "us"):
        reader.problem("impossible", f"{name}: {impossible}", node.place)
    return SiteValue(name, value, text)


def _limit(name: str, node: Node, own: Fields, rulebase: Rulebase, reader: Reader) -> Limit | None:
    if name not in rulebase.quantities:
        hint = nearest(name, rulebase.quantities)
        reader.problem(
            "unknown-quantity", f"'{name}' is not a known quantity.", own.key_place(name), hint
        )
        return None
    limit = read_limit(node, rulebase.quantities, reader, quantity_id=name, applies={})
    if limit is None:
        return None
    check_preconditions(limit, rulebase.quantities, reader)
    blocked = tuple(
        resolve(condition, rulebase.quantities, rulebase.signs, reader)
        for condition in limit.cannot_judge_when
    )
    if not blocked:  # the site's numbers do not lift the base's reasons not to judge
        blocked = tuple(
            dict.fromkeys(
                condition
                for base in rulebase.limits
                if base.quantity == name
                for condition in base.cannot_judge_when
            )
        )
    return replace(limit, cannot_judge_when=blocked)
