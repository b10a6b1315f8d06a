"""Checks that hold a checklist against the rulebase and against itself."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from expert.errors import Place, nearest
from expert.knowledge.conditions import Is, parts, quantities_in
from expert.knowledge.fact_words import check_words
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.reader import Reader
from expert.procedure.checklist import MEASURING, Checklist, Phase, Step
from expert.units.kinds import Kind


def check_checklist(checklist: Checklist, rulebase: Rulebase, reader: Reader) -> None:
    """Adds a problem to the reader for everything that does not hold together."""
    _check_ids(checklist, reader)
    for applies in (checklist.applies, checklist.not_for):
        check_words(applies, checklist.place, reader)
    _check_stages(checklist, reader)
    for phase in checklist.phases:
        if phase.repeat is not None:
            question = _known(phase.repeat.ask, rulebase.quantities, phase.place, reader)
            _check_choice(question, phase.repeat.answer, phase.place, reader)
        if phase.for_each:
            _check_for_each(phase, reader)
        for step in phase.steps:
            _check_quantities(step, rulebase.quantities, reader)
            if step.since and checklist.step(step.since) is None:
                reader.problem("unknown-step", f"There is no step '{step.since}' here.", step.place)
            if step.starts_with and not _is_time(checklist, step.starts_with):
                message = f"There is no 'time:' step '{step.starts_with}' here."
                reader.problem("unknown-step", message, step.place)
            if step.sheet:
                sheets = {each.id for each in rulebase.quantities.values() if each.sheet}
                _refer(step.sheet, sheets, "quantity with a sheet", step.place, reader)
            if step.called is not None:
                _check_call(step, step.called, phase, checklist, reader)
            for applies in (step.applies, step.not_for):
                check_words(applies, step.place, reader)
            for work in step.does:
                _refer(work, rulebase.works, "work", step.place, reader)
            if step.type == "caution":
                _refer(step.text, rulebase.cautions, "caution", step.place, reader)


def _is_time(checklist: Checklist, step_id: str) -> bool:
    steps = (step for phase in checklist.phases for step in phase.steps)
    return any(step.id == step_id and step.type == "time" for step in steps)


def _check_ids(checklist: Checklist, reader: Reader) -> None:
    seen: dict[str, Place] = {}
    for phase in checklist.phases:
        for name, place in ((phase.id, phase.place), *((s.id, s.place) for s in phase.steps)):
            if name in seen:
                reader.problem(
                    "duplicate-id", f"'{name}' is already there, in line {seen[name].line}.", place,
                    "Give one of them an 'id:' of its own.",
                )  # fmt: skip
            seen[name] = place


def _check_stages(checklist: Checklist, reader: Reader) -> None:
    left = False
    for phase in checklist.phases:
        found = phase.stage == "as found"
        if found and left:
            message = f"'{phase.id}' is 'as found' after a phase that is 'as left'."
            reader.problem("stage-order", message, phase.place)
        left = left or not found
        if found and phase.repeat is not None:
            message = f"'{phase.id}' repeats, so it must be 'as left'."
            reader.problem("repeat-stage", message, phase.place)
        for index, step in enumerate(phase.steps):
            if step.type == "adjust":
                _check_adjust(step, phase, index, reader)


def _check_adjust(step: Step, phase: Phase, index: int, reader: Reader) -> None:
    if phase.stage == "as found":
        message = f"'{step.id}' adjusts in a phase that is 'as found'."
        reader.problem("adjust-stage", message, step.place, "Put it in a phase that is 'as left'.")
    if not any(later.type in (*MEASURING, "call") for later in phase.steps[index + 1 :]):
        reader.problem(
            "never-measured-again", f"Nothing is measured after '{step.id}' in this phase.",
            step.place, "Ask again for what the adjustment was meant to change.",
        )  # fmt: skip


def _check_for_each(phase: Phase, reader: Reader) -> None:
    if phase.repeat is not None:
        message = f"'{phase.id}' cannot both repeat and be run for each {phase.for_each}."
        reader.problem("repeat-for-each", message, phase.place, "Make two phases of it.")
    for step in phase.steps:
        if step.type in ("call", "sign"):
            reader.problem(
                "not-for-each", f"'{step.type}:' cannot stand in a phase 'for each'.", step.place,
                "Put it in a phase that is run once.",
            )  # fmt: skip


def _check_call(
    step: Step, called: Checklist, phase: Phase, checklist: Checklist, reader: Reader
) -> None:
    if called.subject != checklist.subject:
        message = (
            f"'{called.id}' is for a {called.subject}, and '{checklist.id}' for a "
            f"{checklist.subject}."
        )
        reader.problem("call-subject", message, step.place)
    if phase.repeat is not None and any(inner.repeat is not None for inner in called.all_phases):
        message = f"'{phase.id}' repeats, and so does a phase of '{called.id}'."
        reader.problem("repeat-twice", message, step.place, "Call it in a phase of its own.")


def _check_quantities(step: Step, quantities: Mapping[str, Quantity], reader: Reader) -> None:
    foreign = (name for each in step.not_asked for name in each.readings)
    for name in (*step.short_names.values(), *foreign):
        _known(name, quantities, step.place, reader)
    found = [_known(name, quantities, step.place, reader) for name in step.quantities]
    for quantity in filter(None, found):
        if step.type == "ask" and quantity.is_choice:
            _wrong_kind(f"'{quantity.id}' is a choice", "Use 'observe:'.", step, reader)
        elif step.type == "observe" and not quantity.is_choice:
            _wrong_kind(f"'{quantity.id}' is no choice", "Use 'ask:'.", step, reader)
        elif step.type == "time" and quantity.kind is not Kind.DURATION:
            _wrong_kind(f"'{quantity.id}' is no duration", "", step, reader)
        if step.type in MEASURING and quantity.given and not _asks_if_known(step, quantity.id):
            reader.problem(
                "asked-given",
                f"'{quantity.id}' comes from the {quantity.given} file and is not asked.",
                step.place,
                f"Or ask it 'unless: [{quantity.id} is known]'.",
            )
    if step.usual:
        _check_choice(quantities.get(step.text), step.usual, step.place, reader)
    for name in step.short_asks:
        if name not in step.quantities:
            message = f"'short ask' names '{name}', which this watch does not ask."
            reader.problem("unknown-quantity", message, step.place)
    if step.until:
        _check_choice(_known(step.until, quantities, step.place, reader), "", step.place, reader)
    if step.type in ("show", "watch") and not step.quantities:
        reader.problem("empty", f"'{step.id}' names no quantity.", step.place)
    if step.type == "watch" and len({*step.quantities, step.until}) <= len(step.quantities):
        message = f"'{step.id}' asks for the same thing twice in one sample."
        reader.problem("asked-twice", message, step.place)


def _asks_if_known(step: Step, name: str) -> bool:
    return any(
        isinstance(part, Is) and part.word == "known" and name in quantities_in(part)
        for condition in (*step.when, *step.unless)
        for part in parts(condition)
    )


def _check_choice(quantity: Quantity | None, answer: str, place: Place, reader: Reader) -> None:
    if quantity is None:
        return
    if not quantity.is_choice:
        reader.problem("wrong-kind", f"'{quantity.id}' must be a choice.", place)
    elif answer and answer not in quantity.choices:
        hint = f"It can be: {', '.join(quantity.choices)}."
        reader.problem("unknown-choice", f"'{quantity.id}' is never '{answer}'.", place, hint)
    elif len(quantity.choices) < 2:
        reader.problem("choices", f"'{quantity.id}' needs two choices to end by.", place)


def _known(
    name: str, quantities: Mapping[str, Quantity], place: Place, reader: Reader
) -> Quantity | None:
    _refer(name, quantities, "quantity", place, reader)
    return quantities.get(name)


def _refer(name: str, known: Collection[str], what: str, place: Place, reader: Reader) -> None:
    if name not in known:
        hint = nearest(name, known)
        reader.problem(f"unknown-{what}", f"There is no {what} '{name}'.", place, hint)


def _wrong_kind(message: str, hint: str, step: Step, reader: Reader) -> None:
    reader.problem("wrong-kind", f"{message}; '{step.type}:' does not fit.", step.place, hint)
