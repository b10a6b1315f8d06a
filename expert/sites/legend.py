"""A legend kept in a spreadsheet, as CSV: what its columns are, and what its rows say of circuits.

Nothing is guessed into the store: what a cell cannot mean is told with its line and column.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from pathlib import Path

from expert.errors import ReadingError, nearest
from expert.knowledge.check_across import APPLICATIONS, DEFROSTS
from expert.knowledge.model import Quantity
from expert.knowledge.synonyms import called, names_of, plain_name
from expert.sites.ask_store import Terms, a_refrigerant, a_value, an_id
from expert.sites.data import Data, part
from expert.sites.site_roles import case_type_of, site_roles
from expert.trend.dialect import encoding_of
from expert.units.kinds import units_of

NOTHING = ""  # a column that is left out
CIRCUIT, RACK, TITLE = "circuit", "rack", "title"
FACTS = ("application", "refrigerant", "defrost", "case_type")
_WORDS = {"application": APPLICATIONS, "defrost": DEFROSTS}
_NO_VALUE = ("", "-", "--", "n/a", "na", "none", "?", "tbd", "x")
_SEPARATORS = (",", ";", "\t", "|")
_LARGEST, _MOST_ROWS, _HEAD = 2_000_000, 2_000, 30
_UNIT = re.compile(r"[(\[]\s*(?P<in>[^)\]]*?)\s*[)\]]|,\s*(?P<after>\S+)$")
_DEGREE = str.maketrans({"\N{DEGREE SIGN}": "", "\N{MASCULINE ORDINAL INDICATOR}": ""})


@dataclass(frozen=True)
class LegendTable:
    """A table with the line of each row in its file."""

    path: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]

    def first(self, column: str) -> str:
        """The first cell of a column that holds something."""
        place = self.header.index(column)
        return next((row[place] for _, row in self.rows if row[place]), "")


@dataclass
class LegendTaken:
    """The store with a legend in it, how much came from it, and what could not be taken."""

    data: Data
    circuits: list[str] = field(default_factory=list)
    values: int = 0
    troubles: list[str] = field(default_factory=list)


def read_sheet(path: Path) -> LegendTable:
    """The table of a CSV file. Raises ReadingError with what is wrong with it."""
    try:
        if path.stat().st_size > _LARGEST:
            raise ReadingError(f"{path} is larger than {_LARGEST:,} bytes; no legend is.")
        text = path.read_bytes().decode(encoding_of(path))
    except OSError as error:
        raise ReadingError(f"Cannot read {path}: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ReadingError(f"{path} is no text; save the spreadsheet as CSV.") from None
    if "\0" in text:
        raise ReadingError(f"{path} is no text; save the spreadsheet as CSV (UTF-8).")
    lines = text.lstrip("\ufeff").splitlines()
    separator = max(_SEPARATORS, key=lambda each: sum(line.count(each) for line in lines[:_HEAD]))
    try:
        table = [(n, _cells(row)) for n, row in _numbered(lines, separator)]
    except csv.Error as error:
        raise ReadingError(f"{path} is no CSV file: {error}.") from None
    filled = [(n, row) for n, row in table if any(row)]
    best = max(filled[:_HEAD], key=lambda each: _known(each[1]), default=(0, ()))
    if len([cell for cell in best[1] if cell]) < 2:
        raise ReadingError(
            f"{path}: there is no line of column names, for example 'Circuit,Case,Defrost'."
        )
    header = tuple(_unlike(best[1]))
    rows = tuple((n, _fitted(row, len(header))) for n, row in filled if n > best[0])
    if not rows or len(rows) > _MOST_ROWS:
        what = "nothing stands below its column names" if not rows else f"it has {len(rows)} rows"
        raise ReadingError(f"{path}: {what}; expected a line for each circuit.")
    return LegendTable(str(path), header, rows)


def _numbered(lines: list[str], separator: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=separator)
    for row in reader:
        yield reader.line_num, row


def _cells(row: list[str]) -> tuple[str, ...]:
    return tuple(" ".join(cell.split()) for cell in row)


def _fitted(row: tuple[str, ...], width: int) -> tuple[str, ...]:
    return (*row, *[""] * width)[:width]


def _known(row: tuple[str, ...]) -> int:
    known = {name for names in site_roles().columns.values() for name in names}
    return sum(_plain(cell)[0] in known for cell in row) * 100 + sum(map(bool, row))


def _unlike(row: tuple[str, ...]) -> Iterator[str]:
    """Column names, each another: an empty or repeated one gets its number."""
    seen: set[str] = set()
    for number, cell in enumerate(row, 1):
        name = cell if cell and cell not in seen else f"{cell or 'column'} {number}"
        seen.add(name)
        yield name


def _plain(header: str) -> tuple[str, str]:
    """A header in small letters without its unit, and the unit."""
    text = header.translate(_DEGREE)
    found = _UNIT.search(text)
    unit = (found["in"] or found["after"] or "") if found else ""
    return plain_name(_UNIT.sub("", text)).strip(" .:"), unit.strip(" .")


def guess(sheet: LegendTable, terms: Terms) -> dict[str, str]:
    """What each column is taken for; NOTHING where its header is not known. Each thing once."""
    found: dict[str, str] = {}
    for column in sheet.header:
        what = _meaning(column, terms)
        found[column] = what if what not in found.values() else NOTHING
    return found


def _meaning(column: str, terms: Terms) -> str:
    name, _ = _plain(column)
    without_unit = name.rpartition(" ")[0]  # 'term f'
    return _called(name, terms) or _called(without_unit, terms)


def _called(name: str, terms: Terms) -> str:
    quantities = terms.rulebase.quantities
    if exact := [q for q in called(name, quantities.values()) if q.given == "site"]:
        return exact[0].id
    for what, names in site_roles().columns.items():
        if name in map(plain_name, names) and (what in _named() or what in quantities):
            return what
    return NOTHING


def _named() -> tuple[str, ...]:
    return (CIRCUIT, RACK, TITLE, *FACTS, "note")


def meant(text: str, terms: Terms) -> str:
    """What a person says a column is: circuit, rack, ... or a value. Raises ReadingError."""
    typed = plain_name(text)
    if typed in ("nothing", "leave out", "out", ""):
        return NOTHING
    for what in _named():
        if typed == plain_name(what):
            return what
    values = [q for q in terms.rulebase.quantities.values() if q.given == "site"]
    found = called(typed, values) or [
        q for q in values if any(typed in name for name in names_of(q))
    ]
    if len(found) == 1:
        return found[0].id
    names = [plain_name(each) for each in _named()] + [q.title for q in values]
    hint = f"It could be: {', '.join(q.title for q in found[:6])}." if found else (
        nearest(typed, names) or f"It can be {', '.join(_named())}, nothing, or a value."
    )  # fmt: skip
    raise ReadingError(f"'{text.strip()}' is not known. {hint}")


def title_of(what: str, terms: Terms) -> str:
    """What a column is, for people."""
    if what in terms.rulebase.quantities:
        return terms.rulebase.quantities[what].title
    return {NOTHING: "left out", TITLE: "case, in words", "case_type": "kind of case"}.get(
        what, what
    )


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
            _cell(what, text, by_what, circuit, on, taken, terms)
        except ReadingError as error:
            column = by_what.get(what, what)
            taken.troubles.append(f"{at}, column '{column}': {error}")


def _cell(
    what: str, text: str, by_what: Mapping[str, str], circuit: Data, rack: Data, taken: LegendTaken,
    terms: Terms,
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
        unit = _unit_of(by_what[what], quantity)
        bare = re.fullmatch(r"[-+]?[\d.,]+", text)
        value = a_value(quantity, taken.data, terms.system)(f"{text} {unit}" if bare else text)
        on = rack if quantity.subject == "rack" else circuit
        on.setdefault("values", {})[what] = value
        taken.values += 1


def _unit_of(column: str, quantity: Quantity) -> str:
    """The unit in a header, where it is one of the kind: 'Term (F)'."""
    name, unit = _plain(column)
    unit = unit or name.rpartition(" ")[2]
    names = {name.lower(): name for each in units_of(quantity.kind) for name in each.names}
    return names.get(unit.lower(), "")


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
