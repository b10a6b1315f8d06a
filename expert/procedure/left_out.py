"""What an honest no leaves out: what a caution guards, the rest of a part, the rest of a job.

What was opened is still put back, with the cautions of putting it back, and somebody signs.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from expert.knowledge.hazard_model import ENDS_THE_JOB
from expert.knowledge.model import Rulebase
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.checklist import MEASURING, Phase, Step
from expert.procedure.closing import KEY, PHASE, STEP, TYPE
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture

ALWAYS = ("restore", "sign", TYPE)


@dataclass(frozen=True)
class LeftOut:
    """A step that is not done, on which member, and the no because of which."""

    step: Step
    phase: Phase
    because: Entry
    subject: str = ""


def guards(step: Step, rulebase: Rulebase) -> frozenset[str]:
    """Ids of the cautions without which a step is not done."""
    asked = (*step.quantities, step.until) if step.type in MEASURING else ()
    measured = (rulebase.quantities[name].cautions for name in asked if name in rulebase.quantities)
    done = (rulebase.cautions_for(work) for work in step.does)
    return frozenset(name for names in (*measured, *done) for name in names)


def without(
    plan: Sequence[Active],
    picture: Picture,
    rulebase: Rulebase,
    guards_of: Callable[[Step, str], frozenset[str]],
) -> tuple[list[Active], list[LeftOut]]:
    """The plan without what is left out, and that. Steps are marked with `left` beforehand;
    once the job is closed everything that was not answered is left out too."""
    closing = picture.closed_as
    kept: list[Active] = []
    left: list[LeftOut] = []
    needed: set[tuple[str, str]] = set()
    for active in reversed(plan):
        because = active.left
        begun = active.closed or (
            picture.before(active.key) is not None and active.step.type != "stop"
        )
        paper = active.phase.signs and not guards_of(active.step, active.subject)
        if closing is not None and not begun and not paper:
            because = because or closing
        step = active.step
        if step.type == "restore":
            needed |= {(active.call, name) for name in guards_of(step, active.subject)}
        stays = step.type in ALWAYS or (
            step.type == "caution"
            and (_ends(step, rulebase, active) or (active.call, step.text) in needed)
        )
        if because is None or stays:
            kept.append(active)
        else:
            left.append(LeftOut(step, active.phase, because, active.subject))
    return _once(kept[::-1], rulebase), left[::-1]


def left_open(active: Active) -> bool:
    """Whether it was said, with a reason, that something is not put back."""
    return (
        active.step.type == "restore" and active.entry is not None and active.entry.kind == "skip"
    )


def to_put_back(plan: Sequence[Active], picture: Picture) -> list[str]:
    """What is open without a reason why it stays so."""
    told = {active.restores for active in plan if left_open(active)}
    return [each for each in picture.still_open if each not in told]


def _ends(step: Step, rulebase: Rulebase, active: Active) -> bool:
    return not active.call and rulebase.cautions[step.text].if_no == ENDS_THE_JOB


def _once(plan: list[Active], rulebase: Rulebase) -> list[Active]:
    """Without the cautions that were kept for putting something back and were answered above."""
    answered: set[tuple[str, str]] = set()
    kept = []
    for active in plan:
        where = (active.call, active.step.text)
        if active.step.type == "caution":
            spare = active.left is not None and not _ends(active.step, rulebase, active)
            if spare and where in answered:
                continue
            if active.entry is not None and not active.entry.refuses:
                answered.add(where)
        kept.append(active)
    return kept


def with_closing(plan: list[Active], picture: Picture, *, asked: bool) -> list[Active]:
    """The plan with the question how the job ends, where it is asked or was answered."""
    entry = picture.closed_as
    if entry is None and not asked:
        return plan
    signs = [n for n, each in enumerate(plan) if each.step.type == "sign"]
    place = signs[-1] if signs else len(plan)
    if entry is not None:
        newer = (
            n for n, each in enumerate(plan) if each.entry is None or each.entry.seq > entry.seq
        )
        place = min(place, next(newer, place))
    last = plan[place - 1] if place else None
    active = Active(
        KEY, STEP, PHASE, last.stage if last else PHASE.stage, last.round if last else 0,
        entry=entry,
    )  # fmt: skip
    return [*plan[:place], active, *plan[place:]]
