"""What the columns of a legend are: by their headers, their units and what stands in them."""

from __future__ import annotations

import re
from collections.abc import Iterator

from expert.errors import ReadingError, nearest
from expert.knowledge.hints import hint_by_words
from expert.knowledge.model import Quantity
from expert.knowledge.synonyms import called, names_of, plain_name
from expert.sites.ask_store import Terms
from expert.sites.legend_table import LegendTable, header_parts
from expert.sites.site_roles import site_roles
from expert.units.kinds import UNITS, Kind, units_of

NOTHING = ""  # a column that is left out
CIRCUIT, RACK, TITLE = "circuit", "rack", "title"
FACTS = ("application", "refrigerant", "defrost", "case_type")
_NAMED = (CIRCUIT, RACK, TITLE, *FACTS, "note")
_WORDS = (Kind.CHOICE, Kind.TEXT)


def guess(sheet: LegendTable, terms: Terms) -> dict[str, str]:
    """What each column is taken for; NOTHING where its header is not known. Each thing once."""
    found: dict[str, str] = {}
    for column in sheet.header:
        fits = [each for each in _meanings(column, terms) if _unit_fits(each, column, terms)]
        holds = (each for each in fits if _holds(each, sheet.first(column), terms))
        what = next(holds, fits[0] if fits else NOTHING)
        found[column] = what if what not in found.values() else NOTHING
    return found


def _meanings(column: str, terms: Terms) -> Iterator[str]:
    """What a header may mean, the nearest first; 'term f' is 'term' with a unit."""
    name, _ = header_parts(column)
    for each in dict.fromkeys((name, name.rpartition(" ")[0])):
        quantities = terms.rulebase.quantities
        yield from (q.id for q in called(each, quantities.values()) if q.given == "site")
        for what, names in site_roles().columns.items():
            if each in map(plain_name, names) and (what in _NAMED or what in quantities):
                yield what


def _unit_fits(what: str, column: str, terms: Terms) -> bool:
    quantity = terms.rulebase.quantities.get(what)
    return quantity is None or quantity.kind in _WORDS or not wrong_unit(column, quantity)


def _holds(what: str, first: str, terms: Terms) -> bool:
    """Whether the first cell of a column is like what it may mean: figures, or words."""
    quantity = terms.rulebase.quantities.get(what)
    if quantity is None:
        return what != TITLE or re.fullmatch(r"[-+]?[\d.,]+", first) is None
    return quantity.kind in _WORDS or not first or any(map(str.isdecimal, first))


def meant(text: str, terms: Terms) -> str:
    """What a person says a column is: circuit, rack, ... or a value. Raises ReadingError."""
    typed = plain_name(text)
    if typed in ("nothing", "leave out", "out", ""):
        return NOTHING
    for what in _NAMED:
        if typed == plain_name(what):
            return what
    values = [q for q in terms.rulebase.quantities.values() if q.given == "site"]
    found = called(typed, values) or [
        q for q in values if any(typed in name for name in names_of(q))
    ]
    if len(found) == 1:
        return found[0].id
    hint = f"It could be: {', '.join(q.title for q in found[:6])}." if found else (
        hint_by_words(typed, values)
        or nearest(typed, _NAMED)
        or f"It can be {', '.join(_NAMED)}, nothing, or a value."
    )  # fmt: skip
    raise ReadingError(f"'{text.strip()}' is not known. {hint}")


def title_of(what: str, terms: Terms) -> str:
    """What a column is, for people."""
    if what in terms.rulebase.quantities:
        return terms.rulebase.quantities[what].title
    return {NOTHING: "left out", TITLE: "case, in words", "case_type": "kind of case"}.get(
        what, what
    )


def unit_of(column: str, quantity: Quantity) -> str:
    """The unit in a header, where it is one of the kind: 'Term (F)'."""
    names = {name.lower(): name for each in units_of(quantity.kind) for name in each.names}
    return names.get(_unit(column), "")


def wrong_unit(column: str, quantity: Quantity) -> str:
    """The unit in a header where it is one of another kind; empty where it fits or none stands."""
    unit = _unit(column)
    known = any(unit == name.lower() for each in UNITS for name in each.names)
    return unit if known and not unit_of(column, quantity) else ""


def _unit(column: str) -> str:
    name, unit = header_parts(column)
    return (unit or name.rpartition(" ")[2]).lower()
