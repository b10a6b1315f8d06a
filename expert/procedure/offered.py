"""What Enter takes at a step before anybody typed there: a reading of the job that this one goes on
with, a value worked out of others, or the row of the store's sheet for this weather and state."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from typing import Protocol

from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.sheet_model import StoreSheet, StoreSheetRow
from expert.knowledge.site import Subject
from expert.physics.frame.catalog import formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.procedure.active import Active
from expert.procedure.carried import carried_entry
from expert.procedure.entries import Entry
from expert.procedure.history import History
from expert.procedure.picture import Picture
from expert.units.measure import Measure, format_measure


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
    if quantity is None or active.sample or not (quantity.worked_out or quantity.sheet):
        return None
    subject = job.members.get(active.subject, job.subject)
    known = _known(job, picture, active, subject)
    if quantity.worked_out:
        return _worked_out(quantity, known, subject, active, job.system)
    row = row_for(quantity.sheet, subject.sheets.get(quantity.id, ()), known)
    at = max((each.at for each in known.values() if each.at), default=None)
    if row is None or at is None:
        return None
    data = {"text": row.text, "value": row.value, "from_sheet": row.weather_text}
    return _entry(quantity, active, at, data)


def offered_from(entry: Entry | None) -> str:
    """Where an offered answer comes from, in words behind it; nothing for one that was typed."""
    if entry is None:
        return ""
    if weather := entry.text("from_sheet"):
        return f", from the store's sheet at {weather}"
    return ", worked out of what was read" if entry.text("worked_out") else ""


def row_for(
    sheet: StoreSheet | None, rows: tuple[StoreSheetRow, ...], known: Mapping[str, Reading]
) -> StoreSheetRow | None:
    """The row of this weather and state, the nearest one; None where that is not known or far."""
    if sheet is None or not rows or (now := weather_and_state(sheet, known)) is None:
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


def _worked_out(
    quantity: Quantity, known: Mapping[str, Reading], subject: Subject, active: Active, system: str
) -> Entry | None:
    by = quantity.worked_out
    if by is None:
        return None
    used = [known.get(each.quantity) for each in by.inputs.values()]
    values = [each.value.value for each in used if each and isinstance(each.value, Measure)]
    read = [each.at for each in used if each is not None and each.at is not None]
    if len(values) < len(used) or not read:
        return None
    from expert.inference.derive import context_of

    try:
        inputs = dict(zip(by.inputs, values, strict=True))
        value = formula(by.function).compute(context_of(subject), **inputs)
    except PhysicsError:
        return None
    if quantity.accuracy:  # no more figures than the readings give
        step = 10 ** math.floor(math.log10(quantity.accuracy / 2))
        value = round(value / step) * step
    text = format_measure(Measure(quantity.kind, value), system, plus_minus=False)
    data = {"text": text, "value": value, "worked_out": by.function}
    return _entry(quantity, active, max(read), data)


def _entry(
    quantity: Quantity, active: Active, at: datetime, data: Mapping[str, object]
) -> Entry:  # fmt: skip
    said = {"quantity": quantity.id, "kind": quantity.kind.value, "plus_minus": quantity.accuracy}
    return Entry(0, at, "answer", active.key, {**said, **data})
