"""What Enter takes at a step before anybody typed there: a reading of the job that this one goes on
with, or the row of the store's sheet for this weather and state."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Rulebase
from expert.knowledge.sheet_model import StoreSheet, StoreSheetRow
from expert.knowledge.site import Subject
from expert.procedure.active import Active
from expert.procedure.carried import carried_entry
from expert.procedure.entries import Entry
from expert.procedure.history import History
from expert.procedure.picture import Picture
from expert.units.measure import Measure


class Offering(Protocol):
    """What is known of a job where something is offered."""

    history: History
    rulebase: Rulebase
    system: str
    subject: Subject
    members: dict[str, Subject]

    def readings(self, picture: Picture) -> tuple[Reading, ...]:
        """The answers of all steps that now apply, in their order."""
        ...


def offered_entry(job: Offering, picture: Picture, active: Active) -> Entry | None:
    """The entry as if it had stood at a step; Enter confirms it, with the time it was taken."""
    if carried := carried_entry(job.history, active, job.rulebase, job.system):
        return carried
    quantity = job.rulebase.quantities.get(active.quantity)
    if quantity is None or active.sample or quantity.sheet is None:
        return None
    subject = job.members.get(active.subject, job.subject)
    known = _known(job, picture, active, subject)
    row = row_for(quantity.sheet, subject.sheets.get(quantity.id, ()), known)
    at = max((each.at for each in known.values() if each.at), default=None)
    if row is None or at is None:
        return None
    data = {
        "quantity": quantity.id, "kind": quantity.kind.value, "plus_minus": quantity.accuracy,
        "text": row.text, "value": row.value, "from_sheet": row.weather_text,
    }  # fmt: skip
    return Entry(0, at, "answer", active.key, data)


def offered_from(entry: Entry | None) -> str:
    """Where an offered answer comes from, in words behind it; nothing for one that was typed."""
    weather = entry.text("from_sheet") if entry is not None else ""
    return f", from the store's sheet at {weather}" if weather else ""


def row_for(
    sheet: StoreSheet, rows: tuple[StoreSheetRow, ...], known: Mapping[str, Reading]
) -> StoreSheetRow | None:
    """The row of this weather and state, the nearest one; None where that is not known or far."""
    if not rows or (now := weather_and_state(sheet, known)) is None:
        return None
    weather, state = now
    same = [each for each in rows if each.state == state]
    nearest = min(same, key=lambda each: abs(each.weather - weather), default=None)
    if nearest is None or abs(nearest.weather - weather) > sheet.within + 1e-6:
        return None
    return nearest


def weather_and_state(
    sheet: StoreSheet, known: Mapping[str, Reading]
) -> tuple[float, tuple[tuple[str, str], ...]] | None:
    """The temperature and the words by which a sheet goes; None where one of them is not known."""
    weather = known.get(sheet.weather)
    words = [(name, known[name].value) for name in sheet.same if name in known]
    state = tuple((name, word) for name, word in words if isinstance(word, str))
    if weather is None or not isinstance(weather.value, Measure) or len(state) < len(sheet.same):
        return None
    return weather.value.value, state


def _known(
    job: Offering, picture: Picture, active: Active, subject: Subject
) -> dict[str, Reading]:  # fmt: skip
    """The last reading of each quantity in the round of a step, over the site's values."""
    from expert.inference.derive import site_readings  # a first question needs none of it

    known = {each.quantity: each for each in site_readings(subject, job.rulebase.quantities)}
    for each in job.readings(picture):
        here = (each.stage, each.round) == (active.stage, active.round)
        if here and each.subject == active.subject:
            known[each.quantity] = each
    return known
