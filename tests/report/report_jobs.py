"""Plays the recorded demo jobs in memory."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from memory_log import MemoryLog
from shipped_knowledge import shipped_checklists, shipped_rules

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.read_answers import load_answers
from expert.procedure.runner import Runner, runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session
from expert.report.context import ReportContext
from expert.report.render import gather, render

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
DEMO = shipped("checklists") / "demo"
CHECKOUT, WALK = "hot-gas-defrost-checkout", "preventive-maintenance-walk"
SKIPPED = "no key to the cabinet"
# A name for each job: its answers, its subject, its checklist.
JOBS = {
    "low": ("a4-low-differential", "A4", CHECKOUT),
    "stop": ("a6-suction-stop-leaking", "A6", CHECKOUT),
    "healthy": ("healthy", "A4", CHECKOUT),
    "walk": ("a-dirty-condenser", "A", WALK),
}


@dataclass(frozen=True)
class ReportedJob:
    """The facts of a job that a report needs."""

    id: str = "2026-03-02-A4"
    site: str = "An invented store"
    who: str = "A. *Sample*"
    created: datetime = START
    rulebase_hash: str = ""


@cache
def knowledge() -> tuple[Rulebase, dict[str, Checklist], Site]:
    """What is shipped: the rulebase, the checklists, the demo site."""
    rulebase = shipped_rules()
    checklists = shipped_checklists()
    return rulebase, checklists, load_site(DEMO / "site.yaml", rulebase)


@cache
def played(
    name: str, subject: str, steps: int = 0, checklist: str = CHECKOUT, skipped: str = ""
) -> tuple[tuple[Entry, ...], Runner]:
    """The entries of a demo job (all, or the first so many) and its runner.

    `skipped` is a phase that is left out, for the reason SKIPPED.
    """
    rulebase, checklists, site = knowledge()
    what = site.subjects[subject]
    evaluator = Evaluator(rulebase, what, members=site.members(what), backend="plain")
    runner = runner_for(checklists[checklist], evaluator)
    clock = iter(START + timedelta(seconds=20 * n) for n in range(10_000))
    log = MemoryLog()
    session = Session(runner, log, "job", now=lambda: next(clock))
    file = next(DEMO.glob(f"{checklist}.*{name}.answers.yaml"))
    if skipped:
        with TemporaryDirectory() as folder:
            text = re.sub(
                rf"^  {skipped}:\n(?:   .*\n)+", f"  {skipped}: {{skip: {SKIPPED}}}\n",
                file.read_text("utf-8"), flags=re.MULTILINE,
            )  # fmt: skip
            changed = Path(folder) / file.name
            changed.write_text(text, "utf-8")
            answers = load_answers(changed, checklists[checklist])
    else:
        answers = load_answers(file, checklists[checklist])
    for number, _ in enumerate(play(session, answers), 1):
        if number == steps:
            break
    return tuple(log.entries), runner


def job(name: str) -> tuple[tuple[Entry, ...], Runner]:
    """The entries and the runner of one of JOBS."""
    answers, subject, checklist = JOBS[name]
    return played(answers, subject, checklist=checklist)


@cache
def gathered(name: str, system: str) -> ReportContext:
    """The facts of one of JOBS, from which every view of it is made."""
    entries, runner = job(name)
    return gather(ReportedJob(), entries, runner, system=system, backend="plain")


@cache
def view(name: str, wanted: str = "technical", form: str = "html", system: str = "both") -> str:
    """A view of one of JOBS."""
    return render(gathered(name, system), wanted, form)


def with_text(entries: Sequence[Entry], text: str) -> tuple[Entry, ...]:
    """The entries with a text in every place where a person may type one."""
    last = entries[-1]
    changed = {
        "adjust": {"what": text, "from": text, "to": text},
        "sign": {"name": text},
    }
    made = [
        replace(entry, data={**entry.data, **changed[entry.kind]})
        if entry.kind in changed
        else entry
        for entry in entries
    ]
    more = (
        ("note", "", {"text": text}),
        ("photo", "", {"path": text}),
        ("skip", "tell-the-store", {"reason": text}),
    )
    made += [
        Entry(last.seq + number, last.at, kind, step, data)
        for number, (kind, step, data) in enumerate(more, 1)
    ]
    return tuple(made)
