"""Values of the site that a job has set: recognised in an adjustment, and laid over the site file.

The site file is never edited. A value set in a job holds from then on, until the file itself says
something else than it said at that time: then the file was changed later, and it counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from expert.errors import ReadingError
from expert.knowledge import judge
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.plants import suited
from expert.knowledge.site import Site, SiteValue, Subject
from expert.procedure.entries import Draft
from expert.procedure.history import SetPoint
from expert.units.kinds import Kind


def named_value(what: str, rulebase: Rulebase) -> Quantity | None:
    """The value of a site that an adjustment names by its title or id, if it is one."""
    wanted = " ".join(what.lower().replace("_", " ").split()).removeprefix("the ")
    for quantity in rulebase.quantities.values():
        if quantity.given and wanted in (quantity.title.lower(), quantity.id.replace("_", " ")):
            return quantity
    return None


def with_set_point(
    draft: Draft, rulebase: Rulebase, subject: Subject, barometer: float, system: str
) -> Draft:
    """An adjustment with the value of the site that it sets, where it names one.

    Raises ReadingError where it does and the position after is no such value.
    """
    if draft.kind != "adjust":
        return draft
    quantity = named_value(str(draft.data.get("what", "")), rulebase)
    if quantity is None:
        return draft
    text = str(draft.data["to"])
    try:
        value = _value(text, suited(quantity, subject), barometer, system)
    except ReadingError as error:
        raise ReadingError(
            f"'{quantity.title}' is a value of the site that holds from now on, so the position "
            f"after must be one. {error}"
        ) from None
    on = {"site": "site", "rack": subject.rack}.get(quantity.subject, subject.id) or subject.id
    was = subject.values.get(quantity.id)
    more: dict[str, object] = {
        "sets": quantity.id, "value": value, "on": on, "file": was.in_file if was else "",
    }  # fmt: skip
    return replace(draft, data={**draft.data, **more})


def _value(text: str, quantity: Quantity, barometer: float, system: str) -> float | str:
    if quantity.is_choice:
        return judge.choice(text, quantity)
    if quantity.kind is Kind.TEXT:
        return judge.words(text, "a few words")
    return judge.number(text, quantity, barometer=barometer, system=system).value


def in_force(
    site: Site, points: Iterable[SetPoint]
) -> tuple[tuple[SetPoint, ...], tuple[SetPoint, ...]]:
    """The set points that hold, and those after which the site file was changed."""
    holding, overtaken = [], []
    for point in points:
        subject = site.subjects.get(point.subject)
        if subject is None:
            continue
        now = subject.values.get(point.quantity)
        if (now.text if now else "") == point.file:
            holding.append(point)
        elif now is None or now.value != point.value:
            overtaken.append(point)
    return tuple(holding), tuple(overtaken)


def laid_over(site: Site, points: Iterable[SetPoint]) -> Site:
    """The site with the values that jobs have set; what inherits a value inherits the new one."""
    subjects: dict[str, Subject] = dict(site.subjects)
    for point in points:
        if point.subject not in subjects:
            continue
        old = subjects[point.subject].values.get(point.quantity)
        changed = SiteValue(
            point.quantity, point.value, point.text, file=point.file, set_in_job=True
        )
        for name in _below(point.subject, subjects):
            subject = subjects[name]
            if name == point.subject or subject.values.get(point.quantity) == old:
                values = {**subject.values, point.quantity: changed}
                subjects[name] = replace(subject, values=values)
    return replace(site, subjects=subjects)


def _below(top: str, subjects: Mapping[str, Subject]) -> list[str]:
    """A subject and everything that is part of it."""
    found = [top]
    for name in found:
        found += [each.id for each in subjects.values() if each.part_of == name]
    return found
