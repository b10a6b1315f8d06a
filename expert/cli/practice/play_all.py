"""`rackwalk practice --all`: the tool plays the exercises of a rulebase itself, and its score."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import UTC, datetime

from expert.cli.frame.common import backend, print_json, say
from expert.cli.job.load_knowledge import load_rules
from expert.errors import UsageError
from expert.knowledge.model import Rulebase
from expert.practice.attempt import Attempt
from expert.practice.opening import begin_attempt, drawn_exercise
from expert.practice.read_setting import load_practice
from expert.practice.setting_model import Exercise, PracticeSetting
from expert.practice.tool_plays import PlayedByTool, ToolScore, play_exercise
from expert.procedure.entries import Entry

BEGUN = datetime(2026, 3, 14, 8, 0, tzinfo=UTC)  # any day: nothing hangs on it


def play_all(options: argparse.Namespace) -> int:
    """Exit code 0, whatever the score. Raises UsageError."""
    if options.count < 0:
        raise UsageError("--count: a whole number that is not below zero.")
    rules = load_rules(options.rulebase)
    setting = load_practice(options.rulebase, rules)
    played: list[PlayedByTool] = []
    for exercise in _exercises(options, setting, rules):
        one = play_exercise(_attempt(exercise, setting, rules, options))
        played.append(one)
        if not options.json:
            said = "; ".join(rules.causes[each].title for each in one.said) or "nothing"
            say(f"{one.exercise}: {'cured' if one.cured else 'not cured'}; said {said}")
            if one.stopped:
                say(f"  STOPPED: {one.stopped}")
    score = ToolScore(tuple(played))
    if options.json:
        print_json(score.document(str(rules.info)))
        return 0
    say()
    for line in score.lines():
        say(line)
    return 0


def _exercises(
    options: argparse.Namespace, setting: PracticeSetting, rules: Rulebase
) -> Iterator[Exercise]:
    """Those of the rulebase; with a count, so many plants that are drawn, from the seed on."""
    if not options.count:
        yield from setting.exercises.values()
        return
    first = options.seed or 0
    for seed in range(first, first + options.count):
        yield drawn_exercise(
            setting, rules, seed, kind=options.kind, severity=options.severity,
            weather=options.weather, count=options.faults,
        )  # fmt: skip


def _attempt(
    exercise: Exercise, setting: PracticeSetting, rules: Rulebase, options: argparse.Namespace
) -> Attempt:
    return begin_attempt(
        exercise, setting, rules, BEGUN, _nowhere, units=options.units, backend=backend(options)
    )


def score_of(rules: Rulebase, setting: PracticeSetting) -> ToolScore:
    """What a rulebase comes to over the exercises of a setting."""
    attempts = (
        begin_attempt(each, setting, rules, BEGUN, _nowhere) for each in setting.exercises.values()
    )
    return ToolScore(tuple(play_exercise(each) for each in attempts))


def _nowhere(entry: Entry) -> None:
    """What the tool plays is not kept."""
