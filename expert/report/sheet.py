"""What is to be read at a job, by place: a sheet for paper, and for a phone without a network."""

from __future__ import annotations

from dataclasses import dataclass

from expert.inference.evaluate import Evaluator
from expert.inference.sentences import band_text, first_up
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Quantity
from expert.knowledge.plants import cautions_on
from expert.knowledge.site import Subject
from expert.procedure.active import Active
from expert.procedure.open_now import Offer
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.spots import spot_of
from expert.procedure.taking import offers_of
from expert.procedure.world import AS_FOUND
from expert.units.kinds import Kind, unit_for

CAUTION, CHOICE, NUMBER, WORDS, CLOCK, SERIES = (
    "caution", "choice", "number", "words", "clock", "series",
)  # fmt: skip


@dataclass(frozen=True)
class SheetRow:
    """One thing to read or to confirm. `key` is that of its step, `form` how it is taken.

    `first` says what has to come first, empty where nothing has to.
    """

    key: str
    title: str
    form: str
    where: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()
    normal: str = ""
    first: str = ""
    caution: Caution | None = None


@dataclass(frozen=True)
class SheetPlace:
    """A place with what is to be confirmed and read there, in the order of the checklist."""

    spot: str
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True)
class Sheet:
    """A sheet. `id` tells sheets of one checklist and subject apart on a phone.

    `made_for` says for which plants the checklist is, `refrigerant` what is in this one with its
    safety class, `cautions` are those that belong to the plant whatever is done on it.
    """

    id: str
    title: str
    revision: str
    subject: str
    site: str
    job: str
    needs: tuple[str, ...]
    places: tuple[SheetPlace, ...]
    made_for: str = ""
    refrigerant: str = ""
    cautions: tuple[Caution, ...] = ()


def make_sheet(
    runner: Runner, evaluator: Evaluator, picture: Picture, site: str, job: str = ""
) -> Sheet:
    """What is still to be read as found, and the cautions and clocks that belong to it."""
    offered = {each.active.key: each for each in offers_of(runner, picture) if each.asked}
    rows: dict[str, list[SheetRow]] = {}
    for active in runner.plan(picture):
        if active.closed or active.stage != AS_FOUND or active.sample > 1:
            continue
        row = _row(active, offered, runner, evaluator)
        if row is not None:
            rows.setdefault(spot_of(active, runner.rulebase), []).append(row)
    subject, checklist = runner.subject, runner.checklist
    name = f"{checklist.id} {checklist.revision} {site} {subject.id} {job}"
    return Sheet(
        name, checklist.title, checklist.revision, f"{subject.id}: {subject.title}", site, job,
        (*checklist.needs.tools, *checklist.needs.people),
        tuple(SheetPlace(spot, tuple(found)) for spot, found in rows.items()),
        checklist.made_for.removesuffix("."), _refrigerant(subject),
        cautions_on(runner.rulebase, subject),
    )  # fmt: skip


def _refrigerant(subject: Subject) -> str:
    name, safety = subject.fact("refrigerant"), subject.fact("safety_class")
    if not name:
        return "not known: read the label before anything is opened"
    return f"{name}, safety class {safety}" if safety else name


def _row(
    active: Active, offered: dict[str, Offer], runner: Runner, evaluator: Evaluator
) -> SheetRow | None:
    step, member = active.step, f"{active.subject} " if active.subject else ""
    if step.type == "caution" and not active.quantity:
        caution = runner.rulebase.cautions[step.text]
        return SheetRow(active.key, caution.title, CAUTION, caution=caution)
    if step.type == "clock":
        return SheetRow(active.key, step.say or f"Clock {step.clock}", CLOCK)
    offer = offered.get(active.key)
    quantity = runner.rulebase.quantities.get(active.quantity)
    if offer is None or quantity is None:
        return None
    first = offer.why_not if not offer.why_not.startswith("first the caution") else ""
    return SheetRow(
        active.key, f"{member}{first_up(quantity.title)}", _form(active, quantity),
        quantity.where, _unit(quantity, runner.system), tuple(quantity.choices),
        _normal(quantity, active, runner, evaluator), first,
    )  # fmt: skip


def _form(active: Active, quantity: Quantity) -> str:
    if active.sample:
        return SERIES
    if quantity.is_choice:
        return CHOICE
    return WORDS if quantity.kind is Kind.TEXT else NUMBER


def _unit(quantity: Quantity, system: str) -> str:
    if quantity.is_choice or quantity.kind is Kind.TEXT:
        return ""
    return quantity.unit or unit_for(quantity.kind, system).name


def _normal(quantity: Quantity, active: Active, runner: Runner, evaluator: Evaluator) -> str:
    limit = evaluator.member(active.subject).limits.get(quantity.id)
    return band_text(limit, quantity, runner.system) if limit is not None else ""
