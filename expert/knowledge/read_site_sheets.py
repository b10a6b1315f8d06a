"""Reads the sheets of a rack in a site file: what is normal there by weather and state."""

from __future__ import annotations

from collections.abc import Mapping

from expert.errors import nearest
from expert.knowledge.model import Quantity
from expert.knowledge.reader import Reader
from expert.knowledge.sheet_model import StoreSheet, StoreSheetRow
from expert.knowledge.yaml_nodes import Fields, Node

SAYS = "says"

Sheets = Mapping[str, tuple[StoreSheetRow, ...]]


def read_site_sheets(
    node: Node | None, quantities: Mapping[str, Quantity], reader: Reader
) -> Sheets:
    """The rows of each quantity that stands on a sheet."""
    if node is None:
        return {}
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", "sheets must be 'quantity: [rows]' lines.", node.place)
        return {}
    found: dict[str, tuple[StoreSheetRow, ...]] = {}
    kept = {each.id: each for each in quantities.values() if each.sheet is not None}
    for name, rows in node.fields.items():
        if name not in kept:
            message = f"'{name}' stands on no sheet."
            hint = nearest(name, kept) or f"There is: {', '.join(kept)}."
            reader.problem("no-sheet", message, node.key_place(name), hint)
            continue
        made = (_row(row, kept[name], quantities, reader) for row in reader.items(rows, name))
        found[name] = tuple(each for each in made if each is not None)
    return found


def _row(
    node: Node, quantity: Quantity, quantities: Mapping[str, Quantity], reader: Reader
) -> StoreSheetRow | None:
    sheet = quantity.sheet or StoreSheet("", "", 0.0)
    keys = (sheet.weather, *sheet.same, SAYS)
    fields = reader.fields(node, "a row of a sheet", keys, keys)
    if fields is None:
        return None
    got = fields.fields
    weather_text, text = (reader.text(got[key], key) for key in (sheet.weather, SAYS))
    weather = reader.measure(got[sheet.weather], sheet.weather, quantities[sheet.weather].kind)
    value = reader.measure(got[SAYS], SAYS, quantity.kind)
    state = tuple(
        (name, reader.word(got[name], name, tuple(quantities[name].choices))) for name in sheet.same
    )
    if weather is None or value is None:
        return None
    return StoreSheetRow(weather, state, value, weather_text, text)
