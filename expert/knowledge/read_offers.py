"""Reads what a quantity can be offered from: others of which it is worked out, and a sheet."""

from __future__ import annotations

from collections.abc import Mapping

from expert.errors import nearest
from expert.knowledge.check_derivations import check_inputs
from expert.knowledge.derivation_model import Derivation, Input
from expert.knowledge.model import Quantity, place_of
from expert.knowledge.reader import Reader
from expert.knowledge.refer import refer
from expert.knowledge.sheet_model import StoreSheet
from expert.knowledge.yaml_nodes import Fields, Node
from expert.physics.frame.catalog import CATALOG
from expert.units.kinds import Kind

WORKED_OUT = ("function", "inputs")
SHEET = ("of", "weather", "within", "same")


def read_worked_out(node: Node | None, reader: Reader) -> Derivation | None:
    """`function` and `inputs` of a quantity that is asked and can be worked out."""
    fields = reader.fields(node, "worked_out", WORKED_OUT, WORKED_OUT) if node else None
    if fields is None:
        return None
    inputs = fields.fields["inputs"]
    if not isinstance(inputs, Fields):
        reader.problem("not-a-mapping", "inputs must be 'name: quantity' lines.", inputs.place)
        return None
    named = {name: Input(reader.text(each, name)) for name, each in inputs.fields.items()}
    return Derivation(reader.text(fields.fields["function"], "function"), named)


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


def check_offers(quantity: Quantity, quantities: Mapping[str, Quantity], reader: Reader) -> None:
    """Adds a problem for each name that is not there or of another kind."""
    if (by := quantity.worked_out) is not None:
        place = place_of(quantity, "worked_out")
        formula = CATALOG.get(by.function)
        if formula is None:
            message = f"'{by.function}' is no function of the physics catalogue."
            reader.problem("unknown-function", message, place, nearest(by.function, CATALOG))
            return
        if by.inputs.keys() != formula.inputs.keys() or formula.output is not quantity.kind:
            message = (
                f"{by.function} takes {', '.join(formula.inputs)} and gives a "
                f"{formula.output.value.replace('_', ' ')}."
            )
            reader.problem("worked-out", message, place)
            return
        check_inputs(quantity, by, formula, lambda _: place, quantities, reader)
    if (sheet := quantity.sheet) is not None:
        place = place_of(quantity, "sheet")
        kinds = {sheet.of: (quantity.kind,), sheet.weather: (Kind.TEMPERATURE,)}
        kinds |= dict.fromkeys(sheet.same, (Kind.CHOICE,))
        refer(tuple(kinds), quantities, "quantity called", lambda _: place, reader)
        for name, wanted in kinds.items():
            if name in quantities and quantities[name].kind not in wanted:
                message = f"'{name}' of the sheet must be a {wanted[0].value.replace('_', ' ')}."
                reader.problem("wrong-kind", message, place)
