"""Opening a job, new or old: rules, site, checklist, evaluator, runner, job file, session."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from expert.cli.frame.common import backend
from expert.cli.frame.settings import setting
from expert.cli.job.cache import uncollected
from expert.cli.job.ending import ending_of
from expert.cli.job.load_knowledge import (
    load_all_checklists,
    load_checklist_file,
    load_rules,
    site_of_text,
)
from expert.cli.job.which_site import named_site
from expert.errors import UsageError, nearest
from expert.inference.evaluate import Evaluator
from expert.knowledge.hints import Called, hint_by_words
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_files import checklist_folders
from expert.knowledge.site import Site, Subject
from expert.made_when_used import dataclass
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.fitting import why_not
from expert.procedure.history import History, history_in
from expert.procedure.job_at_work import Others, wall_clock
from expert.procedure.recorded import recorded_runner
from expert.procedure.runner import Runner
from expert.procedure.session import Session
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.paths import hidden, job_place

_OPTIONS = ("jobs", "rulebase", "checklist_file")


@dataclass(frozen=True)
class Work:
    """A job ready to be worked on. `changed` says what is not as it was when it began."""

    job: Job
    store: JobStore
    evaluator: Evaluator
    runner: Runner
    session: Session
    resume: str
    changed: tuple[str, ...] = ()
    places: tuple[str, ...] = ()  # options for folders that are not the usual ones

    @property
    def report_path(self) -> Path:
        """Where the report lies unless another place was named."""
        return self.store.folder / "reports" / f"{self.job.id}.md"


def site_of_job(job: Job, rules: Rulebase) -> Site:
    """The site of a job as it was when the job began. Raises PackError."""
    return site_of_text(job.site_text, f"site file of job {job.id}", rules)


def find_checklist(name: str, rules: Rulebase, pack: Path | None = None) -> Checklist:
    """A checklist by its id, of a pack or shipped, or from its file. Raises UsageError."""
    path, folders = Path(name), checklist_folders(pack)
    if path.suffix in (".yaml", ".yml"):
        return load_checklist_file(path, rules, folders)
    for folder in folders:
        own = folder / f"{name}.yaml"
        if own.is_file() and (found := load_checklist_file(own, rules, folders)).id == name:
            return found
    known = load_all_checklists(pack, rules)
    if name not in known:
        hint = hint_by_words(name, _named(known), by_id=True) or f"There are: {', '.join(known)}."
        raise UsageError(f"There is no checklist '{name}'. {hint}")
    return known[name]


def _named(known: Mapping[str, Checklist]) -> list[Called]:
    return [Called(name, each.title) for name, each in known.items()]


def subjects_for(checklist: Checklist, site: Site) -> list[Subject]:
    """The circuits or racks of a site that a checklist is for."""
    return [each for each in site.subjects.values() if not why_not(checklist, each)]


def choose_subject(
    checklist: Checklist,
    site: Site,
    wanted: str | None,
    ask: Callable[[Sequence[Subject]], str] | None,
) -> Subject:
    """The subject named, or the answer of `ask`. Raises UsageError with what would do."""
    fitting = subjects_for(checklist, site)
    listed = ", ".join(each.id for each in fitting) or "none of this site"
    if wanted is None and ask is not None and fitting:
        wanted = ask(fitting)
    if wanted is None:
        raise UsageError(f"Say which {checklist.subject}: --subject ID. It may be: {listed}.")
    by_id = {each.lower(): subject for each, subject in site.subjects.items()}
    subject = by_id.get(wanted.lower())
    if subject is None:
        hint = nearest(wanted, site.subjects)
        raise UsageError(f"The site has no '{wanted}'. {hint or f'It may be: {listed}.'}")
    if reason := why_not(checklist, subject):
        raise UsageError(
            f"The checklist '{checklist.id}' cannot be run on {subject.id}: {reason}. "
            f"It may be run on: {listed}."
        )
    return subject


@dataclass(frozen=True)
class Prepared:
    """Everything of a new job that can be wrong, checked before the job begins."""

    rules: Rulebase
    checklist: Checklist
    site: Site
    subject: Subject


@uncollected()
def prepare(
    options: argparse.Namespace,
    ask: Callable[[Sequence[Subject]], str] | None = None,
    site: Site | None = None,
    rules: Rulebase | None = None,
) -> Prepared:
    """The checked parts of a new job from `checklist`, `site`, `subject` and `rulebase`.

    `site` and `rules` are what was read already; with `begun_from` the site is that of another job,
    and so is the subject where none is named.
    """
    rules = rules or load_rules(options.rulebase)
    checklist = find_checklist(options.checklist, rules, options.rulebase)
    wanted = options.subject
    if site is None and (begun_from := getattr(options, "begun_from", None)):
        with closing(JobStore(job_place(options.jobs))) as store:
            job = store.get(begun_from)
        options.begun_from = job.id
        site = site_of_job(job, rules)
        on = site.subjects[job.subject]
        fits = (each for each in (on.id, on.rack) if not why_not(checklist, site.subjects[each]))
        wanted = wanted or next(fits, None)
    elif site is None:
        if options.site is None:
            raise UsageError("Say which store: --site NAME or FILE, or --from JOB to go on.")
        site = named_site(options.site, rules, options.jobs)
    return Prepared(rules, checklist, site, choose_subject(checklist, site, wanted, ask))


@uncollected()
def start(
    prepared: Prepared, options: argparse.Namespace, now: Callable[[], datetime] = wall_clock,
    store: JobStore | None = None,
) -> Work:  # fmt: skip
    """A new job, begun with `units`, `who` and `jobs`; in a store that is open, where one is."""
    rules, checklist, site = prepared.rules, prepared.checklist, prepared.site
    job = Job(
        checklist=checklist.id,
        checklist_revision=checklist.revision,
        checklist_hash=checklist.hash,
        rulebase=rules.info.name,
        rulebase_version=rules.info.version,
        rulebase_hash=rules.info.hash,
        site=site.name,
        site_text=site.text,
        subject=prepared.subject.id,
        units=options.units,
        who=options.who,
        created=now(),
    )
    store = store or JobStore(job_place(options.jobs))
    history, changed = _history(store, prepared, options)
    runner, evaluator = _runner(checklist, rules, site, job, history, options)
    job = replace(job, id=store.create(job))
    session = Session(
        runner, store, job.id, now=now, who=job.who,
        ending=(store, ending_of(job, runner, evaluator)), others=others_of(store, job.id),
    )  # fmt: skip
    if history:
        session.take_in(history)
    return Work(
        job, store, evaluator, runner, session, _resume_command(job, options), changed,
        _places(options, "jobs", "rulebase"),
    )  # fmt: skip


def _history(
    store: JobStore, prepared: Prepared, options: argparse.Namespace
) -> tuple[History, tuple[str, ...]]:
    """What earlier jobs left, and set points that the site file has overtaken, in words."""
    if not getattr(options, "history", True):
        return History(), ()
    from expert.store.find_history import gather

    site, quantities = prepared.site, prepared.rules.quantities
    found, overtaken = gather(store, site, prepared.subject, prepared.checklist, quantities)
    notes = (
        f"{quantities[each.quantity].title} of {each.subject} was set to {each.text} on "
        f"{each.at.astimezone():%Y-%m-%d} (job {each.job}), but the site file has been changed "
        "since: what the file says counts."
        for each in overtaken
    )
    return replace(found, carried=getattr(options, "begun_from", None) or ""), tuple(notes)


def others_of(store: JobStore, job_id: str) -> Others:
    """What gives the entries of a job that are kept after so many."""
    return lambda seq: store.entries(job_id, after=seq)


def begun_with(job: Job) -> tuple[str, str]:
    """The hashes of checklist and rulebase with which a job was begun."""
    return job.checklist_hash, job.rulebase_hash


def _runner(
    checklist: Checklist, rules: Rulebase, site: Site, job: Job, history: History,
    options: argparse.Namespace,
) -> tuple[Runner, Evaluator]:  # fmt: skip
    return recorded_runner(
        checklist, rules, site, job.subject, history,
        system=options.units or job.units, backend=backend(options), begun=begun_with(job),
        instruments=own_instruments(rules),
    )  # fmt: skip


def own_instruments(rules: Rulebase) -> tuple[str, ...]:
    """The ways of reading that the crew has by its settings. Raises UsageError for what is none."""
    kept = setting("instruments")
    names = {name: each.id for each in rules.ways.values() for name in each.names}
    typed = [" ".join(each.split()) for each in (kept.value if kept else "").split(",")]
    if unknown := [each for each in typed if each and each not in names]:
        hint = nearest(unknown[0], names) or f"There are: {', '.join(sorted(rules.ways))}."
        where = f" ({kept.where})" if kept else ""
        raise UsageError(f"There is no way of reading '{unknown[0]}'{where}. {hint}")
    return tuple(names[each] for each in typed if each)


@uncollected()
def reopen(options: argparse.Namespace, store: JobStore, job: Job) -> Work:
    """A job from the job file, judged by the rules as they are now."""
    rules = load_rules(options.rulebase)
    named = getattr(options, "checklist_file", None)
    checklist = find_checklist(str(named or job.checklist), rules, options.rulebase)
    site = site_of_job(job, rules)
    entries: Sequence[Entry] = store.entries(job.id)
    runner, evaluator = _runner(checklist, rules, site, job, history_in(entries), options)
    session = Session(
        runner, store, job.id, entries, who=getattr(options, "who", ""),
        ending=(store, ending_of(job, runner, evaluator)), others=others_of(store, job.id),
    )  # fmt: skip
    changed = tuple(changes_since(job, checklist, rules))
    return Work(
        job, store, evaluator, runner, session, _resume_command(job, options), changed,
        _places(options, "jobs", "rulebase"),
    )  # fmt: skip


def changes_since(job: Job, checklist: Checklist, rules: Rulebase) -> list[str]:
    """What is not as it was when a job began, in sentences."""
    changed = []
    if rules.info.hash != job.rulebase_hash:
        changed.append(
            f"The rulebase has changed since this job began: then {job.rulebase} "
            f"{job.rulebase_version} ({job.rulebase_hash[:12]}), now {rules.info}. "
            "What was entered is judged by the rules of now."
        )
    if checklist.hash != job.checklist_hash:
        changed.append(
            f"The checklist has changed since this job began: then revision "
            f"{job.checklist_revision}, now {checklist.revision}. New or changed steps are asked."
        )
    return changed


def _places(options: argparse.Namespace, *names: str) -> tuple[str, ...]:
    standing = getattr(options, "standing", {})  # holds without being typed
    given = ((name, getattr(options, name, None)) for name in names if name not in standing)
    words = ((f"--{name.replace('_', '-')}", hidden(str(value))) for name, value in given if value)
    return tuple(word for pair in words for word in pair)


def _resume_command(job: Job, options: argparse.Namespace) -> str:
    """What to type to go on, with the folders that are not the usual ones."""
    words = ["rackwalk", "resume", job.id, *_places(options, *_OPTIONS)]
    named = getattr(options, "checklist", "")
    if named != job.checklist and named:
        words += ["--checklist-file", str(named)]
    from shlex import join

    return join(words)
