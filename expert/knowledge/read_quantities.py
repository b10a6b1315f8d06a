"""Reads quantities, derived quantities and limits."""

from __future__ import annotations

import re
from collections.abc import Mapping

from expert.errors import Place, nearest
from expert.knowledge.model import Derivation, Input, Limit, Quantity, Source
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text
from expert.units.kinds import Kind
from expert.units.measure import difference_kind

SUBJECTS = ("site", "rack", "compressor", "circuit", "case")
TAKES = ("first", "last", "lowest", "highest")
_PHRASE = re.compile(r"^[A-Za-z0-9][A-Za-z0-9%/.,' -]*$")
_ID = re.compile(r"^[a-z][a-z0-9_]*$")
_COMMON = ("id", "title", "subject", "where", "with", "accuracy", "effort", "cautions", "source")
_MEASURED = (*_COMMON, "kind", "refuse", "unusual", "choices", "given")
_DERIVED = (*_COMMON, "function", "inputs")
_LIMIT = (
    "id", "of", "applies", "normal", "very_low", "very_high", "cannot_judge_when", "source", "note",
)  # fmt: skip


def read_quantity(node: Node, reader: Reader) -> Quantity | None:
    """A measured, observed or site-given quantity."""
    fields = reader.fields(
        node, "a quantity", _MEASURED, ("id", "title", "subject", "kind", "source")
    )
    if fields is None:
        return None
    kinds = [kind.value for kind in Kind]
    word = reader.word(fields.fields["kind"], "kind of quantity", kinds, "text")
    kind = Kind(word)
    choices = _choices(fields.fields.get("choices"), reader)
    if (kind is Kind.CHOICE) != bool(choices):
        reader.problem(
            "choices", "A choice needs 'choices:', and only a choice has them.", fields.place
        )
    refuse = _band(fields.fields.get("refuse"), kind, reader)
    unusual = _band(fields.fields.get("unusual"), kind, reader)
    return _quantity(fields, kind, reader, choices=choices, refuse=refuse, unusual=unusual)


def read_derived(
    node: Node, outputs: Mapping[str, tuple[Kind, frozenset[str]]], reader: Reader
) -> Quantity | None:
    """A computed quantity; `outputs` gives kind and input names of each physics function."""
    fields = reader.fields(
        node, "a derived value", _DERIVED, ("id", "title", "subject", "function", "inputs", "source")
    )
    if fields is None:
        return None
    function = reader.word(fields.fields["function"], "function of the physics catalogue", outputs)
    if not function:
        return None
    kind, wanted = outputs[function]
    inputs = _inputs(fields.fields["inputs"], wanted, function, reader)
    return _quantity(fields, kind, reader, derivation=Derivation(function, inputs))


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
        reader.problem(
            "bad-id", f"'{quantity_id}' is no id.", got["id"].place,
            "Small letters, digits and _; starts with a letter.",
        )  # fmt: skip
    return Quantity(
        id=quantity_id,
        title=reader.text(got["title"], "title"),
        subject=reader.word(got["subject"], "subject", SUBJECTS, "circuit"),
        kind=kind,
        source=reader.source(got["source"], quantity_id),
        where=reader.text(got.get("where"), "where"),
        instrument=reader.text(got.get("with"), "with"),
        accuracy=reader.measure(got.get("accuracy"), "accuracy", difference_kind(kind)),
        refuse_below=refuse[0],
        refuse_above=refuse[1],
        unusual_below=unusual[0],
        unusual_above=unusual[1],
        choices=choices or {},
        given=reader.word(got.get("given"), "way of giving", ("site",)),
        effort=reader.whole(got.get("effort"), "effort [minutes]", 1, 1440, 1),
        cautions=reader.texts(got.get("cautions"), "cautions"),
        derivation=derivation,
        place=fields.place,
    )


def _choices(node: Node | None, reader: Reader) -> dict[str, str]:
    if isinstance(node, Fields):
        found = {key: reader.text(value, key) for key, value in node.fields.items()}
    else:
        found = dict.fromkeys(reader.texts(node, "choices"), "")
    for phrase in found:
        if node is not None and (not _PHRASE.match(phrase) or phrase.startswith("not ")):
            reader.problem("bad-choice", f"'{phrase}' cannot be a choice.", node.place)
    return found


def _band(node: Node | None, kind: Kind, reader: Reader) -> tuple[float | None, float | None]:
    """`below A, above B` to its two edges."""
    text = reader.text(node, "band")
    edges: dict[str, float | None] = {"below": None, "above": None}
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        word, _, measure = part.partition(" ")
        if word not in edges or node is None:
            reader.problem(
                "bad-band", f"Cannot read '{part}'.", node.place if node else Place(""),
                "Write 'below 0 psig, above 600 psig'; either half may be left out.",
            )  # fmt: skip
        else:
            edges[word] = reader.measure_text(measure, node.place, kind)
    return edges["below"], edges["above"]


def _inputs(
    node: Node, wanted: frozenset[str], function: str, reader: Reader
) -> dict[str, Input]:
    fields = reader.fields(node, f"the inputs of {function}", wanted, sorted(wanted))
    if fields is None:
        return {}
    inputs = {}
    for name, value in fields.fields.items():
        if isinstance(value, Text):
            inputs[name] = Input(reader.text(value, name))
        elif series := reader.fields(value, "an input", ("of", "take"), ("of", "take")):
            inputs[name] = Input(
                reader.text(series.fields["of"], "of"),
                reader.word(series.fields["take"], "way to take a series", TAKES, "last"),
            )
    return inputs


def read_limit(
    node: Node,
    quantities: Mapping[str, Quantity],
    reader: Reader,
    *,
    quantity_id: str = "",
    applies: Mapping[str, tuple[str, ...]] | None = None,
) -> Limit | None:
    """A limit; `quantity_id` is given where a site file sets the limit of a quantity."""
    required = ("normal", "source") if quantity_id else ("id", "of", "normal", "source")
    fields = reader.fields(node, "a limit", _LIMIT, required)
    if fields is None:
        return None
    got = fields.fields
    of = quantity_id or reader.text(got["of"], "of")
    quantity = quantities.get(of)
    if quantity is None or quantity.is_choice or quantity.kind is Kind.TEXT:
        numbers = [each.id for each in quantities.values() if not each.is_choice]
        place = got["of"].place if "of" in got else fields.place
        reader.problem("unknown-quantity", f"'{of}' is no number.", place, nearest(of, numbers))
        return None
    low, high = _normal(got["normal"], quantity.kind, reader)
    limit = Limit(
        id=reader.text(got.get("id"), "id") or f"site-{of}",
        quantity=of,
        source=_limit_source(got["source"], of, reader),
        low=low,
        high=high,
        very_low=reader.measure(got.get("very_low"), "very_low", quantity.kind),
        very_high=reader.measure(got.get("very_high"), "very_high", quantity.kind),
        applies=reader.applies(got.get("applies")) if applies is None else applies,
        cannot_judge_when=reader.conditions(got.get("cannot_judge_when"), "cannot_judge_when"),
        note=reader.text(got.get("note"), "note"),
        place=fields.place,
    )
    edges = [limit.very_low, limit.low, limit.high, limit.very_high]
    rising = [edge for edge in edges if edge is not None]
    if rising != sorted(rising) or (limit.very_low is not None and limit.low is None) or (
        limit.very_high is not None and limit.high is None
    ):
        reader.problem(
            "band-order",
            f"The edges of '{limit.id}' must rise: very low, normal from, normal to, very high.",
            fields.place,
        )
    return limit


def _limit_source(node: Node, of: str, reader: Reader) -> Source:
    return reader.source(node, f"the limit of {of}")


def _normal(node: Node, kind: Kind, reader: Reader) -> tuple[float | None, float | None]:
    """`15 to 20 psi`, `at least 3 psi`, `at most 2 psi`."""
    text = reader.text(node, "normal")
    if isinstance(node, Items) or not text:
        return None, None
    if text.startswith("at least "):
        return reader.measure_text(text[9:], node.place, kind), None
    if text.startswith("at most "):
        return None, reader.measure_text(text[8:], node.place, kind)
    first, to, second = text.partition(" to ")
    if not to:
        reader.problem(
            "bad-band", f"Cannot read '{text}'.", node.place,
            "Write '15 to 20 psi', 'at least 3 psi' or 'at most 2 psi'.",
        )  # fmt: skip
        return None, None
    unit = re.sub(r"^[-+]?[\d.]+", "", second).strip()
    if re.fullmatch(r"[-+]?[\d.]+", first.strip()):
        first = f"{first} {unit}"
    return reader.measure_text(first, node.place, kind), reader.measure_text(
        second, node.place, kind
    )
