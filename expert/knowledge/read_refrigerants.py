"""Reads the refrigerants that a company adds in its pack."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from expert.errors import PackError, Place, ReadingError, nearest
from expert.knowledge.entry_model import SAFETY_CLASSES
from expert.knowledge.keys import REFRIGERANT, SATURATION_ROW
from expert.knowledge.memory import Memory
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node
from expert.made_when_used import dataclass
from expert.physics.fluids import refrigerants
from expert.physics.fluids.own_refrigerant import (
    FEWEST,
    OwnRefrigerant,
    SaturationRow,
    carry,
    constituents,
    with_model,
)
from expert.physics.fluids.refrigerants import Refrigerant
from expert.units.kinds import ATMOSPHERE, FAHRENHEIT, Kind
from expert.units.parse import parse_measure

_RULE = "by what it contains and its GWP; check with whoever answers for the law at your site"


@dataclass(frozen=True)
class ReadRefrigerant:
    """An entry as read, with its id and place."""

    id: str
    place: Place
    own: OwnRefrigerant


def read_own_refrigerant(node: Node, reader: Reader) -> ReadRefrigerant | None:
    """A company's refrigerant; None where it cannot be used."""
    fields = reader.entry(node, REFRIGERANT)
    if fields is None:
        return None
    got = fields.fields
    name = reader.text(got["designation"], "designation")
    place = got["designation"].place
    before = len(reader.problems)
    if refrigerants.taken(name):
        reader.problem("duplicate-id", f"{name} is carried already.", place, "Use it as it is.")
    composition = dict(_composition(got.get("composition"), reader))
    rows = tuple(_rows(got.get("saturation"), reader))
    if not rows and not composition:
        hint = "Add 'composition:' in per cent by mass, or 'saturation:', a table of your own."
        reader.problem("missing-key", f"{name} has no properties.", fields.place, hint)
    told = reader.source(got["source"], name)
    source = f"{told.label}: {told.detail}" if told.detail else told.label
    accuracy = reader.measure(got.get("accuracy"), "accuracy", Kind.TEMPERATURE_DIFFERENCE)
    one = Refrigerant(
        designation=name,
        use=reader.text(got.get("use"), "use", "of this company"),
        composition=composition or {name: 100.0},
        composition_source=source,
        molar_mass_g_mol=0.0,
        safety_class=reader.word(got["safety_class"], "safety class", SAFETY_CLASSES),
        safety_class_source=source,
        gwp=_gwp(got["gwp"], reader),
        gwp_source=source,
        rule=_RULE,
        aliases=reader.texts(got.get("aliases"), "aliases"),
        model_error=accuracy or FAHRENHEIT,
        model_error_source=source,
    )
    if len(reader.problems) > before:
        return None
    own = OwnRefrigerant(one if rows else with_model(one), rows)
    return ReadRefrigerant(reader.text(got["id"], "id"), fields.place, own)


def carry_of_folder(folder: Path, memory: Memory | None = None) -> None:
    """Know the refrigerants of a pack, without reading its rules. Raises PackError."""
    from expert.knowledge.layers import read_layers

    reader = Reader()
    found = [
        read_own_refrigerant(node, reader)
        for layer in read_layers(folder, reader, memory or Memory())
        for node in layer.sections["refrigerants"]
    ]
    if reader.problems:
        raise PackError(reader.problems)
    carry(each.own for each in found if each is not None)


def _gwp(node: Node, reader: Reader) -> dict[str, float | str]:
    text = reader.text(node, "gwp")
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value < 1e5:
        reader.problem("not-a-number", f"'{text}' is no warming potential.", node.place)
    return {"AIM_Act": value}


def _composition(node: Node | None, reader: Reader) -> Iterator[tuple[str, float]]:
    """Mass per cent by constituent."""
    if node is None:
        return
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", "A composition is 'R-32: 25 %' lines.", node.place)
        return
    total, known = 0.0, constituents()
    for part, share in node.fields.items():
        if part not in known:
            hint = nearest(part, known) or f"Known: {', '.join(known)}."
            message = f"'{part}' is not known as a constituent."
            reader.problem("unknown-refrigerant", message, node.key_place(part), hint)
        value = reader.measure(share, part, Kind.SHARE)
        if value is not None:
            total += value
            yield part, round(value * 100, 9)
    if abs(total - 1) > 0.001:
        message = f"The composition adds up to {total * 100:g} %."
        reader.problem("not-whole", message, node.place, "Per cent by mass, together 100 %.")


def _rows(node: Node | None, reader: Reader) -> Iterator[SaturationRow]:
    if node is None:
        return
    before: SaturationRow | None = None
    count = 0
    for item in reader.items(node, "saturation"):
        fields = reader.entry(item, SATURATION_ROW)
        if fields is None:
            continue
        got = fields.fields
        temperature = reader.measure(got["temperature"], "temperature", Kind.TEMPERATURE)
        bubble = _pressure(got["bubble"], reader)
        dew = _pressure(got["dew"], reader) if "dew" in got else bubble
        if temperature is None or bubble is None or dew is None:
            continue
        row = SaturationRow(temperature, dew, bubble)
        if dew > bubble:
            message = "The dew pressure is never above the bubble pressure of a temperature."
            reader.problem("not-ordered", message, fields.place)
        if before and not (
            row.temperature > before.temperature and dew > before.dew and bubble > before.bubble
        ):
            message = "Each line is warmer than the one before, at higher pressures."
            reader.problem("not-ordered", message, fields.place)
        before, count = row, count + 1
        yield row
    if count < FEWEST:
        reader.problem("too-few", f"A table has at least {FEWEST} lines.", node.place)


def _pressure(node: Node, reader: Reader) -> float | None:
    """Pascal absolute; a gauge pressure is one at sea level."""
    text = reader.text(node, "pressure")
    if text[-1:].isdigit():
        hint = f"Write for example '{text} psia', or '{text} psig' at sea level."
        reader.problem("no-unit", f"'{text}' has no unit.", node.place, hint)
        return None
    try:
        return parse_measure(text, Kind.ABSOLUTE_PRESSURE, barometer=ATMOSPHERE).value
    except ReadingError as error:
        reader.problem("not-a-measure", str(error), node.place)
        return None
