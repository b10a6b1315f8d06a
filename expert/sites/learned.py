"""What a job knows of a store that the store does not say: values and rows of its sheets."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.read_site_sheets import SAYS
from expert.knowledge.site import Site, Subject
from expert.procedure.active import Active
from expert.procedure.entries import Entry
from expert.procedure.offered import row_for, weather_and_state
from expert.procedure.picture import Picture, reading_of
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure

READ, SET, WRITTEN = "read", "set", "written"


@dataclass(frozen=True)
class Learned:
    """A value of a part of the store: what it is now, what the store says, who told it when.

    `row` is what stands in the row of a sheet: weather, state and value, by name; `instead` the
    weather and state of the row that stands there now. `photo` is what stands under a photo that
    was taken at the same step, or its file.
    """

    on: str
    quantity: Quantity
    text: str
    was: str
    how: str
    at: datetime
    who: str
    row: tuple[tuple[str, str], ...] = ()
    instead: tuple[tuple[str, str], ...] = ()
    photo: str = ""

    @property
    def name(self) -> str:
        """What tells it from all others that a job offers, with the value that it offers."""
        return "|".join((self.on, self.quantity.id, *(text for _, text in self.row), self.text))


def sentence(each: Learned) -> str:
    """'A4, drip time setting: 5 min, as found by A. Sample on 2026-03-14; the store says ...'."""
    how = {READ: "as found", SET: "set"}.get(each.how, each.how)
    who = f" by {each.who}" if each.who else ""
    was = f"; the store says {each.was}" if each.was else ""
    at = f"{each.at.astimezone():%Y-%m-%d}"
    beside = f" ({', '.join(text for _, text in each.row[:-1])})" if each.row else ""
    photo = f" (photo: {each.photo})" if each.photo else ""
    return f"{each.on}, {each.quantity.title}{beside}: {each.text}, {how}{who} on {at}{photo}{was}"


@dataclass(frozen=True)
class JobTells:
    """Of which store and part a job tells, by which rulebase, in which units, and who did it."""

    site: Site
    subject: str
    rulebase: Rulebase
    system: str
    who: str


def learned(picture: Picture, steps: Iterable[Active], told: JobTells) -> list[Learned]:
    """What the answers and adjustments of a job say of its store and the store does not.

    `steps` are those that apply; the last word on a value counts.
    """
    found: dict[tuple[object, ...], Learned | None] = {}
    applies = {each.key: each for each in steps}
    read: dict[tuple[str, str], Reading] = {}
    photos = {each.step: each.text("caption") or each.text("path") for each in picture.photos}
    said = [(key, entry) for key, entry in picture.closed.items() if key in applies]
    for key, entry in sorted(said, key=lambda each: each[1].seq):
        if entry.kind == "answer":
            reading = reading_of(entry)
            read[reading.quantity, reading.subject] = reading
        for name, each in (*_value(entry, told), *_row(entry, applies[key], read, told)):
            found[name] = each and replace(each, photo=photos.get(key, ""))
    return [each for each in found.values() if each is not None]


_Found = Iterator[tuple[tuple[object, ...], Learned | None]]


def _value(entry: Entry, told: JobTells) -> _Found:
    """A value of the site that an entry tells; None where the store says the same."""
    name = entry.text("quantity" if entry.kind == "answer" else "sets")
    quantity = told.rulebase.quantities.get(name)
    if entry.kind not in ("answer", "adjust") or quantity is None or quantity.given != "site":
        return
    part = _part(entry, quantity, told)
    if part is None:
        return
    known = part.values.get(name)
    value = entry.data.get("value")
    if isinstance(value, str) and not (quantity.is_choice or quantity.kind is Kind.TEXT):
        return  # low, normal or high is no setting
    if known is not None and _same(known.value, value):
        yield (part.id, name), None
        return
    text = entry.text("text") if entry.kind == "answer" else entry.text("to")
    text, was = _told(text, value, quantity, told.system), known.text if known else ""
    how = READ if entry.kind == "answer" else SET
    yield (part.id, name), Learned(part.id, quantity, text, was, how, *_when(entry, told))


def _row(
    entry: Entry, step: Active, read: Mapping[tuple[str, str], Reading], told: JobTells
) -> _Found:  # fmt: skip
    """A row of a sheet: what was read from the paper one, or what a step says to write on it.

    One without its weather or state tells nothing for another day.
    """
    name = step.step.sheet if entry.kind == "done" else entry.text("quantity")
    quantity = told.rulebase.quantities.get(name)
    if quantity is None or quantity.sheet is None or entry.kind not in ("done", "answer"):
        return
    part, sheet = _part(entry, quantity, told), quantity.sheet
    on = entry.text("on") or entry.text("subject")
    known = {each: reading for (each, subject), reading in read.items() if subject in ("", on)}
    kept = known.get(sheet.of if entry.kind == "done" else name)
    now = weather_and_state(sheet, known)
    if part is None or kept is None or now is None or not isinstance(kept.value, Measure):
        return
    if entry.text("from_sheet"):
        return
    weather, state = now
    row = row_for(sheet, part.sheets.get(name, ()), known)
    of_weather = known[sheet.weather]
    quantities = told.rulebase.quantities
    at = _told(of_weather.text, of_weather.value, quantities[sheet.weather], told.system)
    if row is not None and _same(row.value, kept.value.value):
        yield (part.id, name, state, round(weather)), None
        return
    text = _told(kept.text, kept.value.value, quantity, told.system)
    was = f"{row.text} at {row.weather_text}" if row else ""
    how = READ if entry.kind == "answer" else WRITTEN
    yield (
        (part.id, name, state, round(weather)),
        Learned(
            part.id, quantity, text, was, how, *_when(entry, told),
            ((sheet.weather, at), *state, (SAYS, text)),
            ((sheet.weather, row.weather_text), *row.state) if row else (),
        ),
    )  # fmt: skip


def _when(entry: Entry, told: JobTells) -> tuple[datetime, str]:
    return entry.time("taken") or entry.at, entry.who or told.who


def _part(entry: Entry, quantity: Quantity, told: JobTells) -> Subject | None:
    """The part of the store that a value belongs to: what was looked at, or what it is part of.

    A value of circuits that is told of a rack holds for all of its circuits.
    """
    subjects = told.site.subjects
    on = subjects.get(entry.text("on") or entry.text("subject") or told.subject)
    if on is None:
        return None
    if quantity.subject == "rack" and on.kind != "rack":
        return subjects.get(on.rack)
    if quantity.subject == "site":
        return subjects.get("site")
    above = (on, *(subjects[name] for name in told.site.above(on)))
    found = next((each for each in above if each.kind == quantity.subject), None)
    if found is None and (quantity.subject, on.kind) in (("circuit", "rack"), ("case", "circuit")):
        return on
    return found


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
