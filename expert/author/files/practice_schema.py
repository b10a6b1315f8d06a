"""The JSON Schema of a file of exercises, from the table by which it is read."""

from __future__ import annotations

from expert.author.files.schema_forms import Schema, entry, list_of, ref, words
from expert.knowledge.model import Rulebase
from expert.plant.faults import WEATHERS, faults
from expert.practice.setting_keys import ALARM, AMOUNT, FAULT, PLANT, SECTIONS
from expert.practice.setting_model import APPLICATIONS, LEVELS, STARTS, VALUES, WAYS


def practice_schema(base: Rulebase) -> Schema:
    """The body of the schema."""
    sections: Schema = {name: list_of(entry(shape)) for name, shape in SECTIONS.items()}
    return {"type": "object", "properties": sections, "additionalProperties": False}


def practice_forms(base: Rulebase) -> Schema:
    """The forms that only such files have."""
    fault: Schema = {"enum": sorted(faults())}
    return {
        "fault": fault,
        "faults": list_of(fault),
        "severities": list_of(entry(FAULT)),
        "plant": entry(PLANT),
        "amount": entry(AMOUNT),
        "alarm": entry(ALARM),
        "level": words(LEVELS),
        "weather": words(WEATHERS),
        "application": words(APPLICATIONS),
        "start": words(STARTS),
        "way": words(WAYS),
        "plant_value": words(VALUES),
        "seed": {"type": ["integer", "string"], "minimum": 0, "pattern": r"^\d+$"},
        "action": {"enum": sorted({each.action for each in base.gates.values()})},
        "gives": {"type": "object", "additionalProperties": ref("text")},
    }
