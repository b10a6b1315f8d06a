"""Whole jobs played through the real runner: the shipped answers, and checklists that answer
themselves. They are what `many_jobs` is made from. Everything in them is invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from shipped_knowledge import shipped_checklists, shipped_rules

from expert.cli.job.cache import cached
from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Limit, Quantity, Rulebase
from expert.knowledge.yaml_nodes import Fields, Items, Text, read_yaml
from expert.places import shipped
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.log import NothingKept
from expert.procedure.read_answers import load_answers
from expert.procedure.runner import runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session
from expert.units.kinds import Kind
from expert.units.measure import format_value

BEGAN = datetime(2026, 1, 5, 13, 0, tzinfo=UTC)
MOST_STEPS = 400
# a rack with a leak record that is judged by each addition
ANNUALIZING = "      leak_rate_method: annualizing\n      suction_set_point:"
# checklists without shipped answers, each on a subject of the demonstration store
BY_ITSELF = (
    ("leak-inspection-and-repair", "A"), ("leak-inspection-and-repair", "B"),
    ("receiver-level-and-charge", "A"), ("receiver-level-and-charge", "B"),
    ("oil-system", "A"), ("liquid-quality", "A"),
)  # fmt: skip
SHIPPED = (
    ("preventive-maintenance-walk", "A", "a-dirty-condenser"),
    ("preventive-maintenance-walk", "A", "a-healthy"),
    ("expansion-valve-superheat", "A3", "a3-healthy"),
    ("expansion-valve-superheat", "A5", "a5-bulb-loose"),
    ("suction-set-point-worksheet", "B", "b-healthy"),
    ("evaporator-pressure-regulator", "A4", "a4-set-high"),
    ("warm-case-triage", "A3", "a3-alarm-only"),
)


@dataclass(frozen=True)
class RecordedJob:
    """A finished job: its checklist, its subject in the demonstration store, its entries."""

    checklist: Checklist
    subject: str
    alike: tuple[str, ...]
    entries: tuple[Entry, ...]


class _VisitClock:
    def __init__(self) -> None:
        self.at = BEGAN

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=35)
        return self.at


def site_text() -> str:
    """The demonstration store with the annualizing leak rate."""
    text = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
    return text.replace("      suction_set_point:", ANNUALIZING)


@cache
def recorded(every: int = 1) -> tuple[Rulebase, tuple[RecordedJob, ...]]:
    """The rulebase and every so many of the jobs: some seconds the first time, then from the
    user's cache."""
    rules, checklists = shipped_rules(), shipped_checklists()
    files = sorted(shipped("checklists").rglob("*.yaml"))
    source = Path(__file__).read_text(encoding="utf-8")
    jobs = cached(
        tuple, files, lambda: tuple(_all(rules, checklists, every)), rules.info.hash, source,
        str(every),
    )  # fmt: skip
    return rules, jobs


def _all(rules: Rulebase, checklists: dict[str, Checklist], every: int) -> Iterator[RecordedJob]:
    site = parse_site(site_text(), "site.yaml", rules)
    folder = shipped("checklists") / "demo"
    shipped_answers = ((*each, f"{each[0]}.{name}.answers.yaml") for *each, name in SHIPPED)
    which = (*_demo(), *shipped_answers, *((*each, "") for each in BY_ITSELF))
    for name, subject_id, answers in which[::every]:
        checklist, subject = checklists[name], site.subjects[subject_id]
        evaluator = Evaluator(rules, subject, members=site.members(subject), backend="plain")
        runner = runner_for(checklist, evaluator)
        session = Session(runner, NothingKept(), "job", now=_VisitClock())
        if answers:
            list(play(session, load_answers(folder / answers, checklist)))
        else:
            _answer_by_itself(session, evaluator)
        alike = tuple(
            each.id for each in site.subjects.values()
            if (each.kind, each.facts) == (subject.kind, subject.facts)
        )  # fmt: skip
        yield RecordedJob(checklist, subject_id, alike, session.picture.entries)


def _demo() -> Iterator[tuple[str, str, str]]:
    root = read_yaml(shipped("checklists") / "demo" / "jobs.yaml")
    assert isinstance(root, Fields)
    jobs = root.fields["demo"]
    assert isinstance(jobs, Items)
    for job in jobs.items:
        assert isinstance(job, Fields)
        texts = {key: node.text for key, node in job.fields.items() if isinstance(node, Text)}
        yield texts["checklist"], texts["subject"], texts["answers"]


def _answer_by_itself(session: Session, evaluator: Evaluator) -> None:
    """Something that is accepted at every step: normal where a limit says what that is."""
    for _ in range(MOST_STEPS):
        if (active := session.current) is None:
            return
        if active.step.type == "stop":
            session.skip("not so on this visit (invented)")
            continue
        try:
            text = _something(active, session, evaluator)
            if isinstance(session.answer(text), NeedsConfirmation):
                session.answer(text, sure=True)
        except ReadingError:
            session.skip("no access on this visit (invented)")
    raise AssertionError(f"{session.runner.checklist.id} did not end")


def _something(active: Active, session: Session, evaluator: Evaluator) -> str:
    quantity = session.runner.rulebase.quantities.get(active.quantity)
    if quantity is None:
        return {
            "caution": "yes", "sign": "A. Sample", "adjust": "as written; before; after",
            "members": "; ".join(active.offers[:1]) or "none",
        }.get(active.step.type, "")  # fmt: skip
    if quantity.is_choice:
        phrases = tuple(quantity.choices)
        if active.loop and active.phase.repeat is not None:
            again = active.phase.repeat.answer
            return again if active.turn == 1 else next(each for each in phrases if each != again)
        return "yes" if {"yes", "no"} == set(phrases) else phrases[0]
    if quantity.kind is Kind.TEXT:
        return "as on the sheet (invented)"
    value = _likely(quantity, evaluator.member(active.subject).limits.get(quantity.id))
    return format_value(quantity.kind, value, "us")


def _likely(quantity: Quantity, limit: Limit | None) -> float:
    edges = [limit.low, limit.high] if limit is not None else []
    edges = [each for each in edges if isinstance(each, int | float)]
    if not edges:
        below, above = quantity.unusual_below, quantity.unusual_above
        low = quantity.refuse_below if below is None else below
        high = quantity.refuse_above if above is None else above
        edges = [each for each in (low, high) if each is not None]
        if len(edges) == 2:
            return edges[0] + 0.4 * (edges[1] - edges[0])
    return sum(edges) / len(edges) if edges else 1.0
