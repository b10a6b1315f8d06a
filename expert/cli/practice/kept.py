"""Where exercises are kept: a job file of their own beside the jobs, never among them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from expert.errors import UsageError
from expert.knowledge.model import Rulebase
from expert.practice.attempt import SCORED
from expert.practice.setting_model import Exercise, PracticeSetting
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.paths import FILE, job_place, packs_beside

FOLDER = "practice"
_DRAWN = ("seed", "faults", "severities", "application", "refrigerant", "weather", "title", "level")
BEGINS = 8  # o'clock of the exercise


def open_practice(place: Path | str | None) -> JobStore:
    """The store of exercises: a file on this machine, also where jobs are on a server."""
    folder = packs_beside(job_place(place)) / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    return JobStore(folder / FILE)


def begin_job(
    store: JobStore, exercise: Exercise, rules: Rulebase, who: str, units: str, now: datetime,
    checklist: Checklist | None = None,
) -> Job:  # fmt: skip
    """A new exercise in the store; with a checklist, the job of its walk beside it."""
    job = Job(
        checklist=FOLDER, checklist_revision="1", checklist_hash="",
        rulebase=rules.info.name, rulebase_version=rules.info.version,
        rulebase_hash=rules.info.hash, site=FOLDER, site_text="",
        subject=exercise.id, units=units, who=who, created=now,
    )  # fmt: skip
    walk = ""
    if checklist is not None:
        led = replace(
            job, checklist=checklist.id, checklist_revision=checklist.revision,
            checklist_hash=checklist.hash, subject=f"{exercise.id}-steps",
        )  # fmt: skip
        walk = store.create(led)
    job = replace(job, site_text=_written(exercise, walk))
    return replace(job, id=store.create(job))


def _written(exercise: Exercise, walk: str) -> str:
    drawn = {name: getattr(exercise, name) for name in _DRAWN}
    return json.dumps({"exercise": exercise.id, "walk": walk, **drawn}, sort_keys=True)


def walk_of(job: Job, store: JobStore) -> Job | None:
    """The job of the checklist's steps that belongs to an exercise; None where it is free."""
    name = json.loads(job.site_text).get("walk")
    return store.get(name) if name else None


def exercise_of(job: Job, setting: PracticeSetting) -> Exercise:
    """The exercise of a job as it was begun; what a lead changed since does not change it."""
    told = json.loads(job.site_text)
    known = setting.exercises.get(told["exercise"])
    drawn = {name: told[name] for name in _DRAWN}
    drawn |= {name: tuple(told[name]) for name in ("faults", "severities")}
    return replace(known, **drawn) if known else Exercise(id=told["exercise"], **drawn)


def find(store: JobStore, wanted: str) -> Job:
    """The exercise of an id, or ('') the last that is not over. Raises UsageError."""
    if wanted:
        return store.get(wanted)
    found = next((each for each in exercises(store) if each.finished is None), None)
    if found is None:
        raise UsageError("No exercise was left unfinished. 'rackwalk practice' begins one.")
    return found


def exercises(store: JobStore) -> tuple[Job, ...]:
    """The exercises of the store, the last first, without the walks through checklists."""
    return tuple(each for each in store.jobs() if each.checklist == FOLDER)


def begun_at(job: Job) -> datetime:
    """The time of day at which an exercise begins: the morning of the day it was begun."""
    day = job.created.astimezone()
    return day.replace(hour=BEGINS, minute=0, second=0, microsecond=0).astimezone(UTC)


def keeper(store: JobStore, job: Job) -> Callable[[Entry], None]:
    """What keeps an entry; when it returns, the entry is on disk."""

    def keep(entry: Entry) -> None:
        store.append(job.id, entry)
        if entry.kind == SCORED:
            store.finish(job.id, entry.at)

    return keep
