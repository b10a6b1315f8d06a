"""JSON Schemas (draft 2020-12) of rulebase, checklist, site and practice files, for editors.

They are made from the tables by which the files are read, and from the names a rulebase knows.
"""

from __future__ import annotations

from typing import cast

from expert.author.files.practice_schema import practice_forms, practice_schema
from expert.author.files.schema_forms import (
    SITE_SOURCE,
    Schema,
    definitions,
    entry,
    list_of,
    one_or_more,
    ref,
    words,
)
from expert.knowledge import load_site, read_log
from expert.knowledge.fact_words import NOT_KNOWN, fact_words
from expert.knowledge.key_shapes import Shape
from expert.knowledge.keys import LISTS, SINGLE
from expert.knowledge.log_map import DECIMALS, SEPARATORS
from expert.knowledge.model import Rulebase
from expert.knowledge.old_keys import RENAMED
from expert.knowledge.read_site_sheets import SAYS
from expert.knowledge.where import SPOTS
from expert.procedure import read_checklist
from expert.procedure.checklist import ANY, STEP_TYPES
from expert.units.kinds import Kind

DRAFT = "https://json-schema.org/draft/2020-12/schema"
FILES = {
    "rulebase": "rulebase.schema.json",
    "checklist": "checklist.schema.json",
    "site": "site.schema.json",
    "practice": "practice.schema.json",
}


def schema_for(what: str, base: Rulebase) -> Schema:
    """The schema of one kind of `FILES`, with the names of a rulebase."""
    made = {"rulebase": _rulebase, "checklist": _checklist, "site": _site,
            "practice": practice_schema}  # fmt: skip
    body = made[what](base)
    more = practice_forms(base) if what == "practice" else {}
    return {
        "$schema": DRAFT,
        "title": f"{what} file of rackwalk",
        "description": f"Made for {base.info}.",
        **body,
        "$defs": {**definitions(base), "own_limit": _own_limit(), "steps": _steps(base), **more},
    }


def _rulebase(base: Rulebase) -> Schema:
    sections: Schema = {name: entry(shape) for name, shape in SINGLE.items()}
    entries = {name: entry(shape) for name, shape in LISTS.items()}
    for name, old_keys in RENAMED.items():
        properties = cast(Schema, entries[name]["properties"])
        for old, new in old_keys.items():
            said = f"now called '{new}'; 'rackwalk rules format' renews it"
            properties[old] = {
                **cast(Schema, properties[new]),
                "description": said,
                "deprecated": True,
            }
    leads_to = ("evidence_for", "evidence_against", "concludes", "cannot_tell")
    entries["rules"]["anyOf"] = [{"required": [key]} for key in leads_to]
    entries["quantities"] |= {
        "if": {"properties": {"kind": {"const": "choice"}}},
        "then": {"required": ["choices"]},
    }
    sections |= {name: list_of(shown) for name, shown in entries.items()}
    return {"type": "object", "properties": sections, "additionalProperties": False}


def _object(names: tuple[str, ...], forms: Schema, required: tuple[str, ...] = ()) -> Schema:
    return {
        "type": "object",
        "properties": {name: forms.get(name, ref("text")) for name in names},
        "required": list(required),
        "additionalProperties": False,
    }


def _checklist(base: Rulebase) -> Schema:
    tables = read_checklist
    needs = _object(tables._NEEDS, {name: ref("texts") for name in tables._NEEDS[:-1]})
    repeat = _object(
        ("ask", "while", "at_most"), {"ask": ref("quantity")}, ("ask", "while", "at_most")
    )
    phase = _object(
        tables._PHASE,
        {
            "id": ref("kebab_id"),
            "stage": words(tables.STAGES),
            "repeat": repeat,
            "for each": words(tables.MEMBERS),
            "place": words(SPOTS),
            "unless": ref("conditions"),
            "steps": ref("steps"),
        },
        ("id", "title", "stage", "steps"),
    )
    checklist = _object(
        tables._CHECKLIST,
        {
            "id": ref("kebab_id"),
            "subject": {"anyOf": [ref("subject"), words((ANY,))]},
            "applies": ref("applies"),
            "not_for": ref("applies"),
            "needs": needs,
            "source": ref("source"),
            "phases": list_of(phase),
        },
        tables._REQUIRED,
    )
    return _object(("checklist",), {"checklist": checklist}, ("checklist",))


def _steps(base: Rulebase) -> Schema:
    return list_of({"anyOf": [_step(each, base) for each in STEP_TYPES]})


def _step(step_type: str, base: Rulebase) -> Schema:
    """A step of one type; what stands behind the type's key hangs on the type."""
    tables = read_checklist
    choices = [q.id for q in base.quantities.values() if q.is_choice]
    forms: Schema = {
        "id": ref("kebab_id"),
        "when": ref("conditions"),
        "unless": ref("conditions"),
        "applies": ref("applies"),
        "not_for": ref("applies"),
        "every": ref("measure"),
        "at_most": ref("count"),
        "until": {"anyOf": [words(choices), ref("snake_id")]},
        "does": one_or_more(words(base.works)),
        "protects": ref("yes_no"),
        "place": words(SPOTS),
        "after": ref("measure"),
        "since": ref("kebab_id"),
        "sheet": ref("quantity"),
        "short when": ref("conditions"),
        "short ask": one_or_more(ref("quantity")),
    }
    subject = {
        "caution": ref("caution"),
        "ask": ref("quantity"),
        "observe": ref("quantity"),
        "time": ref("quantity"),
        "show": one_or_more(ref("quantity")),
    }.get(step_type, ref("text"))
    if step_type == "watch":
        forms["ask"] = one_or_more(ref("quantity"))
    if step_type == "stop":
        forms |= {"until": ref("conditions"), "else": words(tables.OTHERWISE)}
        forms["back to"] = ref("kebab_id")
    if step_type == "search":
        foreign: Schema = {
            "when": ref("conditions"), "readings": one_or_more(ref("quantity")),
            "applies": ref("applies"), "not_for": ref("applies"),
        }  # fmt: skip
        forms |= {
            "hands over": {"type": "object", "additionalProperties": ref("texts")},
            "short names": {"type": "object", "additionalProperties": ref("quantity")},
            "not asked": list_of(_object(tables.FOREIGN, foreign, ("readings",))),
        }
    names = (step_type, *tables._ANY_STEP, *tables._MORE.get(step_type, ()))
    required = (step_type, *tables._NEEDED.get(step_type, ()))
    return _object(tuple(dict.fromkeys(names)), {**forms, step_type: subject}, required)


def _site(base: Rulebase) -> Schema:
    tables, facts = load_site, fact_words()
    forms: Schema = {
        "application": words((*facts["application"], NOT_KNOWN)),
        "defrost": words(facts["defrost"]),
        "invented": ref("yes_no"),
        "altitude": ref("measure"),
        "jurisdiction": words(facts["jurisdiction"]),
        "has": ref("texts"),
        "values": _values(base),
        "limits": _own_limits(base),
        "sheets": _sheets(base),
    }
    part = _object(tables._PART, forms, ("id",))
    circuit = _object(tables._CIRCUIT, {**forms, "cases": list_of(part)}, ("id",))
    rack = _object(
        tables._RACK,
        {**forms, "circuits": list_of(circuit), "compressors": list_of(part)},
        ("id",),
    )
    rack["anyOf"] = [
        {"required": ["group_of"]},
        {"required": ["refrigerant"]},
    ]  # a rack with groups leaves the application to them
    site = _object(tables._SITE, forms, ("name", "altitude"))
    forms = {"site": site, "racks": list_of(rack), "log": _log(base)}
    return _object(tables.SECTIONS, forms, ("site", "racks"))


def _log(base: Rulebase) -> Schema:
    """How a log of the store is read."""
    properties: Schema = {}
    for quantity in base.quantities.values():
        if quantity.given == "log":
            said = {"type": "object", "additionalProperties": ref("texts")}
            forms: Schema = {"words": said}
            if quantity.is_choice:
                said |= {"propertyNames": words(quantity.choices)}
                shown = _object(read_log.CHOICE, forms, ("column",))
            else:
                shown = _object(read_log.NUMBER, forms, read_log.NUMBER)
            properties[quantity.id] = {**shown, "description": quantity.title}
    read = {"type": "object", "properties": properties, "additionalProperties": False}
    entries = _object(read_log.COLUMNS, {"of": ref("texts"), "read": read}, read_log.COLUMNS)
    file = _object(read_log.FILE, {"separator": words(SEPARATORS), "decimal": words(DECIMALS)})
    time = _object(read_log.TIME, {}, ("column", "zone"))
    forms = {"time": time, "file": file, "no_value": ref("texts"), "columns": list_of(entries)}
    return _object(read_log.LOG, forms, ("time", "columns"))


def _values(base: Rulebase) -> Schema:
    """The quantities that a site file gives."""
    properties: Schema = {}
    for quantity in base.quantities.values():
        if quantity.given != "site":
            continue
        form = ref("text" if quantity.kind is Kind.TEXT else "measure")
        form = words(quantity.choices) if quantity.is_choice else form
        properties[quantity.id] = {**form, "description": quantity.title}
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _sheets(base: Rulebase) -> Schema:
    """The sheets of a rack: rows by weather and state."""
    properties: Schema = {}
    for quantity in base.quantities.values():
        if (sheet := quantity.sheet) is None:
            continue
        keys = (sheet.weather, *sheet.same, SAYS)
        forms: Schema = {
            name: words(base.quantities[name].choices) if name in sheet.same else ref("measure")
            for name in keys
        }
        rows = list_of(_object(keys, forms, keys))
        properties[quantity.id] = {**rows, "description": quantity.title}
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _own_limits(base: Rulebase) -> Schema:
    """Limits of the site's own, by quantity."""
    numbers = [q for q in base.quantities.values() if q.kind not in (Kind.CHOICE, Kind.TEXT)]
    return {
        "type": "object",
        "properties": {q.id: {**ref("own_limit"), "description": q.title} for q in numbers},
        "additionalProperties": False,
    }


def _own_limit() -> Schema:
    limit = LISTS["limits"]
    kept = tuple(key for key in limit.keys if key.name not in ("id", "of", "applies"))
    return entry(Shape(limit.what, kept), {"source": {"type": "string", "pattern": SITE_SOURCE}})
