"""What may be typed in a search: an answer, another reading by name, that it is enough, or more."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Protocol

from expert.errors import ReadingError
from expert.inference.evaluation_model import Evaluation
from expert.inference.sentences import first_up
from expert.knowledge import judge
from expert.knowledge.model import Quantity, Rulebase
from expert.procedure.active import Active
from expert.procedure.answering import Accepted, NeedsConfirmation
from expert.procedure.entries import Draft, Entry
from expert.procedure.picture import Picture, fold
from expert.procedure.search import (
    AT_END,
    BY_HAND,
    ENOUGH,
    MORE,
    TYPE,
    find_reading,
    is_number,
    named_key,
    reading_key,
    suggested,
    typed_before,
)  # fmt: skip

Outcome = Accepted | NeedsConfirmation
STILL_ASKED = "The search ends with this: it was asked before, and is to be answered or skipped."
_NAMED_AT = ("ask", "observe", "instruct", "show", "think")


class Asks(Protocol):
    """What a search needs of the runner."""

    rulebase: Rulebase

    def plan(self, picture: Picture) -> Sequence[Active]:
        """Every step that now applies."""
        ...

    def current(self, picture: Picture) -> Active | None:
        """The first step that is not closed."""
        ...

    def evaluation(self, picture: Picture, *, subject: str = "") -> Evaluation:
        """What follows from the readings as found."""
        ...

    def answered(
        self,
        picture: Picture,
        active: Active,
        text: str,
        now: datetime,
        sure: bool,
        minute: float | None = None,
    ) -> Outcome:
        """What follows from a text that answers a step. Raises ReadingError."""
        ...


def search_of(plan: Sequence[Active], active: Active) -> Active | None:
    """The search to which a step belongs: its end, a reading, or a caution before one."""
    step = active.step
    inside = active.searched or step.type in (TYPE, "caution")
    return next(
        (
            each
            for each in plan
            if inside and each.step.type == TYPE and each.step.id == step.id.partition(".")[0]
        ),
        None,
    )


def in_search(
    runner: Asks, picture: Picture, active: Active, search: Active, text: str, now: datetime,
    sure: bool,
) -> Outcome:  # fmt: skip
    """What follows from a text typed at a step of a search. Raises ReadingError."""
    at_end = active.step.type == TYPE
    if active.searched and not text.strip():
        text = typed_before(picture, active.key)
    typed = " ".join(text.lower().split())
    if not at_end and typed == ENOUGH:
        draft = Draft("done", search.key, {"ended": BY_HAND})
        entry = Entry(len(picture.entries) + 1, now, draft.kind, draft.step, draft.data)
        next_one = runner.current(fold((*picture.entries, entry)))
        still = next_one is not None and next_one.key == active.key
        return Accepted((draft,), STILL_ASKED if still else "")
    if at_end and typed == MORE:
        return _more(runner, picture, search)
    try:
        if at_end:
            judge.confirmed(text)
        return runner.answered(picture, active, text, now, sure)
    except ReadingError as error:
        try:
            if other := _other(runner, picture, search, text, now, sure):
                return other
        except ReadingError as named:
            if at_end or is_number(text.split()[-1]):
                raise
            raise ReadingError(f"{error} As the name of a reading {named}") from None
        if at_end:
            raise ReadingError(f"'{text.strip()}' names no reading. {AT_END}") from None
        raise error


def named_beside(
    runner: Asks, picture: Picture, active: Active, text: str, now: datetime, sure: bool
) -> Outcome | None:
    """A reading with its value that a checklist does not ask, kept beside the step asked now.

    None where it cannot stand there. Raises ReadingError for a value that is refused.
    """
    plain = active.key == active.step_key and not active.loop
    if not plain or active.step.type not in _NAMED_AT:
        return None
    return _other(runner, picture, active, text, now, sure, named_key)


def _more(runner: Asks, picture: Picture, active: Active) -> Outcome:
    asked = {each.quantity for each in runner.plan(picture) if each.quantity}
    found = suggested(runner.evaluation(picture, subject=active.subject), asked)
    if found is None:
        raise ReadingError("No other reading would tell more. Press Enter to go on.")
    return Accepted((Draft("reopen", reading_key(active.key, found.quantity.id), {}),))


def _other(
    runner: Asks, picture: Picture, active: Active, text: str, now: datetime, sure: bool,
    key_of: Callable[[str, str], str] = reading_key,
) -> Outcome | None:  # fmt: skip
    """A reading that was named instead of an answer, with its value where it may be taken now."""
    evaluation = runner.evaluation(picture, subject=active.subject)
    near = [each.quantity.id for each in evaluation.measure_next]
    named = find_reading(text, runner.rulebase.quantities, near, active.step.short_names)
    if named is None:
        return None
    quantity, value = named
    here = [each.key for each in runner.plan(picture) if each.quantity == quantity.id]
    key = here[0] if here else key_of(active.key, quantity.id)
    want = Draft("reopen", key, {"typed": value} if _can_be(value, quantity) else {})
    entry = Entry(len(picture.entries) + 1, now, want.kind, want.step, want.data)
    after = fold((*picture.entries, entry))
    asked = runner.current(after)
    if asked is None or asked.key != key:
        why = _why_not_yet(asked, key, runner.plan(after))
        return Accepted((want,), f"{first_up(quantity.title)}: {why}")
    if not value:
        return Accepted((want,))
    try:
        outcome = runner.answered(after, asked, value, now, sure)
    except ReadingError:
        if is_number(value):
            raise
        return None  # a wrong answer to what was asked, and only by chance a name
    if isinstance(outcome, NeedsConfirmation):
        return NeedsConfirmation(outcome.question, text)
    return replace(outcome, drafts=(want, *outcome.drafts))


def _can_be(value: str, quantity: Quantity) -> bool:
    """Whether a value is worth offering once the caution is answered."""
    if not quantity.is_choice:
        return is_number(value) or bool(judge.in_words(value))
    try:
        return bool(judge.choice(value, quantity))
    except ReadingError:
        return False


def _why_not_yet(asked: Active | None, key: str, plan: Sequence[Active]) -> str:
    if not any(each.key == key for each in plan):
        return "that is left out because of a no at its caution."
    if asked is not None and asked.step.type == "caution":
        return "first the caution, then the reading."
    return "it is asked after this."
