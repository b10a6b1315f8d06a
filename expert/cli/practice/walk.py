"""An exercise from its call to its review, begun, gone on with, or looked at again."""

from __future__ import annotations

import argparse
import secrets
from contextlib import suppress
from datetime import UTC, datetime

from expert.cli.frame.common import backend
from expert.cli.job.load_knowledge import load_rules
from expert.cli.job.open_job import find_checklist
from expert.cli.practice.kept import (
    begin_job,
    begun_at,
    exercise_of,
    find,
    keeper,
    open_practice,
    walk_of,
)
from expert.errors import Stopped, UsageError, nearest
from expert.knowledge.hints import Called, hint_by_words
from expert.knowledge.model import Rulebase
from expert.practice.attempt import Attempt
from expert.practice.opening import (
    begin_attempt,
    drawn_exercise,
    systems,
)
from expert.practice.read_setting import load_practice
from expert.practice.setting_model import APPLICATIONS, Exercise, PracticeSetting
from expert.procedure.checklist import Checklist
from expert.procedure.runner import runner_for
from expert.procedure.screens import LEARNING
from expert.procedure.session import Session
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.terminal.choose import ask_who, open_front
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import Front, LeaveError
from expert.terminal.practice_dialogue import PracticeDialogue
from expert.terminal.practice_front import HINT, PracticeFront
from expert.terminal.practice_texts import look_back, opening_lines
from expert.terminal.texts import Texts


def begin(options: argparse.Namespace) -> int:
    """A new exercise."""
    rules = load_rules(options.rulebase)
    setting = load_practice(options.rulebase, rules)
    exercise = _chosen(options, setting, rules)
    front = open_front(options.plain)
    if not options.who and front.interactive:
        options.who = ask_who(front)
    with open_practice(options.jobs) as store:
        now = datetime.now(UTC)
        checklist = _led_by(options, exercise, rules)
        job = begin_job(store, exercise, rules, options.who, options.units, now, checklist)
        return _walk(options, store, job, exercise, setting, rules, front)


def resume(options: argparse.Namespace) -> int:
    """An exercise that was left."""
    rules = load_rules(options.rulebase)
    setting = load_practice(options.rulebase, rules)
    front = open_front(options.plain)
    with open_practice(options.jobs) as store:
        job = find(store, options.resume)
        if job.finished is not None:
            raise UsageError(f"{job.id} is over. 'rackwalk practice --review {job.id}' shows it.")
        store.hold(job.id)
        return _walk(options, store, job, exercise_of(job, setting), setting, rules, front)


def review(options: argparse.Namespace) -> int:
    """The review of an exercise that is over, again."""
    rules = load_rules(options.rulebase)
    setting = load_practice(options.rulebase, rules)
    front = open_front(options.plain)
    with open_practice(options.jobs) as store:
        job = store.get(options.review)
        if job.finished is None:
            raise UsageError(f"{job.id} is not over: 'rackwalk practice --resume {job.id}'.")
        attempt = _attempt(options, store, job, exercise_of(job, setting), setting, rules)
        with suppress(LeaveError):
            front.show(look_back(attempt, front.layout))
    return 0


def _walk(
    options: argparse.Namespace, store: JobStore, job: Job, exercise: Exercise,
    setting: PracticeSetting, rules: Rulebase, front: Front,
) -> int:  # fmt: skip
    attempt = _attempt(options, store, job, exercise, setting, rules)
    if (led := walk_of(job, store)) is not None:
        checklist = find_checklist(led.checklist, rules, options.rulebase)
        over = _steps(attempt, store, led, checklist, front)
    else:
        over = PracticeDialogue(attempt, front).run()
    with suppress(LeaveError):
        if over:
            front.show(look_back(attempt, front.layout))
            front.show(["", *front.layout.text(f"Kept as {job.id}; only you see it.")])
        else:
            front.show(["", *front.layout.text("Stopped; all that was done is kept.")])
            front.show([f"rackwalk practice --resume {job.id}"])
    return 0 if over else Stopped.exit_code


def _steps(
    attempt: Attempt, store: JobStore, led: Job, checklist: Checklist, front: Front
) -> bool:  # fmt: skip
    """A checklist walked as on a real job, the plant answering; whether the exercise is over."""
    runner = runner_for(checklist, attempt.evaluator, system=attempt.units)
    behind = PracticeFront(front, attempt)
    session = Session(
        runner, store, led.id, store.entries(led.id), now=lambda: attempt.now, who=led.who
    )  # fmt: skip
    behind.session = session
    texts = Texts(runner, attempt.evaluator, depth=LEARNING)
    with suppress(LeaveError):
        front.show(opening_lines(attempt, front.layout) + front.layout.text(HINT))
        if Dialogue(session, texts, behind).run(LEARNING):
            attempt.finish()
    return attempt.over


def _led_by(options: argparse.Namespace, exercise: Exercise, rules: Rulebase) -> Checklist | None:
    """The checklist asked for, by name or ('') the one of the exercise. Raises UsageError."""
    if options.checklist is None:
        return None
    name = options.checklist or exercise.checklist
    if not name:
        raise UsageError(f"'{exercise.id}' names no checklist: --checklist NAME.")
    return find_checklist(name, rules, options.rulebase)


def _attempt(
    options: argparse.Namespace, store: JobStore, job: Job, exercise: Exercise,
    setting: PracticeSetting, rules: Rulebase,
) -> Attempt:  # fmt: skip
    return begin_attempt(
        exercise, setting, rules, begun_at(job), keeper(store, job), store.entries(job.id),
        who=job.who, units=job.units, backend=backend(options),
    )  # fmt: skip


def _chosen(options: argparse.Namespace, setting: PracticeSetting, rules: Rulebase) -> Exercise:
    if options.exercise:
        found = setting.exercises.get(options.exercise)
        if found is None:
            named = [Called(each.id, each.title) for each in setting.exercises.values()]
            hint = hint_by_words(options.exercise, named, by_id=True)
            hint = hint or "'rackwalk practice --list' shows what there is."
            raise UsageError(f"There is no exercise '{options.exercise}'. {hint}")
        return found
    known = (*APPLICATIONS, *systems(setting, rules))
    if options.kind and options.kind not in known:
        hint = nearest(options.kind, known) or f"Known: {', '.join(known)}."
        raise UsageError(f"--kind: '{options.kind}' is not known. {hint}")
    seed = options.seed if options.seed is not None else secrets.randbelow(1_000_000)
    if seed < 0:
        raise UsageError("--seed: a whole number that is not below zero.")
    return drawn_exercise(
        setting, rules, seed, kind=options.kind, severity=options.severity,
        weather=options.weather, count=options.faults,
    )  # fmt: skip
