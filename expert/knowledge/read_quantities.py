"""Reads quantities and derived quantities."""

from __future__ import annotations

import re
from collections.abc import Mapping

from expert.knowledge.derivation_model import Derivation, Input
from expert.knowledge.keys import DERIVED, QUANTITY, RANGE
from expert.knowledge.model import Quantity, Range
from expert.knowledge.read_accuracies import read_accuracies
from expert.knowledge.read_sheet import read_sheet
from expert.knowledge.reader import Reader, id_hint
from expert.knowledge.where import SPOTS
from expert.knowledge.yaml_nodes import Fields, Node, Text, places_in
from expert.made_when_used import altered
from expert.units.kinds import Kind
from expert.units.measure import difference_kind
from expert.units.parse import units_typed

SUBJECTS = ("site", "rack", "compressor", "circuit", "case")
PHASES = ("cooling", "defrost")
TAKES = ("first", "last", "lowest", "highest")
_PHRASE = re.compile(r"^(?!not |known$)[A-Za-z0-9][A-Za-z0-9%/.,' -]*$")
_ID = re.compile(r"^[a-z][a-z0-9_]*$")
_LIMIT_ID = re.compile(r"^[a-z][a-z0-9-]*$")
_WORDS = (Kind.CHOICE, Kind.TEXT)


def read_quantity(node: Node, reader: Reader) -> Quantity | None:
    """A measured, observed or site-given quantity."""
    fields = reader.entry(node, QUANTITY)
    if fields is None:
        return None
    kinds = [kind.value for kind in Kind]
    problems_before = len(reader.problems)
    kind = Kind(reader.word(fields.fields["kind"], "kind of quantity", kinds) or "text")
    mistyped = len(reader.problems) > problems_before
    choices = _choices(fields.fields.get("choices"), reader)
    if kind is Kind.CHOICE and not choices:
        hint = "Add for example 'choices: [open, shut]'."
        message = "A choice needs 'choices:', the words it is answered with."
        reader.problem("choices", message, fields.place, hint)
    elif choices and kind is not Kind.CHOICE and not mistyped:
        place = fields.key_place("choices")
        hint = "Write 'kind: choice', or leave the choices out."
        reader.problem(
            "choices", "This is no choice, and only a choice has 'choices:'.", place, hint
        )
    if kind in _WORDS:
        named = ("refuse", "unusual", "ranges", "accuracy", "accuracy_by")
        numbers = [key for key in named if key in fields.fields]
        for key in () if mistyped else numbers:
            message = f"A {kind.value} has no '{key}:'."
            reader.problem("no-number", message, fields.key_place(key))
        return _quantity(fields, kind, reader, choices=choices)
    got = fields.fields
    refuse = _band(got.get("refuse"), kind, reader)
    unusual = _band(got.get("unusual"), kind, reader)
    found = _quantity(fields, kind, reader, choices=choices, refuse=refuse, unusual=unusual)
    ranges = (_range(item, kind, reader) for item in reader.items(got.get("ranges"), "ranges"))
    return altered(found, ranges=tuple(each for each in ranges if each is not None))


def _range(node: Node, kind: Kind, reader: Reader) -> Range | None:
    fields = reader.entry(node, RANGE)
    if fields is None:
        return None
    got = fields.fields
    return Range(
        reader.applies(got["applies"]),
        reader.source(got["source"], "this range"),
        _band(got.get("refuse"), kind, reader),
        _band(got.get("unusual"), kind, reader),
    )


def read_derived(
    node: Node, outputs: Mapping[str, tuple[Kind, frozenset[str]]], reader: Reader
) -> Quantity | None:
    """A computed quantity; `outputs` gives kind and input names of each physics function."""
    fields = reader.entry(node, DERIVED)
    if fields is None:
        return None
    function = reader.word(fields.fields["function"], "function of the physics catalogue", outputs)
    if not function:
        return None
    kind, wanted = outputs[function]
    inputs = _inputs(fields.fields["inputs"], wanted, function, reader)
    kinds = _kinds(fields.fields.get("kinds"), reader)
    return _quantity(fields, kind, reader, derivation=Derivation(function, inputs, kinds))


def _kinds(node: Node | None, reader: Reader) -> dict[str, tuple[str, ...]]:
    if node is None:
        return {}
    if not isinstance(node, Fields):
        hint = "Write 'kinds: {condenser_kind: [air cooled]}'."
        reader.problem("kinds", "'kinds' names quantities with their choices.", node.place, hint)
        return {}
    return {name: reader.texts(value, name) for name, value in node.fields.items()}


def _quantity(
    fields: Fields,
    kind: Kind,
    reader: Reader,
    *,
    choices: Mapping[str, str] | None = None,
    refuse: tuple[float | None, float | None] = (None, None),
    unusual: tuple[float | None, float | None] = (None, None),
    derivation: Derivation | None = None,
) -> Quantity:
    got = fields.fields
    quantity_id = reader.text(got["id"], "id")
    if not _ID.match(quantity_id):
        hint = id_hint(quantity_id, snake=True)
        reader.problem("bad-id", f"'{quantity_id}' is no id.", got["id"].place, hint)
    return Quantity(
        id=quantity_id,
        title=reader.text(got["title"], "title"),
        subject=reader.word(got["subject"], "subject", SUBJECTS, "circuit"),
        kind=kind,
        source=reader.source(got["source"], quantity_id),
        where=reader.text(got.get("where"), "where"),
        instrument=reader.text(got.get("with"), "with"),
        accuracy=None if kind in _WORDS else _accuracy(got.get("accuracy"), kind, reader),
        accuracy_by={} if kind in _WORDS else read_accuracies(got.get("accuracy_by"), kind, reader),
        refuse_below=refuse[0],
        refuse_above=refuse[1],
        unusual_below=unusual[0],
        unusual_above=unusual[1],
        choices=choices or {},
        fitted=_choices(got.get("fitted"), reader),
        given=reader.word(got.get("given"), "way of giving", ("site", "log")),
        carried_over=reader.word(got.get("carried_over"), "answer", ("yes", "no"), "no") == "yes",
        stays=reader.word(got.get("stays"), "answer", ("yes", "no"), "no") == "yes",
        during=reader.word(got.get("during"), "phase", PHASES),
        applies=reader.applies(got.get("applies")),
        not_for=reader.applies(got.get("not_for")),
        asked_when=reader.conditions(got.get("asked_when"), "asked_when"),
        effort=reader.whole(got.get("effort"), "effort [minutes]", 1, 1440, 1),
        cautions=reader.texts(got.get("cautions"), "cautions"),
        derivation=derivation,
        sheet=read_sheet(got.get("sheet"), reader),
        also=reader.texts(got.get("also"), "also"),
        unit=_unit(got.get("unit"), kind, reader),
        spot=reader.word(got.get("place"), "place", SPOTS),
        place=fields.place,
        places=places_in(fields),
    )


def _unit(node: Node | None, kind: Kind, reader: Reader) -> str:
    known = () if kind in _WORDS else units_typed(kind)
    return "" if node is None else reader.word(node, f"unit of a {kind.value}", known)


def _choices(node: Node | None, reader: Reader) -> dict[str, str]:
    if isinstance(node, Fields):
        found = {key: reader.text(value, key) for key, value in node.fields.items()}
    else:
        phrases = reader.texts(node, "choices")
        found = dict.fromkeys(phrases, "")
        if node is not None and len(found) < len(phrases):
            reader.problem("bad-choice", "A choice stands here twice.", node.place)
    for phrase in found:
        if node is not None and not _PHRASE.match(phrase):
            reader.problem("bad-choice", f"'{phrase}' cannot be a choice.", node.place)
    return found


def _accuracy(node: Node | None, kind: Kind, reader: Reader) -> float | None:
    value = reader.measure(node, "accuracy", difference_kind(kind))
    if value is not None and value < 0 and node is not None:
        reader.problem("bad-accuracy", "An accuracy is a plus/minus: no sign.", node.place)
        return None
    return value


def _band(node: Node | None, kind: Kind, reader: Reader) -> tuple[float | None, float | None]:
    """`below A, above B` to its two edges."""
    edges: dict[str, float | None] = {"below": None, "above": None}
    if node is None:
        return None, None
    text = reader.text(node, "band")
    for part in [piece.strip() for piece in text.split(",")] if isinstance(node, Text) else ():
        word, _, measure = part.partition(" ")
        if word not in edges or edges[word] is not None:
            reader.problem(
                "bad-band", f"Cannot read '{part}'.", node.place,
                "Write 'below 0 psig, above 600 psig'; either half may be left out.",
            )  # fmt: skip
        else:
            edges[word] = reader.measure_text(measure, node.place, kind)
    below, above = edges["below"], edges["above"]
    if below is not None and above is not None and below >= above:
        reader.problem("bad-band", f"'{text}' leaves nothing between.", node.place)
    return below, above


def _inputs(node: Node, wanted: frozenset[str], function: str, reader: Reader) -> dict[str, Input]:
    fields = reader.fields(node, f"the inputs of {function}", wanted, sorted(wanted))
    if fields is None:
        return {}
    inputs = {}
    for name, value in fields.fields.items():
        if isinstance(value, Text):
            inputs[name] = Input(reader.text(value, name))
        elif more := reader.fields(value, "an input", ("of", "take", "nearer"), ("of",)):
            inputs[name] = Input(
                reader.text(more.fields["of"], "of"),
                reader.word(more.fields.get("take"), "way to take a series", TAKES, "last"),
                reader.text(more.fields.get("nearer"), "nearer"),
            )
    return inputs
