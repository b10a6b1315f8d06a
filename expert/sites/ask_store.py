"""What a store, a rack and a circuit are asked, at the depth that one has time for."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from expert.errors import RackwalkError, ReadingError, nearest
from expert.knowledge import judge
from expert.knowledge.fact_words import APPLICATIONS, DEFROSTS
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import Quantity, Rulebase
from expert.made_when_used import dataclass
from expert.physics.air.barometer import barometer
from expert.physics.fluids.refrigerants import refrigerant
from expert.sites.data import Data, facts_of, part
from expert.sites.questions import Ask, Asking
from expert.sites.site_roles import case_type_of, case_types, values_of
from expert.units.kinds import Kind, unit_for
from expert.units.parse import parse_measure

PLANT, SETTINGS, ALL = "racks and circuits only", "also the usual settings", "every value"
DEPTHS = (PLANT, SETTINGS, ALL)
NOT_NOW = "not known now"
WHOSE_LAW = (
    "By whose law is it kept? Limits of food, recovery and leak checks follow it (of the United "
    "States the federal rules); what a state, a country or a town asks beyond it still holds."
)
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/+-]{0,19}")
_SPAN = re.compile(r"(?P<head>[A-Za-z ._-]*)(?P<first>\d+)\s*(?:-|to)\s*(?P=head)?(?P<last>\d+)")
_MOST = 60  # circuits in one answer


@dataclass(frozen=True)
class Terms:
    """By which rulebase, in which units, and to which depth a store is asked for.

    `stores` are the names of those that are kept already, `law` is the usual jurisdiction.
    """

    rulebase: Rulebase
    system: str = "us"
    depth: str = PLANT
    stores: tuple[str, ...] = ()
    law: str = JURISDICTIONS[0]

    @property
    def every(self) -> bool:
        """Whether all values are asked."""
        return self.depth == ALL


def new_store(terms: Terms) -> Asking[Data]:
    """A whole store: its name, its altitude, its racks with their circuits."""
    data = yield from store_head(terms)
    while True:
        first = not data["racks"]
        text = "The first rack: its letter or name, as the store calls it." if first else (
            "Another rack? Its letter or name."
        )  # fmt: skip
        leave = "" if first else "no more racks"
        name = yield Ask(text, take=_free_name(data), leave=leave, label="rack")
        if not name:
            break
        yield from new_rack(terms, data, name)
    if terms.depth != PLANT:
        yield from _values("site", "site", data, terms)
    return data


def store_head(terms: Terms) -> Asking[Data]:
    """The name of a store, how high it lies, and by whose law it is kept."""
    name = yield Ask("What is the store called?", take=_new_name(terms), label="store")
    high = yield Ask(
        "How high does it lie, for example 5280 ft or 300 m? Gauges read less in the mountains; "
        "near the sea 0 ft will do.",
        take=_altitude(terms.system), label="altitude",
    )  # fmt: skip
    law = yield Ask(WHOSE_LAW, JURISDICTIONS, leave=terms.law, label="law")
    site = {"name": name, "altitude": high, "jurisdiction": law or terms.law}
    return {"site": site, "racks": []}


def new_rack(
    terms: Terms, data: Data, name: str, *, circuits: bool = True, defrost: str = ""
) -> Asking[Data]:
    """A rack of a store, with its circuits where they are wanted; the rack."""
    gas = yield Ask(
        f"Which refrigerant is in rack {name}, by its label?", take=a_refrigerant,
        label="refrigerant", heading=f"Rack {name}",
    )  # fmt: skip
    application = yield Ask("Which application?", APPLICATIONS, label="application")
    if not defrost:
        defrost = yield Ask(
            "How are most of its circuits defrosted?", DEFROSTS, leave=NOT_NOW, label="defrost"
        )
    rack: Data = {"id": name, "title": f"Rack {name}", "refrigerant": gas}
    rack["application"] = application
    if defrost:
        rack["defrost"] = defrost
    data["racks"].append(rack)
    if terms.depth != PLANT:
        typed = yield Ask(
            "Its compressors, for example AC1 AC2 AC3.", take=_names(data), leave=NOT_NOW,
            label="compressors",
        )  # fmt: skip
        if typed:
            rack["compressors"] = [{"id": each} for each in typed.split(", ")]
            for each in typed.split(", ") if terms.every else ():
                yield from _values(each, "compressor", data, terms)
        yield from _values(name, "rack", data, terms)
    while circuits:
        typed = yield Ask(
            f"Circuits of rack {name}: one, or several as 'A1 A2' or 'A1-A8'.",
            take=_names(data), leave="no more circuits", label="circuits",
        )  # fmt: skip
        if not typed:
            break
        for each in typed.split(", "):
            yield from new_circuit(terms, data, rack, each)
    return rack


def new_circuit(terms: Terms, data: Data, rack: Data, name: str) -> Asking[Data]:
    """A circuit of a rack and its case; the circuit."""
    known = case_types(terms.rulebase)
    case = yield Ask(
        f"What does {name} cool? A number, or in your words.", known, leave=NOT_NOW, free=True,
        label=f"{name} case", heading=f"Circuit {name}",
    )  # fmt: skip
    circuit: Data = {"id": name}
    if case:
        circuit["title"] = case[:1].upper() + case[1:]
        if kind := case_type_of(case, terms.rulebase):
            circuit["case_type"] = kind
    rack.setdefault("circuits", []).append(circuit)
    if terms.depth == PLANT:
        return circuit
    usual = rack.get("defrost")
    other = yield Ask(
        f"How is {name} defrosted?", DEFROSTS, label=f"{name} defrost",
        leave=f"{usual}, like the rack" if usual else NOT_NOW,
    )  # fmt: skip
    if other and other != usual:
        circuit["defrost"] = other
    yield from _values(name, "circuit", data, terms)
    return circuit


def _values(name: str, level: str, data: Data, terms: Terms) -> Asking[None]:
    """The values of a part that are wanted at a depth; Enter leaves one out."""
    found = part(data, name)
    assert found is not None
    for quantity in values_of(level, facts_of(data, name), terms.rulebase, every=terms.every):
        if quantity.id in found.get("values", {}):
            continue
        where = f" ({quantity.where})" if quantity.where else ""
        text = yield Ask(
            f"{quantity.title[:1].upper()}{quantity.title[1:]}{where}", tuple(quantity.choices),
            take=a_value(quantity, data, terms.system), leave=NOT_NOW, label=_unit(quantity, terms),
            heading=f"{'Store' if level == 'site' else level.capitalize()} {name}: what is set",
        )  # fmt: skip
        if text:
            found.setdefault("values", {})[quantity.id] = text


def _unit(quantity: Quantity, terms: Terms) -> str:
    if quantity.is_choice or quantity.kind is Kind.TEXT:
        return ""
    return quantity.unit or unit_for(quantity.kind, terms.system).name


def a_value(quantity: Quantity, data: Data, system: str) -> Callable[[str], str]:
    """What takes a value of the site: a choice, words, or a number that gets its unit."""
    height = parse_measure(data["site"].get("altitude", "0 ft"), Kind.LENGTH, system="us").value

    def take(text: str) -> str:
        if quantity.is_choice:
            return judge.choice(text, quantity)
        if quantity.kind is Kind.TEXT:
            return judge.words(text, "a few words")
        judge.number(text, quantity, barometer=barometer(height), system=system)
        unit = quantity.unit or unit_for(quantity.kind, system).name
        bare = re.fullmatch(r"[-+]?[\d.,]+", text.strip())
        return f"{text.strip()} {unit}".rstrip() if bare else text.strip()

    return take


def a_name(text: str) -> str:
    """A name that can be shown and kept."""
    cleaned = judge.words(text, "a name")
    if not cleaned.isprintable() or len(cleaned) > 60 or re.search(r"[/\\]|\.ya?ml$", cleaned):
        raise ReadingError("A name has up to 60 letters, figures and signs, and no / or \\.")
    return cleaned


def _new_name(terms: Terms) -> Callable[[str], str]:
    def take(text: str) -> str:
        name = a_name(text)
        if name.lower() in map(str.lower, terms.stores):
            raise ReadingError(f"There is a '{name}'; 'rackwalk site add' adds to it.")
        return name

    return take


def a_refrigerant(text: str) -> str:
    """The designation of a refrigerant, however it is spelt."""
    try:
        return refrigerant(text).designation
    except RackwalkError as error:
        raise ReadingError(str(error)) from None


def _altitude(system: str) -> Callable[[str], str]:
    def take(text: str) -> str:
        measure = parse_measure(text, Kind.LENGTH, system=system)
        try:
            barometer(measure.value)
        except RackwalkError as error:
            raise ReadingError(str(error)) from None
        bare = re.fullmatch(r"[-+]?[\d.,]+", text.strip())
        return f"{text.strip()} {unit_for(Kind.LENGTH, system).name}" if bare else text.strip()

    return take


def an_id(text: str) -> str:
    """An id of a rack or circuit."""
    if not _ID.fullmatch(text) or text.lower() == "site":
        raise ReadingError(f"'{text}' cannot be an id: up to 20 letters and figures, like A4.")
    return text


def _taken_ids(data: Data) -> set[str]:
    found = {"site"}
    for rack in data.get("racks", ()):
        found |= {str(rack.get("id", "")).lower()}
        for below in ("compressors", "circuits"):
            found |= {str(each.get("id", "")).lower() for each in rack.get(below, ())}
    return found


def _free_name(data: Data) -> Callable[[str], str]:
    def take(text: str) -> str:
        name = an_id(re.sub(r"(?i)^rack\s+", "", text))
        if name.lower() in _taken_ids(data):
            raise ReadingError(f"There is a '{name}' already.")
        return name

    return take


def _names(data: Data) -> Callable[[str], str]:
    """What takes ids: 'A1', 'A1 A2', 'A1-A8'; gives them with ', ' between."""

    def take(text: str) -> str:
        found: list[str] = []
        for word in re.split(r"[,;]\s*|\s+(?!to\b)(?<!to )", text.strip()):
            if span := _SPAN.fullmatch(word.strip()):
                first, last = int(span["first"]), int(span["last"])
                if not 0 <= last - first < _MOST:
                    raise ReadingError(f"'{word}' is no span of up to {_MOST} circuits.")
                width = len(span["first"]) if span["first"].startswith("0") else 0
                found += [f"{span['head']}{n:0{width}d}" for n in range(first, last + 1)]
            elif word.strip():
                found.append(an_id(word.strip()))
        taken_ids = _taken_ids(data)
        for place, each in enumerate(found):
            if each.lower() in taken_ids or each in found[:place]:
                raise ReadingError(f"There is a '{each}' already.")
        return ", ".join(found)

    return take


def which_rack(data: Data) -> Ask:
    """The question for a rack of the store."""
    ids: Sequence[str] = [each["id"] for each in data["racks"]]

    def take(text: str) -> str:
        name = an_id(re.sub(r"(?i)^rack\s+", "", text))
        return next((each for each in ids if each.lower() == name.lower()), name)

    return Ask("On which rack? Its letter or name; a new one is asked for.", ids, take=take,
               free=True, label="rack")  # fmt: skip


def what_to_add(terms: Terms, data: Data, kind: str, name: str = "") -> Asking[Data]:
    """A circuit (with its rack where that is new) or a rack more; the store with it."""
    if kind == "rack":
        if not name:
            name = yield Ask("Its letter or name.", take=_free_name(data), label="rack")
        yield from new_rack(terms, data, name)
        return data
    on = data["racks"][0]["id"] if len(data["racks"]) == 1 else ""
    if not data["racks"]:
        on = yield Ask("On which rack? Its letter or name.", take=_free_name(data), label="rack")
    elif not on:
        on = yield which_rack(data)
    rack = part(data, on)
    if rack is None:
        rack = yield from new_rack(terms, data, on, circuits=False)
    if not name:
        name = yield Ask(
            "Which circuit, as the legend calls it, for example A4?", take=_names(data),
            label="circuit",
        )  # fmt: skip
    for each in name.split(", "):
        yield from new_circuit(terms, data, rack, each)
    return data


def nearest_part(name: str, data: Data) -> str:
    """'Did you mean x?' for an id of the store."""
    return nearest(name, [part_id for part_id in _taken_ids(data) if part_id != "site"])
