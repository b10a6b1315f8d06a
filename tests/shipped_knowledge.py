"""The rulebase that the program ships, and all that commands load, read once a process."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any

from expert.author.rule_tests import Outcome
from expert.author.scenarios.read import Scenario, ScenarioRunner, load_scenarios
from expert.author.scenarios.run_rule_tests import run_in_closures
from expert.cli.job.cache import VARIABLE, _key, cached, uncollected
from expert.inference.evaluation_model import Evaluation
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.memory import Memory
from expert.knowledge.model import Rulebase
from expert.places import shipped
from expert.procedure.checklist import Checklist
from expert.procedure.load_checklists import load_checklists


class _Lasting(Memory):
    """Keeps the shipped files also when a small rulebase was read meanwhile."""

    def begin(self) -> None:
        self._before |= self._now
        self._now = {}


READ = _Lasting()  # what was read in this process, by a command too, is not read again


@cache
def shipped_rules() -> Rulebase:
    """The shipped rulebase with its tests; no search for garbage looks at it again."""
    return load_over_shipped(shipped("rulebase"))


@cache
def shipped_checklists() -> dict[str, Checklist]:
    """The shipped checklists, held against the shipped rulebase."""
    with uncollected():
        return load_checklists(shipped("checklists"), shipped_rules())


@cache
def proven_in_closures() -> list[Outcome]:
    """What the tests of the shipped rules came to, each in the rules that it can reach."""
    return run_in_closures(shipped_rules())


class _Once(ScenarioRunner):
    """Evaluates each case once."""

    def __init__(self, rulebase: Rulebase) -> None:
        super().__init__(rulebase, "plain")
        self._told: dict[str, Evaluation] = {}

    def evaluate(self, scenario: Scenario) -> Evaluation:
        place = scenario.place.path
        if place not in self._told:
            self._told[place] = super().evaluate(scenario)
        return self._told[place]


@cache
def shipped_cases() -> tuple[Scenario, ...]:
    """The library of whole cases."""
    with uncollected():
        return load_scenarios(Path(__file__).parent / "scenarios", shipped_rules())


@cache
def cases_judged() -> ScenarioRunner:
    """Judges the cases of the library by the shipped rules, on the plain chainer."""
    return _Once(shipped_rules())


def load_over_shipped(folder: Path) -> Rulebase:
    """The rulebase of a pack over the shipped one, of which nothing is read a second time."""
    with uncollected():
        return load_rulebase(folder, READ)


def _read_once(more: tuple[str, ...]) -> Callable[[], object] | None:
    """What gives the shipped knowledge of a name of `cached`, where the tests read it too."""
    place = shipped("checklists")
    if more == (str(shipped("rulebase")), "with tests"):
        return shipped_rules
    if more == (shipped_rules().info.hash, str(place), "checklists"):
        return shipped_checklists
    named = {
        (shipped_rules().info.hash, str(place / f"{each}.yaml")): each
        for each in shipped_checklists()
    }
    return (lambda: shipped_checklists()[named[more]]) if more in named else None


def cached_once() -> Callable[..., Any]:
    """`cached` for the commands of one process: the same files give the same objects again.

    Checked knowledge is never changed, and reading it from its file took a third of their time.
    """
    kept: dict[str, object] = {}

    def once(kind: type, files: Iterable[Path], make: Callable[[], object], *more: str) -> object:
        files = tuple(files)
        if os.environ.get(VARIABLE) or not all(path.is_file() for path in files):
            return cached(kind, files, make, *more)
        key = _key(kind, files, more)
        if key not in kept:
            kept[key] = cached(kind, files, _read_once(more) or make, *more)
        return kept[key]

    return once
