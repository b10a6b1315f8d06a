"""Puts into a checklist the steps that a pack adds, and takes out those that it leaves out.

What protects is never left out: cautions, stops, what is put back, signatures, and instructions
whose words or work give a hazard away.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import replace

from expert.errors import Problem, nearest
from expert.knowledge.hazard_model import PROTECTS, STOPS
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_model import StepChange
from expert.knowledge.reader import Reader
from expert.knowledge.telltales import found
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.read_checklist import left_out_with, read_step

_KEPT = {
    "caution": "it is the caution of a hazard",
    "stop": "it is a stop",
    "restore": "it puts back what was opened",
    "sign": "it is the signature",
    "call": "it calls another checklist, with its cautions",
}


def with_pack_steps(checklist: Checklist, rulebase: Rulebase, reader: Reader) -> Checklist:
    """The checklist as the packs of a rulebase have it; what cannot be is told in their lines."""
    changes = [each for each in rulebase.step_changes if each.checklist == checklist.id]
    if not changes:
        return checklist
    for change in changes:
        checklist = replace(checklist, phases=_changed(checklist, change, rulebase, reader))
    info = rulebase.info
    return replace(checklist, revision=f"{checklist.revision} ({info.name} {info.version})")


def changes_hash(text_hash: str, changes: Iterable[StepChange]) -> str:
    """The hash of a checklist that packs have changed."""
    told = "\n".join(repr(each) for each in changes)
    return hashlib.sha256(f"{text_hash}\n{told}".encode()).hexdigest() if told else text_hash


def tell_whose(
    checklist: Checklist, changes: Iterable[StepChange], told: Iterable[Problem], reader: Reader
) -> None:
    """Where something else lacks what a pack left out, say so at the line that leaves it out."""
    lacking = [each for each in told if each.place.path == checklist.place.path]
    for change in changes:
        if lacking and not change.steps:
            message = f"Without '{change.at}' the checklist does not hold: {lacking[0].message}"
            reader.problem("needed-step", message, change.at_place, "Leave it in.")


def _changed(
    checklist: Checklist, change: StepChange, rulebase: Rulebase, reader: Reader
) -> tuple[Phase, ...]:
    ids = [step.id for phase in checklist.phases for step in phase.steps]
    if change.at not in ids:
        message = f"'{checklist.id}' has no step '{change.at}'."
        reader.problem("unknown-step", message, change.at_place, nearest(change.at, ids))
        return checklist.phases
    added = tuple(step for node in change.steps if (step := read_step(node, reader)))
    return tuple(_phase(phase, change, added, rulebase, reader) for phase in checklist.phases)


def _phase(
    phase: Phase, change: StepChange, added: tuple[Step, ...], rulebase: Rulebase, reader: Reader
) -> Phase:
    index = next((n for n, step in enumerate(phase.steps) if step.id == change.at), None)
    if index is None:
        return phase
    steps = phase.steps
    if not change.steps:
        if why := kept_because(steps[index], rulebase):
            reader.problem(
                "never-left-out", f"'{change.at}' is never left out: {why}.", change.at_place,
                "Take this entry out; what protects people and plant stays in every checklist.",
            )  # fmt: skip
            return phase
        return replace(phase, steps=(*steps[:index], *steps[index + 1 :]))
    cut = index if change.before else index + 1
    inside = (left_out_with(step, phase.unless) for step in added)
    return replace(phase, steps=(*steps[:cut], *inside, *steps[cut:]))


def kept_because(step: Step, rulebase: Rulebase) -> str:
    """Why a step is never left out, in words; empty where it may be."""
    if step.type in _KEPT:
        return _KEPT[step.type]
    if step.protects:
        return "it protects"
    if step.opens:
        return "it opens what a later step puts back"
    if guarded := [name for work in step.does for name in rulebase.cautions_for(work)]:
        return f"it is work with the hazard '{guarded[0]}', and its caution stands for it"
    said = (step.text if step.type == "instruct" else "", step.say, step.how)
    for text in said:
        for meaning, words in ((STOPS, "stop"), (PROTECTS, "protect")):
            if word := next(found(text, meaning, rulebase), None):
                return f"its words {words} ('{word.text}')"
    return ""
