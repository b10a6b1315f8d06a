"""Reads the `log:` section of a site file: how a log of the store's values is to be read."""

from __future__ import annotations

import codecs
from collections.abc import Iterator, Mapping
from datetime import datetime
from fnmatch import fnmatchcase

from expert.errors import nearest
from expert.knowledge.log_map import (
    BY_ITSELF,
    DECIMALS,
    EPOCH,
    ISO,
    NO_VALUE,
    SEPARATORS,
    LogColumn,
    LogMap,
)
from expert.knowledge.model import Quantity
from expert.knowledge.reader import Reader
from expert.knowledge.site import Subject
from expert.knowledge.yaml_nodes import Fields, Node
from expert.physics.air.barometer import barometer
from expert.units.kinds import Kind, Unit, units_of

LOG = ("time", "file", "no_value", "columns")
TIME = ("column", "clock", "zone", "form")
FILE = ("encoding", "separator", "decimal")
COLUMNS = ("of", "read")
NUMBER = ("column", "unit")
CHOICE = ("column", "words")
_ID = "{id}"


def read_log(
    node: Node | None,
    subjects: Mapping[str, Subject],
    quantities: Mapping[str, Quantity],
    reader: Reader,
) -> LogMap | None:
    """The mapping of a `log:` section, None where there is none; problems go to the reader."""
    fields = reader.fields(node, "log", LOG, ("time", "columns"))
    if fields is None:
        return None
    got = fields.fields
    time = reader.fields(got["time"], "time of log", TIME, ("column", "zone"))
    file = reader.fields(got.get("file"), "file of log", FILE)
    file_fields = file.fields if file else {}
    found: dict[tuple[str, str], LogColumn] = {}
    for item in reader.items(got["columns"], "columns"):
        for column in _entry(item, subjects, quantities, reader):
            found[column.subject, column.quantity] = column  # what stands below wins
    if time is None:
        return None
    no_value = (text.lower() for text in reader.texts(got.get("no_value"), "no_value"))
    return LogMap(
        time=reader.text(time.fields["column"], "column"),
        clock=reader.text(time.fields.get("clock"), "clock"),
        zone=_zone(time.fields["zone"], reader),
        form=_form(time.fields.get("form"), reader),
        encoding=_encoding(file_fields.get("encoding"), reader),
        separator=reader.word(
            file_fields.get("separator"), "separator", tuple(SEPARATORS), BY_ITSELF
        ),
        decimal=reader.word(file_fields.get("decimal"), "decimal mark", tuple(DECIMALS), BY_ITSELF),
        no_value=frozenset((*NO_VALUE, *no_value)),
        columns=tuple(found.values()),
    )


def _zone(node: Node, reader: Reader) -> str:
    from zoneinfo import ZoneInfo, available_timezones

    name = reader.text(node, "zone")
    try:
        ZoneInfo(name)
    except (OSError, ValueError, KeyError):
        hint = nearest(name, available_timezones()) or "For example America/Denver or UTC."
        message = f"'{name}' is no time zone of the IANA list."
        reader.problem("unknown-zone", message, node.place, hint)
    return name


def _form(node: Node | None, reader: Reader) -> str:
    form = reader.text(node, "form", ISO)
    if node is None or form in (ISO, EPOCH):
        return form
    moment = datetime(2026, 3, 14, 13, 45)  # noqa: DTZ001 - a wall clock, as in the log
    try:
        same = datetime.strptime(moment.strftime(form), form) == moment  # noqa: DTZ007
    except ValueError:
        same = False
    if not same:
        message = f"'{form}' does not hold a whole date and time."
        hint = f"Write '{ISO}', '{EPOCH}', or a pattern such as '%m/%d/%Y %H:%M'."
        reader.problem("bad-form", message, node.place, hint)
    return form


def _encoding(node: Node | None, reader: Reader) -> str:
    name = reader.text(node, "encoding", BY_ITSELF)
    if node is not None:
        try:
            codecs.lookup(name)
        except LookupError:
            hint = "For example utf-8, utf-16 or cp1252."
            reader.problem("unknown-encoding", f"'{name}' is no encoding.", node.place, hint)
    return name


def _entry(
    item: Node,
    subjects: Mapping[str, Subject],
    quantities: Mapping[str, Quantity],
    reader: Reader,
) -> Iterator[LogColumn]:
    """The columns of one `of: ... read: ...`."""
    fields = reader.fields(item, "an entry of columns", COLUMNS, COLUMNS)
    if fields is None:
        return
    met = dict(_met(fields.fields["of"], subjects, reader))
    read = fields.fields["read"]
    if not isinstance(read, Fields):
        reader.problem("not-a-mapping", "read must be 'quantity: {...}' lines.", read.place)
        return
    logged = [each.id for each in quantities.values() if each.given == "log"]
    for name, node in read.fields.items():
        quantity = quantities.get(name)
        if quantity is None or name not in logged:
            what = "is not a known quantity" if quantity is None else "is not read from a log"
            hint = nearest(name, logged) or f"Known here: {', '.join(logged)}."
            reader.problem("unknown-quantity", f"'{name}' {what}.", read.key_place(name), hint)
            continue
        yield from _columns(quantity, node, met, subjects, reader)


def _met(node: Node, subjects: Mapping[str, Subject], reader: Reader) -> Iterator[tuple[str, bool]]:
    """Ids that an `of:` names or its patterns meet, and whether by name."""
    texts = reader.texts(node, "of")
    for text in (each.strip() for one in texts for each in one.split(",")):
        if text in subjects:
            yield text, True
            continue
        met = [each for each in subjects if fnmatchcase(each, text)]
        if not met:
            hint = nearest(text, subjects) or f"Known: {', '.join(subjects)}."
            message = f"The site has no '{text}'."
            if any(mark in text for mark in "*?["):
                message = f"No circuit or rack of the site fits the pattern '{text}'."
            reader.problem("unknown-subject", message, node.place, hint)
        yield from ((each, False) for each in met)


def _columns(
    quantity: Quantity,
    node: Node,
    met: Mapping[str, bool],
    subjects: Mapping[str, Subject],
    reader: Reader,
) -> Iterator[LogColumn]:
    keys = CHOICE if quantity.is_choice else NUMBER
    needed = ("column",) if quantity.is_choice else NUMBER
    fields = reader.fields(node, quantity.id, keys, needed)
    if fields is None:
        return
    got = fields.fields
    template = reader.text(got["column"], "column")
    own = [name for name in met if subjects[name].kind == quantity.subject]
    if not own and quantity.subject == "rack":  # a circuit on a header of its own
        own = [name for name in met if subjects[name].kind == "circuit"]
    if not own:
        message = f"'{quantity.id}' belongs to a {quantity.subject}, and 'of' names none."
        reader.problem("wrong-subject", message, node.place)
    if len(own) > 1 and _ID not in template:
        message = f"One column '{template}' cannot be that of {len(own)} {quantity.subject}s."
        hint = f"Write {_ID} where the id stands, for example '{_ID} {template}'."
        reader.problem("one-column-for-many", message, got["column"].place, hint)
    words = _words(quantity, got.get("words"), reader) if quantity.is_choice else {}
    for name in own:
        factor, offset, unit = 1.0, 0.0, ""
        if not quantity.is_choice:
            scale = _unit(quantity.kind, got["unit"], reader)
            if scale is None:
                return
            factor, offset, unit = scale.factor, scale.offset, scale.name
            if scale.kind is not quantity.kind:
                offset -= barometer(subjects[name].altitude)
        column = template.replace(_ID, name)
        yield LogColumn(name, quantity.id, column, unit, factor, offset, words, met[name])


def _unit(kind: Kind, node: Node, reader: Reader) -> Unit | None:
    text = reader.text(node, "unit")
    typed = text.lower().replace(" ", "")
    kinds = (kind, Kind.ABSOLUTE_PRESSURE) if kind is Kind.GAUGE_PRESSURE else (kind,)
    known = [unit for each in kinds for unit in units_of(each)]
    for unit in known:
        if typed in (name.lower().replace(" ", "") for name in unit.names):
            return unit
    names = [unit.name for unit in known if unit.name]
    hint = nearest(text, names) or f"Known here: {', '.join(names)}."
    what = kind.value.replace("_", " ")
    reader.problem("unknown-unit", f"'{text}' is no unit of a {what}.", node.place, hint)
    return None


def _words(quantity: Quantity, node: Node | None, reader: Reader) -> dict[str, str]:
    """What may stand in the column, in small letters, and the choice it means."""
    if node is None:
        return {choice.lower(): choice for choice in quantity.choices}
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", "words must be 'choice: [words]' lines.", node.place)
        return {}
    found: dict[str, str] = {}
    for choice, words in node.fields.items():
        if choice not in quantity.choices:
            hint = nearest(choice, quantity.choices) or f"Known: {', '.join(quantity.choices)}."
            message = f"'{choice}' is no choice of {quantity.id}."
            reader.problem("bad-choice", message, node.key_place(choice), hint)
            continue
        for word in reader.texts(words, choice):
            if found.setdefault(word.lower(), choice) != choice:
                message = f"'{word}' cannot mean '{found[word.lower()]}' and '{choice}'."
                reader.problem("bad-choice", message, words.place)
    return found
