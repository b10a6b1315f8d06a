"""Reads by which weather and state a quantity stands on a sheet of the site."""

from __future__ import annotations

from collections.abc import Mapping

from expert.knowledge.model import Quantity, place_of
from expert.knowledge.reader import Reader
from expert.knowledge.refer import refer
from expert.knowledge.sheet_model import StoreSheet
from expert.knowledge.yaml_nodes import Node
from expert.units.kinds import Kind

SHEET = ("of", "weather", "within", "same")


def read_sheet(node: Node | None, reader: Reader) -> StoreSheet | None:
    """By which weather and state a quantity stands on a sheet of the site."""
    fields = reader.fields(node, "sheet", SHEET, SHEET[:3]) if node else None
    if fields is None:
        return None
    got = fields.fields
    within = reader.measure(got["within"], "within", Kind.TEMPERATURE_DIFFERENCE)
    return StoreSheet(
        reader.text(got["of"], "of"), reader.text(got["weather"], "weather"), within or 0.0,
        reader.texts(got.get("same"), "same"),
    )  # fmt: skip


def check_sheet(quantity: Quantity, quantities: Mapping[str, Quantity], reader: Reader) -> None:
    """Adds a problem for each name that is not there or of another kind."""
    if (sheet := quantity.sheet) is not None:
        place = place_of(quantity, "sheet")
        kinds = {sheet.of: (quantity.kind,), sheet.weather: (Kind.TEMPERATURE,)}
        kinds |= dict.fromkeys(sheet.same, (Kind.CHOICE,))
        refer(tuple(kinds), quantities, "quantity called", lambda _: place, reader)
        for name, wanted in kinds.items():
            if name in quantities and quantities[name].kind not in wanted:
                message = f"'{name}' of the sheet must be a {wanted[0].value.replace('_', ' ')}."
                reader.problem("wrong-kind", message, place)
