"""Reads quantities, derived quantities and limits."""

from __future__ import annotations

import re
from collections.abc import Mapping

from expert.errors import nearest
from expert.knowledge.model import Derivation, Input, Limit, Quantity, Source
from expert.knowledge.reader import SOURCE_LABELS, Reader
from expert.knowledge.yaml_nodes import Fields, Node, Text
from expert.units.kinds import Kind
from expert.units.measure import difference_kind

SUBJECTS = ("site", "rack", "compressor", "circuit", "case")
TAKES = ("first", "last", "lowest", "highest")
_PHRASE = re.compile(r"^(?!not |known$)[A-Za-z0-9][A-Za-z0-9%/.,' -]*$")
_ID = re.compile(r"^[a-z][a-z0-9_]*$")
_LIMIT_ID = re.compile(r"^[a-z][a-z0-9-]*$")
_WORDS = (Kind.CHOICE, Kind.TEXT)
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
    if kind in _WORDS:
        # a mistyped kind was reported already, and its bands are not to blame
        numbers = [key for key in ("refuse", "unusual", "accuracy") if key in fields.fields]
        for key in numbers if word == kind else ():
            message = f"A {kind.value} has no '{key}:'."
            reader.problem("no-number", message, fields.key_place(key))
        return _quantity(fields, kind, reader, choices=choices)
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
        accuracy=None if kind in _WORDS else _accuracy(got.get("accuracy"), kind, reader),
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
    allowed = [key for key in _LIMIT if not quantity_id or key not in ("id", "of", "applies")]
    fields = reader.fields(node, "a limit", allowed, required)
    if fields is None:
        return None
    got = fields.fields
    of = quantity_id or reader.text(got["of"], "of")
    quantity = quantities.get(of)
    if quantity is None or quantity.kind in _WORDS:
        numbers = [each.id for each in quantities.values() if each.kind not in _WORDS]
        place = got["of"].place if "of" in got else fields.place
        reader.problem("unknown-quantity", f"'{of}' is no number.", place, nearest(of, numbers))
        return None
    low, high = _normal(got["normal"], quantity.kind, reader)
    if low is None and high is None:
        return None
    limit_id = reader.text(got.get("id"), "id", f"site-{of.replace('_', '-')}")
    if not _LIMIT_ID.match(limit_id):
        hint = "Small letters, digits and -; starts with a letter."
        reader.problem("bad-id", f"'{limit_id}' is no id.", fields.place, hint)
    limit = Limit(
        id=limit_id,
        quantity=of,
        source=_limit_source(got["source"], of, reader, at_site=bool(quantity_id)),
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


def _limit_source(node: Node, of: str, reader: Reader, *, at_site: bool) -> Source:
    """The source of a limit; a site file's own limits, and only those, are of the site."""
    source = reader.source(node, f"the limit of {of}")
    if at_site != (source.label == "site") and source.label in SOURCE_LABELS:
        site = "The source of a site's own limit starts with 'site:'."
        message = site if at_site else "Only a limit of a site file has the source 'site'."
        reader.problem("unknown-source", message, node.place)
    return source


def _normal(node: Node, kind: Kind, reader: Reader) -> tuple[float | None, float | None]:
    """`15 to 20 psi`, `at least 3 psi`, `at most 2 psi`."""
    text = reader.text(node, "normal")
    if not text:
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
