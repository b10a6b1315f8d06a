"""What may stand behind a key, as JSON Schema: one definition for each form of `knowledge/keys.py`.

Names that a file may itself add (quantities, causes, signs ...) are offered for completion and
not closed: whether such a name exists is told by `rackwalk rules check`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from expert.knowledge.entry_model import APPLIES_KEYS, FACTS, SAFETY_CLASSES
from expert.knowledge.fact_words import fact_words
from expert.knowledge.hazard_model import IF_NO, MEANINGS
from expert.knowledge.influence_model import DIRECTIONS
from expert.knowledge.key_shapes import Shape
from expert.knowledge.keys import RANGE, SATURATION_ROW, TEST
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.read_influences import ENDS, MOVES
from expert.knowledge.read_limits import LOWER, UPPER
from expert.knowledge.read_quantities import PHASES, SUBJECTS, TAKES
from expert.knowledge.read_rules import ACCESS, CAUSE_SUBJECTS, MET, URGENCIES
from expert.knowledge.read_sheet import SHEET
from expert.knowledge.read_tests import EXPECTATIONS
from expert.knowledge.resolve import NUMBER_STATES
from expert.knowledge.where import SPOTS
from expert.physics.frame.catalog import CATALOG
from expert.units.kinds import Kind

Schema = dict[str, object]

KEBAB = "^[a-z][a-z0-9-]*$"
SNAKE = "^[a-z][a-z0-9_]*$"
SOURCE = r"^(published: *\S.*|company: *\S.*|(common practice|from memory|computed)(:.*)?)$"
SITE_SOURCE = r"^site(:.*)?$"
_NAME = "[a-z][a-z0-9_]*"
_COMMON = (
    rf"^(({_NAME} is (not )?[A-Za-z0-9].*)|((not )?{_NAME})"
    rf"|({_NAME} (rises|falls|reaches|becomes|holds)( .*)?)|([^<>=]+(<=?|>=?)[^<>=]+))$"
)
_PLAIN_ONE = r"^(?!.* (and|or) [a-z0-9_]+ is ).*$"
_GROUP = (
    r"^(any|all|as found|as left|at least \d+ of"
    r"|(every|any|no|most|at least \d+) (circuit|compressor|case)s?)$"
)
_ENDS = "|".join((*LOWER, *UPPER))
_SCALAR: Schema = {"type": ["string", "number", "boolean"]}


def ref(name: str) -> Schema:
    """A reference to one of the definitions."""
    return {"$ref": f"#/$defs/{name}"}


def words(known: Iterable[str]) -> Schema:
    """One of some words; editors that read yes and no as truth values may."""
    listed: list[object] = list(known)
    if "yes" in listed or "no" in listed:
        listed += [True, False]
    return {"enum": listed}


def list_of(item: Schema) -> Schema:
    """A list; nothing in it is allowed."""
    return {"type": "array", "items": item}


def one_or_more(item: Schema) -> Schema:
    """One alone, or a list."""
    return {"anyOf": [item, list_of(item)]}


def entry(shape: Shape, changed: Mapping[str, Schema] | None = None) -> Schema:
    """An entry with the keys of a shape; `changed` puts other forms behind some of them."""
    forms = dict(changed or {})
    return {
        "type": "object",
        "properties": {
            key.name: {**forms.get(key.name, ref(key.form)), "description": key.says}
            for key in shape.keys
        },
        "required": list(shape.required),
        "additionalProperties": False,
    }


def definitions(base: Rulebase) -> Schema:
    """Every form, with the names that a rulebase knows."""
    quantities = base.quantities.values()
    numbers = [q for q in quantities if q.kind not in (Kind.CHOICE, Kind.TEXT)]
    known = {q.id: q.title for q in quantities}
    cautions = {each.id: each.title for each in base.cautions.values()}
    causes = {each.id: each.title for each in base.causes.values()}
    signs = {each.id: each.says for each in base.signs.values()}
    states = {each.id: each.title for each in base.plant_states.values()}
    ways = {each.id: each.title for each in base.ways.values()}
    actions = {each.action: each.first for each in base.gates.values()}
    strength = words(base.certainty.strengths)
    return {
        **_plain_forms(),
        "function": {"anyOf": [_described(n, f.title) for n, f in CATALOG.items()]},
        "quantity": _open({each: title for each, title in known.items()}, SNAKE),
        "quantities": list_of(ref("quantity")),
        "number_quantity": _open({q.id: q.title for q in numbers}, SNAKE),
        "caution": _open(cautions, KEBAB),
        "cautions": list_of(ref("caution")),
        "cause": _open(causes, KEBAB),
        "causes": list_of(ref("cause")),
        "sign": _open(signs, SNAKE),
        "signs": list_of(ref("sign")),
        "plant_state": _open(states, SNAKE),
        "acts_on": {
            "type": "object",
            "properties": {
                each: {**words(["high", "low", "either"]), "description": title}
                for each, title in states.items()
            },
            "patternProperties": {SNAKE: words(["high", "low", "either"])},
            "additionalProperties": False,
        },
        "accuracy_by": {
            "type": "object",
            "properties": {
                each: {**ref("measure"), "description": title} for each, title in ways.items()
            },
            "patternProperties": {KEBAB: ref("measure")},
            "additionalProperties": False,
        },
        "shows": {
            "type": "object",
            "properties": {
                each.quantity: {**ref("word_shares"), "description": known[each.quantity]}
                for each in base.usual_words.values()
            },
            "patternProperties": {SNAKE: ref("word_shares")},
            "additionalProperties": False,
        },
        "seen_in": list_of(
            {"anyOf": [ref("quantity"), _object({each: ref("conditions") for each in DIRECTIONS})]}
        ),
        "limit": _open({each.id: each.quantity for each in base.limits}, KEBAB),
        "rule": _open({each.id: each.because for each in base.rules.values()}, KEBAB),
        "strength": strength,
        "evidence": {
            "type": "object",
            "properties": {
                each: {**ref("strength"), "description": title} for each, title in causes.items()
            },
            "patternProperties": {KEBAB: ref("strength")},
            "additionalProperties": False,
        },
        "finds": {
            "type": "object",
            "properties": {
                each: {**ref("certainty_word"), "description": title}
                for each, title in causes.items()
            },
            "patternProperties": {KEBAB: ref("certainty_word")},
            "additionalProperties": False,
        },
        "certainty_word": words(base.certainty.words_of_tests),
        "remedies": list_of(
            {"anyOf": [ref("text"), _object({"action": _open(actions, KEBAB), "text": ref("text")},
                                            ("action", "text"))]}
        ),
        "condition": {
            "anyOf": [
                {"type": "string", "allOf": [{"pattern": _COMMON}, {"pattern": _PLAIN_ONE}]},
                {"enum": list(_conditions(quantities, signs))},
                {
                    "type": "object",
                    "patternProperties": {_GROUP: {**ref("conditions"), "minItems": 1}},
                    "additionalProperties": False,
                    "minProperties": 1,
                    "maxProperties": 1,
                },
            ]
        },
        "conditions": list_of(ref("condition")),
        "given_values": {
            "type": "object",
            "properties": {**{q.id: _given(q) for q in quantities},
                           **{sign: {**words(["yes", "no"]), "description": says}
                              for sign, says in signs.items()}},
            "patternProperties": {SNAKE: one_or_more(ref("text"))},
            "additionalProperties": False,
        },
        "given_members": {"type": "object", "additionalProperties": ref("given_values")},
        "tests": list_of(entry(TEST)),
    }  # fmt: skip


def _plain_forms() -> Schema:
    """The forms that hang on no name of a rulebase."""
    facts = {key: words(fact_words()[key]) if key in fact_words() else ref("text") for key in FACTS}
    facts["has"] = ref("texts")
    plants = {**facts, "safety_class": words(SAFETY_CLASSES)}
    return {
        "text": _SCALAR,
        "texts": one_or_more(_SCALAR),
        "snake_id": {"type": "string", "pattern": SNAKE},
        "kebab_id": {"type": "string", "pattern": KEBAB},
        "source": {"type": "string", "pattern": SOURCE},
        "date": {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"},
        "measure": {"anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^[-+.,\d]"}]},
        "share": {"type": ["number", "string"], "minimum": 0, "maximum": 1},
        "count": {"type": ["integer", "string"], "minimum": 1, "pattern": r"^\d+$"},
        "edges": {"type": "string", "pattern": r"^(below|above) [^,]+(, *(below|above) [^,]+)?$"},
        "normal": {"type": "string", "pattern": rf"^(({_ENDS}).+|[-+.\d].* to .+)$"},
        "kind": words(kind.value for kind in Kind),
        "subject": words(SUBJECTS),
        "cause_subject": words(CAUSE_SUBJECTS),
        "urgency": words(URGENCIES),
        "expectation": words(EXPECTATIONS),
        "yes_no": words(["yes", "no"]),
        "phase": words(PHASES),
        "spot": words(SPOTS),
        "met": words(MET),
        "moves": words(MOVES),
        "subjects": list_of(words(SUBJECTS)),
        "direction": words(ENDS),
        "access": words(ACCESS),
        "if_no": words(IF_NO),
        "meaning": words(MEANINGS),
        "given": words(["site", "log"]),
        "choices": {"anyOf": [list_of(_SCALAR), {"type": "object"}]},
        "inputs": {
            "type": "object",
            "additionalProperties": {
                "anyOf": [
                    ref("quantity"),
                    _object(
                        {
                            "of": ref("quantity"),
                            "take": words(TAKES),
                            "nearer": ref("quantity"),
                        },
                        ("of",),
                    ),
                ]
            },
        },
        "sheet": _object(
            {
                "of": ref("quantity"),
                "weather": ref("quantity"),
                "within": ref("measure"),
                "same": ref("quantities"),
            },
            SHEET[:3],
        ),
        "kinds": {"type": "object", "additionalProperties": list_of(_SCALAR)},
        "facts": _object(facts),
        "applies": _object({key: one_or_more(plants[key]) for key in APPLIES_KEYS}),
        "ranges": list_of(entry(RANGE)),
        "accuracies": _object(
            {each.value: ref("measure") for each in Kind if each not in (Kind.CHOICE, Kind.TEXT)}
        ),
        "cannot_tell": _object({"what": ref("text"), "read": ref("quantities")}, ("what", "read")),
        "strengths": {"type": "object", "additionalProperties": ref("share")},
        "word_shares": {"type": "object", "additionalProperties": ref("share")},
        "safety_class": words(SAFETY_CLASSES),
        "gwp": {"type": ["number", "string"], "minimum": 0, "pattern": r"^[\d.]+$"},
        "composition": {"type": "object", "additionalProperties": ref("measure")},
        "saturation_rows": list_of(entry(SATURATION_ROW)),
        "words": list_of(_object({"from": ref("share"), "say": ref("text")}, ("from", "say"))),
    }


def _object(properties: Mapping[str, Schema], required: Iterable[str] = ()) -> Schema:
    return {
        "type": "object",
        "properties": dict(properties),
        "required": list(required),
        "additionalProperties": False,
    }


def _described(name: str, says: str) -> Schema:
    return {"const": name, "description": says}


def _open(known: Mapping[str, str], pattern: str) -> Schema:
    """A known name, each with what it is, or another of that form."""
    return {
        "anyOf": [
            {"type": "string", "pattern": pattern},
            *(_described(name, says) for name, says in known.items()),
        ]
    }


def _given(quantity: Quantity) -> Schema:
    """What a test may give for a quantity."""
    form = ref("text") if quantity.kind is Kind.TEXT else ref("measure")
    if quantity.is_choice:
        timed = {"type": "string", "pattern": r".+ at \d"}
        form = {"anyOf": [words(quantity.choices), timed]}
    return {**one_or_more(form), "description": quantity.title}


def _conditions(quantities: Iterable[Quantity], signs: Iterable[str]) -> Iterable[str]:
    """Every plain condition that can be offered."""
    for quantity in quantities:
        states = tuple(quantity.choices) if quantity.is_choice else NUMBER_STATES
        if quantity.kind is not Kind.TEXT:
            yield from (f"{quantity.id} is {state}" for state in states)
    for sign in signs:
        yield sign
        yield f"not {sign}"
