"""A checklist as part of another one: the same steps under the id of the call."""

from __future__ import annotations

from expert.made_when_used import altered
from expert.procedure.checklist import Checklist, Phase, Step


def placed(checklist: Checklist, call: Step) -> Step:
    """The call with its checklist, every id inside it with 'call/' before.

    Signatures are left out: the one of the calling checklist covers everything.
    """
    return altered(call, called=_under(checklist, f"{call.id}/", f"{checklist.title}: "))


def _under(checklist: Checklist, prefix: str, title: str) -> Checklist:
    return altered(
        checklist, phases=tuple(_phase(phase, prefix, title) for phase in checklist.phases)
    )


def _phase(phase: Phase, prefix: str, title: str) -> Phase:
    steps = (_step(step, prefix) for step in phase.steps if step.type != "sign")
    return altered(
        phase, id=f"{prefix}{phase.id}", title=f"{title}{phase.title}", steps=tuple(steps)
    )


def _step(step: Step, prefix: str) -> Step:
    called = step.called and _under(step.called, prefix, "")
    back_to = f"{prefix}{step.back_to}" if step.back_to else ""
    starts_with = f"{prefix}{step.starts_with}" if step.starts_with else ""
    since = f"{prefix}{step.since}" if step.since else ""
    return altered(
        step,
        id=f"{prefix}{step.id}",
        back_to=back_to,
        starts_with=starts_with,
        since=since,
        called=called,
    )
