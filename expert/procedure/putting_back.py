"""What was opened must be put back, and a signature covers only what came before it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import inf

from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.picture import Picture


@dataclass(frozen=True)
class _Opened:
    text: str
    seq: int
    position: int


def settle(plan: Iterable[Active], checklist: Checklist, picture: Picture) -> list[Active]:
    """The plan with only those restore steps that have something to put back.

    A restore step is closed once it was done after everything that was opened above it. What was
    opened by a step that no longer applies counts for every restore step of the same text; where
    none is left, one is added before the last signature. A signature is closed only while
    everything above it is closed, and was so before.
    """
    listed = list(plan)
    positions = {active.key: index for index, active in enumerate(listed)}
    opened = [
        _Opened(entry.text("opened"), entry.seq, positions.get(key, -1))
        for key, entry in picture.opened.items()
    ]
    kept: list[Active] = []
    covered: set[_Opened] = set()
    for index, active in enumerate(listed):
        if active.step.type == "restore":
            above = [
                each for each in opened if each.text == active.step.text and each.position < index
            ]
            if not above:
                continue
            covered.update(above)
            active = _newer_than(active, max(each.seq for each in above))
        kept.append(active)
    for text in dict.fromkeys(each.text for each in opened if each not in covered):
        newest = max(each.seq for each in opened if each.text == text)
        for phase, step in _restoring(checklist, text):
            _insert(kept, _orphan(phase, step, picture, newest, kept))
    return _signed(kept)


def _restoring(checklist: Checklist, text: str) -> list[tuple[Phase, Step]]:
    found = [
        (phase, step)
        for phase in checklist.phases
        for step in phase.steps
        if step.type == "restore" and step.text == text
    ]
    return found[-1:]


def _orphan(phase: Phase, step: Step, picture: Picture, newest: int, kept: list[Active]) -> Active:
    key = f"{step.id}@0"
    last = kept[-1] if kept else None
    return _newer_than(
        Active(
            key, step, phase, last.stage if last else phase.stage, last.round if last else 0,
            entry=picture.closed.get(key),
        ),
        newest,
    )  # fmt: skip


def _insert(kept: list[Active], active: Active) -> None:
    signs = [index for index, each in enumerate(kept) if each.step.type == "sign"]
    kept.insert(signs[-1] if signs else len(kept), active)


def _signed(kept: list[Active]) -> list[Active]:
    newest: float = 0
    settled = []
    for active in kept:
        if active.step.type == "sign":
            active = _newer_than(active, newest)
        newest = max(newest, active.entry.seq if active.entry else inf)
        settled.append(active)
    return settled


def _newer_than(active: Active, seq: float) -> Active:
    if active.entry is not None and active.entry.seq < seq:
        return replace(active, entry=None)
    return active
