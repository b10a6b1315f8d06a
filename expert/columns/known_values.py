"""What is known in a finished job: in each stage, of its subject and of each member read on.

It is made from the entries and can be made again from them at any time.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from expert.columns.asked_limits import AskedLimit, listening_runner
from expert.columns.flat_value import FlatValue, flat_value
from expert.columns.stage_verdict import stages_of
from expert.inference.derive import could_be_known
from expert.inference.evaluate import Evaluator
from expert.knowledge.site import Subject
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.history import history_in
from expert.procedure.judging import Readings
from expert.procedure.picture import fold
from expert.procedure.world import AS_FOUND, AS_LEFT


@dataclass(frozen=True)
class JobHead:
    """Which job something is of, and the hash of its last entry; `site` is that of its text."""

    job: str
    chain: str
    site: str
    subject: str


@dataclass(frozen=True)
class View:
    """What is known of a subject in a stage. `judged` where the job tells what it is there."""

    stage: str
    subject: str
    judged: bool
    known: Mapping[str, FlatValue]


@dataclass(frozen=True)
class Gathered:
    """The members of a kind in a stage: how many, and what is known of those without a view."""

    stage: str
    kind: str
    count: int
    beside: frozenset[str]


@dataclass(frozen=True)
class ToldThen:
    """A finding as a job was told when it was finished: on what, which cause, in which words."""

    subject: str
    cause: str
    words: str


@dataclass(frozen=True)
class Became:
    """What became of a finding: the cause that was told (empty: none), the one it was (empty: not
    known), and the answer that was entered."""

    subject: str
    told: str
    actual: str
    answer: str


@dataclass(frozen=True)
class JobValues:
    """All that a job is judged by. `whole` is false where that is more than is kept here.

    `told` and `became` are what the job itself holds of what was told (None where it does not say)
    and how that turned out.
    """

    head: JobHead
    frame: str
    whole: bool
    views: tuple[View, ...]
    gathered: tuple[Gathered, ...]
    asked: Iterable[AskedLimit]
    told: tuple[ToldThen, ...] | None = None
    became: tuple[Became, ...] = ()


def values_of(
    head: JobHead, frame: str, checklist: Checklist, evaluator: Evaluator, entries: Iterable[Entry]
) -> JobValues:
    """What is known in a job whose subject an evaluator is of."""
    kept = tuple(entries)
    runner, asked = listening_runner(checklist, evaluator, history_in(kept))
    picture = fold(kept)
    stages = stages_of(runner.rounds(picture))
    readings = [runner.judged(picture, stage)[0] for stage in stages]
    names = evaluator.rulebase.quantities
    whole = all(each.quantity in names for each in picture.readings)
    made = values_from(head, evaluator, *readings)
    return replace(made, frame=frame, whole=whole and not asked.beside, asked=asked.limits)


def values_from(
    head: JobHead, evaluator: Evaluator, found: Readings, left: Readings | None = None
) -> JobValues:
    """What is known by the readings of each stage, whichever steps they are from."""
    views: list[View] = []
    gathered: list[Gathered] = []
    stages: list[tuple[str, Readings, Readings | None]] = [(AS_FOUND, found, None)]
    stages += [] if left is None else [(AS_LEFT, left, found)]
    for stage, readings, before in stages:
        read = {reading.subject for reading in readings}
        on = ["", *(each.id for each in evaluator.members if each.id in read)]
        on = list(dict.fromkeys(name for name in on if name != evaluator.subject.id))
        views += [_view(evaluator, stage, name, readings, before) for name in on]
        quantities = evaluator.rulebase.quantities
        kept = (each for each in before or () if quantities[each.quantity].carried_over)
        gathered += _gathered(evaluator, stage, (*readings, *kept), {evaluator.subject.id, *on})
    first = {view.subject for view in views if view.stage == AS_FOUND}
    for name in dict.fromkeys(view.subject for view in views if view.subject not in first):
        earlier = _view(evaluator, AS_FOUND, name, found, None)
        views.append(replace(earlier, judged=False))  # what rules ask of as left
    return JobValues(head, "", True, tuple(views), tuple(gathered), ())


def _view(
    evaluator: Evaluator, stage: str, member: str, readings: Readings, found: Readings | None
) -> View:
    facts, _ = evaluator.member(member).facts(readings, found)
    known = {name: flat_value(each) for name, each in facts.known.items()}
    return View(stage, member or evaluator.subject.id, True, known)


def _gathered(
    evaluator: Evaluator, stage: str, readings: Readings, seen: Container[str]
) -> Iterator[Gathered]:
    """What may be known of members that nobody looked at, by the names of what they see."""
    kinds: dict[str, list[Subject]] = {}
    for member in evaluator.members:
        kinds.setdefault(member.kind, []).append(member)
    for kind, members in kinds.items():
        names: set[str] = set()
        for member in members:
            if member.id not in seen:
                names |= {*member.values}
                names |= {each.quantity for each in readings if evaluator.sees(member, each)}
        known = could_be_known(names, evaluator.rulebase.quantities)
        yield Gathered(stage, kind, len(members), frozenset(known))
