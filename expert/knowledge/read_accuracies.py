"""Reads by how much a reading may be off: '2 psi', or '2 psi or 2 %', the greater of both."""

from __future__ import annotations

from expert.knowledge.how_read import Spread
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, Text
from expert.units.kinds import Kind
from expert.units.measure import difference_kind

_OR = " or "
_WITH_SHARE = "Write '2 psi or 2 %': at least so much, or a share of the value."


def read_accuracies(node: Node | None, kind: Kind, reader: Reader) -> dict[str, Spread]:
    """What a quantity says of its accuracy by ways: `{display: 3 psi}`."""
    if node is None:
        return {}
    if not isinstance(node, Fields):
        hint = "Write 'accuracy_by: {display: 3 psi}'."
        reader.problem("accuracy-by", "'accuracy_by' names ways of reading.", node.place, hint)
        return {}
    found = {name: read_spread(value, kind, reader) for name, value in node.fields.items()}
    return {name: spread for name, spread in found.items() if spread is not None}


def read_spread(node: Node, kind: Kind, reader: Reader) -> Spread | None:
    """Plus or minus of a value of a kind, or None with a problem."""
    text = reader.text(node, "accuracy")
    if not isinstance(node, Text) or not text:
        return None
    first, more, share = text.partition(_OR)
    if more and kind in (Kind.TEMPERATURE, Kind.SHARE):
        message = f"A {kind.value} has no accuracy that is a share of it."
        reader.problem("bad-accuracy", message, node.place)
        return None
    least = reader.measure_text(first, node.place, difference_kind(kind))
    part = reader.measure_text(share, node.place, Kind.SHARE) if more else 0.0
    if least is None or part is None:
        return None
    if least <= 0 or (more and part <= 0):
        reader.problem(
            "bad-accuracy", "An accuracy is a plus/minus: no sign.", node.place, _WITH_SHARE
        )
        return None
    return Spread(least, part)
