"""What a company pack changes in the pack below it: other numbers in limits, rules switched off.

It never edits the pack below: every change stands in its own files with reason, author and date.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date

from expert.errors import Place, nearest
from expert.knowledge.conditions import signs_in
from expert.knowledge.key_shapes import Shape
from expert.knowledge.model import Gate, Limit, Override, Quantity, Rule, Sign, SwitchOff
from expert.knowledge.pack_keys import OVERRIDE, SWITCH_OFF
from expert.knowledge.read_limits import check_rising, read_edges, with_edges
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, Text

Whose = Callable[[Place], int]


def apply_overrides(
    nodes: Iterable[Node],
    limits: dict[str, Limit],
    quantities: Mapping[str, Quantity],
    whose: Whose,
    reader: Reader,
) -> tuple[Override, ...]:
    """Put the numbers of each override into `limits`; gives what was changed.

    `whose` says in which pack, counted from the lowest, a place lies.
    """
    done: dict[str, Override] = {}
    for node in nodes:
        fields = _named(node, OVERRIDE, "limit", limits, whose, reader)
        if fields is None:
            continue
        before = limits[_text(fields, "limit", reader)]
        if before.id in done:
            _twice(before.id, fields.fields["limit"].place, done[before.id].place, reader)
            continue
        if not {"normal", "very_low", "very_high"} & set(fields.fields):
            message = f"It gives no number for '{before.id}'."
            hint = "Add 'normal:', 'very_low:' or 'very_high:'; what is left out stays as it is."
            reader.problem("no-number", message, fields.place, hint)
            continue
        kind = quantities[before.quantity].kind
        problems_before = len(reader.problems)
        edges = with_edges(before, read_edges(fields, kind, reader))
        if len(reader.problems) == problems_before:
            check_rising(edges, kind, before.id, fields, reader)
        reason, author, when = who_says(fields, reader)
        after = replace(
            before,
            low=edges.low,
            high=edges.high,
            very_low=edges.very_low,
            very_high=edges.very_high,
            source=reader.source(fields.fields["source"], f"the override of {before.id}"),
            note=_text(fields, "note", reader) or f"{reason} ({author}, {when})",
            place=fields.place,
            places={},
        )
        limits[before.id] = after
        done[before.id] = Override(before, after, reason, author, when, fields.place)
    return tuple(done.values())


def switch_off(
    nodes: Iterable[Node], rules: dict[str, Rule], whose: Whose, reader: Reader
) -> tuple[SwitchOff, ...]:
    """Take the rules that are switched off out of `rules`; gives what was taken out."""
    done: dict[str, SwitchOff] = {}
    all_rules = dict(rules)
    for node in nodes:
        named = node.fields.get("rule") if isinstance(node, Fields) else None
        if isinstance(named, Text) and named.text in done:
            _twice(named.text, named.place, done[named.text].place, reader)
            continue
        fields = _named(node, SWITCH_OFF, "rule", all_rules, whose, reader)
        if fields is None:
            continue
        rule = rules.pop(_text(fields, "rule", reader))
        done[rule.id] = SwitchOff(rule, *who_says(fields, reader), fields.place)
    return tuple(done.values())


def check_switched_off(
    off: Iterable[SwitchOff],
    rules: Mapping[str, Rule],
    signs: Mapping[str, Sign],
    gates: Mapping[str, Gate],
    reader: Reader,
) -> None:
    """A sign that nothing concludes any more would count as never so: that must be meant.

    A gate that waits for it could never open by what was read, or never close.
    """
    left = {sign for rule in rules.values() for sign in rule.concludes}
    for each in off:
        for sign in each.rule.concludes:
            waiting = [
                rule.id
                for rule in rules.values()
                if any(sign in signs_in(condition) for condition in (*rule.when, *rule.unless))
            ]
            waiting += [
                f"gate {gate.id}"
                for gate in gates.values()
                if any(sign in signs_in(condition) for condition in gate.needs)
            ]
            if sign in signs and sign not in left and waiting:
                reader.problem(
                    "nothing-concludes",
                    f"Without '{each.rule.id}' nothing concludes '{sign}', "
                    f"and {_listed(waiting)} wait{'s' if len(waiting) == 1 else ''} for it.",
                    each.place,
                    f"Switch those off too, or add a rule that concludes '{sign}'.",
                )


def _named(
    node: Node,
    shape: Shape,
    key: str,
    known: Mapping[str, Limit] | Mapping[str, Rule],
    whose: Whose,
    reader: Reader,
) -> Fields | None:
    """The entry, if it is whole and names something of a pack below."""
    fields = reader.entry(node, shape)
    if fields is None:
        return None
    name, place = _text(fields, key, reader), fields.fields[key].place
    if name not in known:
        message = f"There is no {key} '{name}'."
        reader.unknown(f"unknown-{key}", name, message, place, nearest(name, known))
        return None
    if whose(known[name].place) == whose(place):
        message = f"'{name}' is a {key} of this pack itself."
        reader.problem("own-entry", message, place, "Change it where it stands.")
        return None
    return fields


def who_says(fields: Fields, reader: Reader) -> tuple[str, str, str]:
    """Reason, author and date of a change."""
    when = _text(fields, "date", reader)
    try:
        date.fromisoformat(when)
        dashed = len(when) == 10
    except ValueError:
        dashed = False
    if not dashed:
        hint = "Write it as year-month-day, for example 2026-03-14."
        reader.problem("bad-date", f"'{when}' is no date.", fields.fields["date"].place, hint)
    return _text(fields, "reason", reader), _text(fields, "author", reader), when


def _text(fields: Fields, key: str, reader: Reader) -> str:
    return reader.text(fields.fields.get(key), key)


def _twice(name: str, place: Place, first: Place, reader: Reader) -> None:
    message = f"'{name}' is changed here a second time; the first is in line {first.line}."
    reader.problem("duplicate-id", message, place, "Keep one of them.")


def _listed(names: list[str]) -> str:
    shown = [f"'{name}'" for name in names[:3]]
    return ", ".join(shown) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
