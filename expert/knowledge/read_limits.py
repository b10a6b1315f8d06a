"""Reads limits and what a company pack says of the limits below it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from expert.errors import Place, nearest
from expert.knowledge.keys import LIMIT
from expert.knowledge.model import Limit, Quantity
from expert.knowledge.reader import SOURCE_LABELS, Reader, id_hint
from expert.knowledge.source import Source
from expert.knowledge.yaml_nodes import Fields, Node, places_in
from expert.made_when_used import dataclass
from expert.units.kinds import Kind
from expert.units.measure import format_value

WORD_KINDS = (Kind.CHOICE, Kind.TEXT)
BAND_FORMS = "Write '15 to 20 psi', 'at least 3 psi' or 'at most 2 psi'."
# Other words for an end of the band: within the accuracy of any instrument they mean the same.
LOWER = ("at least ", "more than ", "over ", "above ", "no less than ", "not less than ")
UPPER = ("at most ", "less than ", "under ", "below ", "up to ", "no more than ", "not more than ")
_LIMIT_ID = re.compile(r"^[a-z][a-z0-9-]*$")
_LEADING = re.compile(r"^[-+]?[\d.]+")


@dataclass(frozen=True)
class Edges:
    """The four edges of a band in SI, None where there is none."""

    very_low: float | None = None
    low: float | None = None
    high: float | None = None
    very_high: float | None = None


def read_limit(
    node: Node,
    quantities: Mapping[str, Quantity],
    reader: Reader,
    *,
    quantity_id: str = "",
    applies: Mapping[str, tuple[str, ...]] | None = None,
) -> Limit | None:
    """A limit; `quantity_id` is given where a site file sets the limit of a quantity."""
    if quantity_id:
        allowed = [key for key in LIMIT.names if key not in ("id", "of", "applies")]
        fields = reader.fields(node, LIMIT.what, allowed, ("normal", "source"), LIMIT)
    else:
        fields = reader.entry(node, LIMIT)
    if fields is None:
        return None
    got = fields.fields
    of = quantity_id or reader.text(got["of"], "of")
    quantity = quantities.get(of)
    if quantity is None or quantity.kind in WORD_KINDS:
        place = got["of"].place if "of" in got else fields.place
        _no_number(of, quantity, quantities, place, reader)
        return None
    edges = read_edges(fields, quantity.kind, reader)
    if edges.low is None and edges.high is None:
        return None
    limit_id = reader.text(got.get("id"), "id", f"site-{of.replace('_', '-')}")
    if not _LIMIT_ID.match(limit_id):
        place = got["id"].place if "id" in got else fields.place
        reader.problem("bad-id", f"'{limit_id}' is no id.", place, id_hint(limit_id))
    check_rising(edges, quantity.kind, limit_id, fields, reader)
    return Limit(
        id=limit_id,
        quantity=of,
        source=_limit_source(got["source"], of, reader, at_site=bool(quantity_id)),
        low=edges.low,
        high=edges.high,
        very_low=edges.very_low,
        very_high=edges.very_high,
        applies=reader.applies(got.get("applies")) if applies is None else applies,
        cannot_judge_when=reader.conditions(got.get("cannot_judge_when"), "cannot_judge_when"),
        note=reader.text(got.get("note"), "note"),
        place=fields.place,
        places=places_in(fields),
    )


def read_edges(fields: Fields, kind: Kind, reader: Reader) -> Edges:
    """The edges that an entry names under normal, very_low and very_high."""
    got = fields.fields
    low, high = _normal(got["normal"], kind, reader) if "normal" in got else (None, None)
    return Edges(
        reader.measure(got.get("very_low"), "very_low", kind),
        low,
        high,
        reader.measure(got.get("very_high"), "very_high", kind),
    )


def check_rising(edges: Edges, kind: Kind, name: str, fields: Fields, reader: Reader) -> None:
    """A problem where the edges do not rise, or an outer one has no inner one beside it."""
    for outer, inner, word in (
        ("very_low", edges.low, "at least A"),
        ("very_high", edges.high, "at most B"),
    ):
        if getattr(edges, outer) is not None and inner is None:
            reader.problem(
                "band-order", f"'{name}' has '{outer}:', and its normal band has no edge there.",
                fields.key_place(outer), f"Write 'normal: A to B' or '{word}', or leave it out.",
            )  # fmt: skip
            return
    named = [
        (said, key, value)
        for said, key, value in (
            ("very_low", "very_low", edges.very_low),
            ("the lower end of normal", "normal", edges.low),
            ("the upper end of normal", "normal", edges.high),
            ("very_high", "very_high", edges.very_high),
        )
        if value is not None
    ]
    for (said, key, lower), (above, next_key, upper) in pairwise(named):
        if lower > upper:
            at, upper_text = format_value(kind, lower), format_value(kind, upper)
            message = f"The edges of '{name}' must rise: {said} is {at}, {above} is {upper_text}."
            both = (key, next_key) if key == "very_low" else (next_key, key)
            wrong = next((each for each in both if each in fields.fields), key)
            hint = "From low to high; swap or correct them."
            reader.problem("band-order", message, fields.key_place(wrong), hint)
            return


def with_edges(limit: Limit, edges: Edges) -> Edges:
    """The edges of a limit with those that are named put in their place.

    A new normal band replaces the old one whole, also where it has only one edge.
    """
    own = Edges(limit.very_low, limit.low, limit.high, limit.very_high)
    if edges.low is not None or edges.high is not None:
        own = replace(own, low=edges.low, high=edges.high)
    return replace(
        own,
        very_low=own.very_low if edges.very_low is None else edges.very_low,
        very_high=own.very_high if edges.very_high is None else edges.very_high,
    )


def _no_number(
    of: str,
    quantity: Quantity | None,
    quantities: Mapping[str, Quantity],
    place: Place,
    reader: Reader,
) -> None:
    if quantity is None:
        numbers = [each.id for each in quantities.values() if each.kind not in WORD_KINDS]
        hint = nearest(of, numbers) or "'rackwalk quantities' lists the names."
        reader.unknown("unknown-quantity", of, f"'{of}' is no number.", place, hint)
        return
    hint = "It is told in words and needs no limit: rules say 'is ...' with one of its words."
    reader.problem("unknown-quantity", f"'{of}' is no number.", place, hint)


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
    for said in LOWER:
        if text.startswith(said):
            return reader.measure_text(text.removeprefix(said), node.place, kind), None
    for said in UPPER:
        if text.startswith(said):
            return None, reader.measure_text(text.removeprefix(said), node.place, kind)
    first, to, second = text.partition(" to ")
    if not to:
        reader.problem("bad-band", f"Cannot read '{text}'.", node.place, BAND_FORMS)
        return None, None
    unit = _LEADING.sub("", second).strip()
    if _LEADING.fullmatch(first.strip()):
        first = f"{first.strip()} {unit}".strip()
    low = reader.measure_text(first, node.place, kind)
    if low is None:  # the other end would be refused for the same reason
        return None, None
    return low, reader.measure_text(second, node.place, kind)
