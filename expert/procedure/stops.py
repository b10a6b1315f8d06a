"""A stop: it is passed only when what it waits for is known to be so.

Enter asks the questions it hangs on again. Whoever cannot make it so says why, and then the rest
of the phase or of the checklist is left out, or the job goes on with that reason on record.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from expert.errors import ReadingError
from expert.knowledge.conditions import quantities_anywhere
from expert.knowledge.model import Rulebase
from expert.procedure.active import Active, id_of
from expert.procedure.checklist import GO_ON, LEAVE_CHECKLIST, MEASURING, Step
from expert.procedure.entries import Draft

_AGAIN = ("", "again", "yes", "y", "done")
_REASKED = (*MEASURING, "clock", "instruct", "show")
_WHAT = {LEAVE_CHECKLIST: "the rest of this checklist", GO_ON: ""}


def waits_for(step: Step, rulebase: Rulebase) -> frozenset[str]:
    """Ids of the quantities that a stop hangs on, with those they are computed from."""
    found: set[str] = set()
    conditions = (*step.passed, *step.unless)
    waiting = [name for each in conditions for name in quantities_anywhere(each)]
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        found.add(name)
        quantity = rulebase.quantities.get(name)
        if quantity is not None and quantity.derivation is not None:
            sources = quantity.derivation.inputs.values()
            waiting += [place for each in sources for place in each.places]
    return frozenset(found)


def asked_again(plan: Sequence[Active], stop: Active, rulebase: Rulebase) -> list[Active]:
    """The closed steps above a stop that are asked again, in order.

    From the step `back_to` on all that can be answered again; else the last answers to what the
    stop hangs on. What was opened or changed stays done.
    """
    above = [each for each in plan[: _at(plan, stop)] if _near(each, stop) and each.closed]
    if stop.step.back_to:
        ids = [id_of(each.key) for each in above]
        if stop.step.back_to in ids:
            above = above[len(ids) - 1 - ids[::-1].index(stop.step.back_to) :]
            return [each for each in above if each.step.type in _REASKED and not each.step.opens]
    wanted = waits_for(stop.step, rulebase)
    last: dict[str, Active] = {}
    for each in above:
        if each.step.type in MEASURING and each.quantity in wanted and not each.sample:
            last[each.quantity] = each
    return sorted(last.values(), key=lambda each: _at(plan, each))


def stopped(active: Active, again: Sequence[Active], text: str) -> tuple[Draft, ...]:
    """The entries of an answer at a stop: its questions are reopened. Raises ReadingError."""
    if " ".join(text.lower().split()) not in _AGAIN:
        raise ReadingError(expected(active))
    if not again:
        raise ReadingError(expected(replace(active, again=False)))
    return tuple(Draft("reopen", each.key, {}) for each in again)


def expected(active: Active) -> str:
    """What is accepted at a stop."""
    what = _WHAT.get(active.step.otherwise, "the rest of this part")
    way = f"leaves out {what}" if what else "goes on, and is told in the report"
    if not active.again:
        return f"Nothing above can be asked again here. s and a reason {way}; b goes back."
    return f"Press Enter to be asked again. s and a reason {way}."


def with_ways_back(plan: Sequence[Active], rulebase: Rulebase) -> Iterable[Active]:
    """The plan, with each open stop told whether something above it can be asked again."""
    for active in plan:
        if active.step.type == "stop" and not active.closed:
            active = replace(active, again=bool(asked_again(plan, active, rulebase)))
        yield active


def _near(active: Active, stop: Active) -> bool:
    return active.call == stop.call and active.subject in ("", stop.subject)


def _at(plan: Sequence[Active], active: Active) -> int:
    return next((n for n, each in enumerate(plan) if each.key == active.key), len(plan))
