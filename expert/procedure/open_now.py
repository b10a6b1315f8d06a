"""What can be read now, by place, and why the rest has to wait.

Readings may be taken in any order, but nothing is read before the event it belongs to (a clock
that starts, a stop that is passed, an adjustment), and nothing before its hazards.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol

from expert.knowledge.conditions import quantities_in
from expert.knowledge.model import Rulebase
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.checklist import GO_ON, MEASURING, Step
from expert.procedure.plan_again import Plan
from expert.procedure.spots import spot_of


class Guarding(Protocol):
    """What knows the hazards of a step."""

    rulebase: Rulebase

    def guards(self, step: Step, member: str) -> frozenset[str]:
        """Ids of the cautions without which a step is not done on a member."""
        ...


@dataclass(frozen=True)
class Offer:
    """A reading of a checklist.

    `why_not` says what has to come first, empty where it can be taken now. `asked` says that the
    checklist asks for it; else it may be given by its name. `closed` that it was answered.
    """

    active: Active
    spot: str
    why_not: str = ""
    asked: bool = True

    @property
    def closed(self) -> bool:
        """Whether it has an answer already."""
        return self.active.closed


def offers(plan: Plan, runner: Guarding) -> tuple[Offer, ...]:
    """Every reading of a plan, in its order, those that nothing asks for where they would be."""
    dormant = list(plan.dormant)
    found: list[Offer] = []
    waits, open_cautions = "", set[str]()
    for number, active in enumerate((*plan.steps, None)):
        while dormant and dormant[0].number <= number:
            found += _offer(dormant.pop(0), runner, waits, open_cautions, asked=False)
        if active is None:
            break
        if active.step.type == "caution" and not active.quantity:
            if not active.closed:
                open_cautions.add(active.step.text)
        elif active.quantity and not active.loop:
            found += _offer(active, runner, waits, open_cautions, asked=True)
        if not waits and not active.closed:
            waits = what_comes_first(active)
    return tuple(found)


def takeable(offered: Sequence[Offer], spot: str = "") -> tuple[Offer, ...]:
    """What is asked and can be read now, at one place or anywhere."""
    return tuple(
        each
        for each in offered
        if each.asked and not each.closed and not each.why_not and spot in ("", each.spot)
    )


def _offer(
    active: Active, runner: Guarding, waits: str, cautions: set[str], *, asked: bool
) -> Iterator[Offer]:
    if active.step.type not in MEASURING and not active.searched:
        return
    why_not = waits
    first = sorted(runner.guards(active.step, active.subject) & cautions)
    if first and not active.closed:
        title = runner.rulebase.cautions[first[0]].title
        why_not = f"first the caution: {title}"
    if active.left is not None and not active.closed:
        why_not = "it is left out because of a no"
    yield Offer(active, spot_of(active, runner.rulebase), why_not, asked)


def held_back(plan: Plan, active: Active, runner: Guarding) -> str:
    """What has to come before a step that records an event, like the start of a clock; empty
    where nothing has."""
    waits, open_cautions = "", set[str]()
    for each in plan.steps[: [step.key for step in plan.steps].index(active.key)]:
        if each.step.type == "caution" and not each.quantity and not each.closed:
            open_cautions.add(each.step.text)
        elif not waits and not each.closed:
            waits = what_comes_first(each)
    first = sorted(runner.guards(active.step, active.subject) & open_cautions)
    return f"first the caution: {runner.rulebase.cautions[first[0]].title}" if first else waits


def what_comes_first(active: Active) -> str:
    """What an open step holds back until it is done; nothing for most."""
    step = active.step
    if step.type == "stop" and step.otherwise != GO_ON:  # one that may be passed keeps nobody safe
        return f"STOP: {step.text}"
    if step.type == "clock":
        return f"first this: {step.say or f'the clock {step.clock} is started'}"
    if step.type == "adjust":
        return "first the adjustment"
    if active.loop or step.type in ("members", "call"):
        return "first it is decided what comes next"
    if step.type == "instruct" and step.protects:
        names = {name for each in step.unless for name in quantities_in(each)}
        shown = ", ".join(sorted(name.replace("_", " ") for name in names))
        decides = f" (unless this shows that it need not be: {shown})" if shown else ""
        return f"first this: {step.text.rstrip('.')}{decides}"
    return ""
