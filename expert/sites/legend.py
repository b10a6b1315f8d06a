"""A legend kept in a spreadsheet, as CSV: what its columns are, and what its rows say of circuits.

Nothing is guessed into the store: what a cell cannot mean is told with its line and column.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field

from expert.errors import ReadingError, nearest
from expert.knowledge.fact_words import APPLICATIONS, DEFROSTS
from expert.knowledge.model import Quantity
from expert.knowledge.synonyms import plain_name
from expert.sites.ask_store import Terms, a_refrigerant, a_value, an_id
from expert.sites.data import Data, part
from expert.sites.legend_columns import CIRCUIT, FACTS, RACK, TITLE, unit_of, wrong_unit
from expert.sites.legend_table import LegendTable
from expert.sites.site_roles import case_type_of, site_roles
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

_WORDS = {"application": APPLICATIONS, "defrost": DEFROSTS}
_NO_VALUE = ("", "-", "--", "n/a", "na", "none", "?", "tbd", "x")


@dataclass
class LegendTaken:
    """The store with a legend in it, how much came from it, and what could not be taken.

    `other` is where the store said otherwise; `lines` are where a value stands in the legend.
    """

    data: Data
    circuits: list[str] = field(default_factory=list)
    values: int = 0
    troubles: list[str] = field(default_factory=list)
    other: list[str] = field(default_factory=list)
    lines: dict[tuple[str, str], str] = field(default_factory=dict)


def new_racks(
    sheet: LegendTable, columns: Mapping[str, str], data: Data
) -> dict[str, dict[str, str]]:
    """The racks of a legend that the store has not, with what the legend says of them."""
    found: dict[str, dict[str, str]] = {}
    for _, row in _rows(sheet, columns):
        name = row.get(RACK, "")
        if name and part(data, name) is None:
            facts = found.setdefault(name, {})
            facts |= {key: row[key] for key in FACTS[:3] if row.get(key) and key not in facts}
    return found


def _rows(sheet: LegendTable, columns: Mapping[str, str]) -> Iterator[tuple[int, dict[str, str]]]:
    """Each row by what its cells are; a rack that stands once holds until the next."""
    rack = ""
    for line, cells in sheet.rows:
        row = {
            columns[name]: cell
            for name, cell in zip(sheet.header, cells, strict=True)
            if columns.get(name) and cell.lower() not in _NO_VALUE
        }
        if RACK in row:
            row[RACK] = rack = re.sub(r"(?i)^rack\s+", "", row[RACK])
        elif rack and row:
            row[RACK] = rack
        if row.keys() - {RACK}:
            yield line, row


def take_in(
    sheet: LegendTable, columns: Mapping[str, str], data: Data, terms: Terms, rack: str = ""
) -> LegendTaken:
    """A store with the rows of a legend; `rack` is where circuits go that name none."""
    taken = LegendTaken(deepcopy(data))
    by_what = {what: name for name, what in columns.items() if what}
    if CIRCUIT not in by_what:
        raise ReadingError(f"{sheet.path}: no column is the circuit's number or name.")
    for line, row in _rows(sheet, columns):
        try:
            _one(row, by_what, taken, terms, rack, f"line {line}")
        except ReadingError as error:
            taken.troubles.append(f"line {line}: {error}")
    return taken


def _one(
    row: dict[str, str],
    by_what: Mapping[str, str],
    taken: LegendTaken,
    terms: Terms,
    rack: str,
    at: str,
) -> None:
    on = part(taken.data, row.get(RACK) or rack)
    if on is None:
        raise ReadingError(f"there is no rack '{row.get(RACK) or rack}' for it.")
    if CIRCUIT not in row:
        raise ReadingError(f"it has no circuit (column '{by_what[CIRCUIT]}').")
    name = an_id(row[CIRCUIT])
    if name.isdecimal():
        name = f"{on['id']}{name}"
    circuit = next((c for c in on.get("circuits", ()) if c["id"].lower() == name.lower()), None)
    if circuit is None:
        if part(taken.data, name) is not None:
            raise ReadingError(f"'{name}' is already on another rack; give it another name.")
        circuit = {"id": name}
        on.setdefault("circuits", []).append(circuit)
    if circuit["id"] in taken.circuits:
        taken.troubles.append(
            f"{at}: '{name}' stands in the legend twice; what comes later counts."
        )
    else:
        taken.circuits.append(circuit["id"])
    for what, text in row.items():
        if what in (CIRCUIT, RACK):
            continue
        try:
            _cell(what, text, by_what, circuit, on, taken, terms, at)
        except ReadingError as error:
            column = by_what.get(what, what)
            taken.troubles.append(f"{at}, column '{column}': {error}")


def _cell(
    what: str, text: str, by_what: Mapping[str, str], circuit: Data, rack: Data, taken: LegendTaken,
    terms: Terms, at: str,
) -> None:  # fmt: skip
    if what in (TITLE, "note"):
        circuit[what] = text
        kind = case_type_of(text, terms.rulebase) if what == TITLE else ""
        if kind and "case_type" not in circuit:
            circuit["case_type"] = kind
    elif what in FACTS:
        fact = _fact(what, text, terms)
        if what == "refrigerant":
            if fact != rack.get(what):
                raise ReadingError(f"rack {rack['id']} has {rack.get(what)}, not {fact}.")
        elif what == "case_type" or fact != rack.get(what):
            circuit[what] = fact
    else:
        quantity = terms.rulebase.quantities[what]
        column = by_what[what]
        if unit := wrong_unit(column, quantity):
            raise ReadingError(f"'{unit}' is no unit of a {quantity.title}.")
        bare = re.fullmatch(r"[-+]?[\d.,]+", text)
        typed = f"{text} {unit_of(column, quantity)}" if bare else text
        value = a_value(quantity, taken.data, terms.system)(typed)
        on = rack if quantity.subject == "rack" else circuit
        _put(on, quantity, value, at, taken)


def _put(on: Data, quantity: Quantity, value: str, at: str, taken: LegendTaken) -> None:
    """A value to its part; one that the same legend gave before stays, one of the store is told."""
    values = on.setdefault("values", {})
    was, key = values.get(quantity.id), (on["id"], quantity.id)
    if was is not None and _alike(was, value, quantity):
        value = was
    elif was is not None:
        if key in taken.lines:
            raise ReadingError(f"{on['id']} has {was} from {taken.lines[key]} already.")
        taken.other.append(f"{on['id']}, {quantity.title}: {value} (the store says {was})")
    taken.lines.setdefault(key, at)
    values[quantity.id] = value
    taken.values += 1


def _alike(one: str, other: str, quantity: Quantity) -> bool:
    if one == other or quantity.is_choice or quantity.kind is Kind.TEXT:
        return one == other
    first, second = (parse_measure(each, quantity.kind, system="us").value for each in (one, other))
    return abs(first - second) <= 1e-4 * max(1.0, abs(first))


def _fact(what: str, text: str, terms: Terms) -> str:
    if what == "refrigerant":
        return a_refrigerant(text)
    typed = plain_name(text)
    if what == "case_type":
        return case_type_of(text, terms.rulebase) or text.lower()
    for word, cells in site_roles().words.get(what, {}).items():
        if typed == word or typed in map(plain_name, cells):
            return word
    hint = nearest(typed, _WORDS[what]) or f"It can be: {', '.join(_WORDS[what])}."
    raise ReadingError(f"'{text}' is no {what}. {hint}")


def fact_of(what: str, text: str, terms: Terms) -> str:
    """Our word for a cell; empty where it is none."""
    try:
        return _fact(what, text, terms)
    except ReadingError:
        return ""
