"""What was opened must be put back, and a signature covers only what came before it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import inf

from expert.made_when_used import dataclass
from expert.procedure.active import Active, call_of, id_of, inside, member_suffix
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.entries import Entry, thing
from expert.procedure.picture import Picture


@dataclass(frozen=True)
class _LeftOpen:
    what: str
    text: str
    subject: str
    call: str
    seq: int
    position: int


def settle(plan: Iterable[Active], checklist: Checklist, picture: Picture) -> list[Active]:
    """The plan with only those restore steps that have something to put back.

    A restore step is closed once it was done after everything that was opened above it. What was
    opened by a step that no longer applies counts for every restore step of the same text; where
    none is left, one is added before the last signature. A called checklist does not put back
    what its caller still holds open.
    """
    listed = list(plan)
    positions = {active.key: index for index, active in enumerate(listed)}
    opened = [_opened(key, entry, positions) for key, entry in picture.opened.items()]
    kept: list[Active] = []
    covered: set[_LeftOpen] = set()
    for index, active in enumerate(listed):
        if active.step.type == "restore":
            above = [
                each for each in opened if each.what == active.restores and each.position < index
            ]
            if not above or _held_by_the_caller(active, above, listed[:index]):
                continue
            covered.update(above)
            active = _newer_than(active, max(each.seq for each in above))
        kept.append(active)
    left_open = {each.what: each for each in opened if each not in covered}
    for what, last in left_open.items():
        newest = max(each.seq for each in opened if each.what == what)
        for phase, step in _restoring(checklist, last):
            _insert(kept, _orphan(phase, step, last.subject, picture, newest, kept))
    return kept


def _opened(key: str, entry: Entry, positions: dict[str, int]) -> _LeftOpen:
    text, subject = entry.text("opened"), entry.text("subject")
    call = call_of(id_of(key))
    return _LeftOpen(thing(text, subject), text, subject, call, entry.seq, positions.get(key, -1))


def _held_by_the_caller(active: Active, above: list[_LeftOpen], before: list[Active]) -> bool:
    """Whether it was opened outside of the call, and nothing there has put it back since."""
    for each in above:
        outside = each.call != active.call and inside(active.call, each.call)
        if outside and not any(
            earlier.restores == each.what and earlier.call == each.call
            for earlier in before[each.position + 1 :]
        ):
            return True
    return False


def _restoring(checklist: Checklist, opened: _LeftOpen) -> list[tuple[Phase, Step]]:
    """The last step that puts a thing back in the checklist in which it was opened."""
    found = [
        (phase, step)
        for phase in checklist.all_phases
        for step in phase.steps
        if step.type == "restore" and step.text == opened.text and call_of(step.id) == opened.call
    ]
    return found[-1:]


def _orphan(
    phase: Phase, step: Step, subject: str, picture: Picture, newest: int, kept: list[Active]
) -> Active:
    key = f"{step.id}@0{member_suffix(subject)}"
    last = kept[-1] if kept else None
    return _newer_than(
        Active(
            key, step, phase, last.stage if last else phase.stage, last.round if last else 0,
            entry=picture.closed.get(key), subject=subject,
        ),
        newest,
    )  # fmt: skip


def _insert(kept: list[Active], active: Active) -> None:
    signs = [index for index, each in enumerate(kept) if each.step.type == "sign"]
    kept.insert(signs[-1] if signs else len(kept), active)


def signed(kept: Iterable[Active]) -> list[Active]:
    """The plan with each signature closed only while everything above it is, and was before."""
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
