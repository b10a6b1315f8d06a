"""What a job knows of a store that the store does not say: values as found and as left."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.site import Site, Subject
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture
from expert.sites.site_roles import LEVELS
from expert.units.kinds import Kind, unit_for

READ, SET = "read", "set"


@dataclass(frozen=True)
class Learned:
    """A value of a part of the store: what it is now, what the store says, who told it when."""

    on: str
    quantity: Quantity
    text: str
    was: str
    how: str
    at: datetime
    who: str


def learned(
    picture: Picture, steps: Iterable[str], site: Site, subject: str, rulebase: Rulebase,
    system: str, who: str,
) -> list[Learned]:  # fmt: skip
    """What the answers and adjustments of a job say of its store and the store does not.

    `steps` are the keys of the steps that apply; the last word on a value counts.
    """
    found: dict[tuple[str, str], Learned] = {}
    keys = set(steps)
    told = (entry for key, entry in picture.closed.items() if key in keys)
    for entry in sorted(told, key=lambda each: each.seq):
        name = entry.text("quantity" if entry.kind == "answer" else "sets")
        quantity = rulebase.quantities.get(name)
        if entry.kind not in ("answer", "adjust") or quantity is None or quantity.given != "site":
            continue
        part = _part(entry, quantity, site, subject)
        if part is None:
            continue
        known = part.values.get(name)
        value = entry.data.get("value")
        text = entry.text("text") if entry.kind == "answer" else entry.text("to")
        if known is not None and _same(known.value, value):
            found.pop((part.id, name), None)
            continue
        found[part.id, name] = Learned(
            part.id, quantity, _told(text, value, quantity, system), known.text if known else "",
            READ if entry.kind == "answer" else SET, entry.time("taken") or entry.at,
            entry.who or who,
        )  # fmt: skip
    return list(found.values())


def _part(entry: Entry, quantity: Quantity, site: Site, subject: str) -> Subject | None:
    on = site.subjects.get(entry.text("on") or entry.text("subject") or subject)
    if on is None or quantity.subject not in LEVELS:
        return None
    if quantity.subject == "rack" and on.kind != "rack":
        return site.subjects.get(on.rack)
    return site.subjects.get("site") if quantity.subject == "site" else on


def _same(known: float | str, value: object) -> bool:
    if isinstance(known, float | int) and isinstance(value, float | int):
        return abs(known - value) <= 1e-6 * max(1.0, abs(known))
    return known == value


def _told(text: str, value: object, quantity: Quantity, system: str) -> str:
    """What a store file says: a choice in its words, whatever number was typed, a number with
    its unit."""
    if quantity.is_choice or quantity.kind is Kind.TEXT:
        return value if isinstance(value, str) else text
    unit = quantity.unit or unit_for(quantity.kind, system).name
    return f"{text} {unit}".rstrip() if re.fullmatch(r"[-+]?[\d.,]+", text.strip()) else text
