"""Reads what can be done to a practice plant."""

from __future__ import annotations

from dataclasses import fields

from expert.knowledge.where import SPOTS
from expert.knowledge.yaml_nodes import Fields, Node
from expert.plant.design import Plants
from expert.plant.faults import faults
from expert.plant.hot_gas_defrost import Defrosts
from expert.practice.setting_keys import ACTION, AMOUNT
from expert.practice.setting_model import WAYS, PlantAction, PlantAmount
from expert.practice.setting_reader import SettingReader
from expert.units.kinds import Kind

_PARAMETERS = tuple(f.name for kind in (Plants, Defrosts) for f in fields(kind))


def read_action(reader: SettingReader, node: Node) -> PlantAction | None:
    """An action; None where it is no mapping with the keys that it needs."""
    if (got := reader.entry(node, ACTION)) is None:
        return None
    take, text, names = got.fields.get, reader.text, reader.names
    gives = take("gives")
    given: dict[str, str] = {}
    for name, word in (gives.fields if isinstance(gives, Fields) else {}).items():
        given[name] = text(word, name)
        reader.choice(name, given[name], word)
    gated = {each.action for each in reader.rulebase.gates.values()}
    return PlantAction(
        id=text(take("id"), "id"),
        title=text(take("title"), "title"),
        spot=reader.word(take("place"), "place", SPOTS),
        minutes=reader.whole(take("minutes"), "minutes", 1, 1000, 1),
        source=reader.source(take("source"), "the action"),
        also=reader.texts(take("also"), "also"),
        repairs=names(take("repairs"), "fault", faults()),
        amount=_amount(reader, take("amount")),
        part=text(take("part"), "part", "no") == "yes",
        holds=text(take("holds"), "holds", "no") == "yes",
        ends=reader.texts(take("ends"), "ends"),
        gives=given,
        gate=reader.one(take("gate"), "gated action", gated),
        cautions=names(take("cautions"), "caution", reader.rulebase.cautions),
        needs=reader.texts(take("needs"), "needs"),
        without=text(take("without"), "without"),
        never=text(take("never"), "never"),
        place=got.place,
    )


def _amount(reader: SettingReader, node: Node | None) -> PlantAmount | None:
    if node is None or (got := reader.entry(node, AMOUNT)) is None:
        return None
    parameter = reader.one(got.fields["parameter"], "parameter of the plant", _PARAMETERS)
    kind = reader.word(got.fields["kind"], "kind", [each.value for each in Kind])
    way = reader.word(got.fields["way"], "way", WAYS)
    return PlantAmount(parameter, Kind(kind), way) if parameter and kind and way else None
