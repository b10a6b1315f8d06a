"""Attempts at exercises of the shipped setting, for tests."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache

from shipped_knowledge import shipped_rules

from expert.practice.attempt import Attempt, NeedsCaution
from expert.practice.opening import begin_attempt
from expert.practice.read_setting import load_practice
from expert.practice.setting_model import Exercise, PracticeSetting
from expert.procedure.entries import Entry

BEGUN = datetime(2026, 3, 14, 8, 0, tzinfo=UTC)
CONDENSER = Exercise(
    "test", "A test", "easy", 3, ("dirty-condenser",), (0.8,), application="medium temperature"
)


@cache
def shipped_setting() -> PracticeSetting:
    """The exercises that are shipped."""
    return load_practice(None, shipped_rules())


def attempt_at(exercise: Exercise = CONDENSER, entries: tuple[Entry, ...] = ()) -> Attempt:
    """An attempt whose entries are kept nowhere else."""
    return begin_attempt(
        exercise, shipped_setting(), shipped_rules(), BEGUN, lambda entry: None, entries
    )


def careful(attempt: Attempt, do: Callable[[], Entry]) -> Entry:
    """Do something, each caution answered with yes."""
    while True:
        try:
            return do()
        except NeedsCaution as needed:
            attempt.confirm(needed.caution.id, yes=True)


def read(attempt: Attempt, name: str) -> str:
    """What a reading says, its cautions answered."""
    quantity = attempt.rulebase.quantities[name]
    return careful(attempt, lambda: attempt.read(quantity)).text("text")


def act(attempt: Attempt, name: str, amount: str = "") -> Entry:
    """Do something, its cautions answered."""
    return careful(attempt, lambda: attempt.act(attempt.setting.actions[name], amount))
