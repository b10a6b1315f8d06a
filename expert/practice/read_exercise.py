"""Reads an exercise: its plant, what is wrong on it, the call, what must be shown."""

from __future__ import annotations

from expert.knowledge.resolve import resolve
from expert.knowledge.where import SPOTS
from expert.knowledge.yaml_nodes import Node
from expert.plant.cases import REFRIGERANTS
from expert.plant.faults import WEATHERS, faults
from expert.practice.setting_keys import ALARM, EXERCISE, FAULT, PLANT
from expert.practice.setting_model import APPLICATIONS, LEVELS, Exercise, RoomAlarm
from expert.practice.setting_reader import SettingReader
from expert.units.kinds import Kind


def read_exercise(reader: SettingReader, node: Node) -> Exercise | None:
    """An exercise; None where it is no mapping with the keys that it needs."""
    if (got := reader.entry(node, EXERCISE)) is None:
        return None
    take, text, rules = got.fields.get, reader.text, reader.rulebase
    if (plant := reader.entry(take("plant"), PLANT)) is None:
        return None
    of_plant = plant.fields.get
    names, sizes = _faults(reader, take("faults"))
    return Exercise(
        id=text(take("id"), "id"),
        title=text(take("title"), "title"),
        level=reader.word(take("level"), "level", LEVELS),
        seed=reader.whole(of_plant("seed"), "seed", 0, 999_999_999, 0),
        faults=names,
        severities=sizes,
        application=reader.word(of_plant("application"), "application", APPLICATIONS),
        refrigerant=reader.one(
            of_plant("refrigerant"), "refrigerant of the model",
            {name for each in REFRIGERANTS.values() for name in each}),
        weather=reader.word(of_plant("weather"), "weather", WEATHERS),
        call=text(take("call"), "call"),
        shows=tuple(
            resolve(each, rules.quantities, rules.signs, reader)
            for each in reader.conditions(take("shows"), "'shows'")),
        causes=reader.names(take("causes"), "cause", rules.causes),
        teaches=text(take("teaches"), "teaches"),
        checklist=text(take("checklist"), "checklist"),
        alarm=_alarm(reader, take("alarm")),
        place=got.place,
    )  # fmt: skip


def _faults(reader: SettingReader, node: Node | None) -> tuple[tuple[str, ...], tuple[float, ...]]:
    names, sizes = [], []
    for item in reader.items(node, "'faults'"):
        if got := reader.entry(item, FAULT):
            name = reader.one(got.fields["fault"], "fault", faults())
            share = reader.measure(got.fields["severity"], "severity", Kind.SHARE)
            if name in faults() and share is not None:
                names.append(name)
                sizes.append(share)
                if not 0 <= share <= 1:
                    message = "A severity is 0 % (just visible) to 100 % (gross)."
                    reader.problem("severity", message, got.fields["severity"].place)
    where = {faults()[name].at == "defrost" for name in names}
    if len(where) > 1 and node is not None:
        message = "A fault of a defrost and one that shows while cooling cannot be together."
        reader.problem("faults", message, node.place, "Make two exercises of them.")
    return tuple(names), tuple(sizes)


def _alarm(reader: SettingReader, node: Node | None) -> RoomAlarm | None:
    if node is None or (got := reader.entry(node, ALARM)) is None:
        return None
    spot = reader.word(got.fields["place"], "place", SPOTS)
    name = reader.one(got.fields["reading"], "reading", reader.rulebase.quantities)
    reads = reader.text(got.fields["reads"], "reads")
    reader.choice(name, reads, got.fields["reads"])
    return RoomAlarm(spot, name, reads, reader.text(got.fields["until"], "until"))
