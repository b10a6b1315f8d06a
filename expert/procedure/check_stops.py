"""Checks that what protects cannot be lost: not by a skipped reading, not by going on."""

from __future__ import annotations

from expert.knowledge.hazard_model import NEVER, PROTECTS, STOPS
from expert.knowledge.model import Rulebase
from expert.knowledge.negate import as_yaml, negated
from expert.knowledge.reader import Reader
from expert.knowledge.telltales import found
from expert.procedure.checklist import GO_ON, MEASURING, Checklist, Phase, Step
from expert.procedure.stops import waits_for

WORKING = ("instruct", "adjust", "restore")


def check_stops(checklist: Checklist, rulebase: Rulebase, reader: Reader) -> None:
    """Adds a problem for every form that fails open, and every stop that does not stop."""
    above: list[tuple[Step, Phase]] = []
    for phase in checklist.phases:
        for step in phase.steps:
            _check_open(step, reader)
            if step.type == "stop":
                _check_stop(step, phase, above, rulebase, reader)
            _check_words(step, rulebase, reader)
            _check_hazards(step, phase, above, rulebase, reader)
            above.append((step, phase))


def _check_open(step: Step, reader: Reader) -> None:
    if not step.when or not (step.type in ("caution", "stop") or step.protects):
        return
    opposites = [negated(each) for each in step.when]
    hint = "Say under 'unless:' what is known when it is not needed."
    if all(opposites):
        listed = ", ".join(as_yaml(each) for each in opposites if each is not None)
        hint = f"Say when it is known not to be needed, 'unless: [{listed}]'."
    reader.problem(
        "fails-open",
        f"'{step.id}' protects, so it must not hang on 'when:'. Where the reading is skipped it "
        "would not be shown.",
        step.when[0].place, hint,
    )  # fmt: skip


def _check_stop(
    step: Step, phase: Phase, above: list[tuple[Step, Phase]], rulebase: Rulebase, reader: Reader
) -> None:
    """There is something above to be asked again."""
    near = [each for each, within in above if within is phase or within.once]
    if step.back_to:
        if not any(each.id == step.back_to for each in near):
            message = f"'{step.id}' goes back to '{step.back_to}', and no step above it is that."
            reader.problem("no-way-back", message, step.place)
        return
    wanted = waits_for(step, rulebase)
    if not any(each.type in MEASURING and wanted & {*each.quantities} for each in near):
        reader.problem(
            "no-way-back", f"'{step.id}' waits for what no step above it asks.", step.place,
            "Ask it above, or name the step to go back to with 'back to:'.",
        )  # fmt: skip


def _check_words(step: Step, rulebase: Rulebase, reader: Reader) -> None:
    """Words that stop or protect stand in a step that does; what is never done is not told."""
    conditional = bool(step.when or step.unless)
    if step.type == "instruct" and conditional and not (step.protects or step.advises):
        if word := next(found(step.text, STOPS, rulebase), None):
            reader.problem(
                "no-stop", f"'{step.id}' says '{word.text}', and Enter goes on all the same.",
                step.place,
                "Make it 'stop:' with 'until:' and 'else:'; or 'protects: no' where it only tells.",
            )  # fmt: skip
        elif step.when and (word := next(found(step.text, PROTECTS, rulebase), None)):
            reader.problem(
                "fails-open",
                f"'{step.id}' says '{word.text}'. Where its reading is skipped it is not shown.",
                step.place,
                "Write 'protects: yes' with 'unless:'; or 'protects: no' where it only tells.",
            )  # fmt: skip
    if step.type == "stop" and step.otherwise == GO_ON:
        for word in found(step.text, STOPS, rulebase):
            if word.telltale.hard:
                reader.problem(
                    "no-stop", f"'{step.id}' says '{word.text}', and lets one go on.", step.place,
                    "Write 'else: leave the phase' or 'else: leave the checklist'.",
                )  # fmt: skip
                break
    for text in _said(step):
        for word in found(text, NEVER, rulebase):
            reader.problem(
                "never-done", f"'{step.id}' says what is never done: '{word.text}'.", step.place,
                word.telltale.say,
            )  # fmt: skip


def _check_hazards(
    step: Step, phase: Phase, above: list[tuple[Step, Phase]], rulebase: Rulebase, reader: Reader
) -> None:
    """Words that give a hazard away come with its caution, and with the work that has it."""
    if step.type in ("caution", "stop") or step.called is not None or step.harmless:
        return
    answered = {
        each.text
        for each, within in above
        if each.type == "caution" and (within is phase or within.once)
    }
    work = {name for each in step.does for name in rulebase.cautions_for(each)}
    work |= {n for q in step.quantities if q in rulebase.quantities
             for n in rulebase.quantities[q].cautions}  # fmt: skip
    told: set[str] = set()
    for text in _said(step):
        for word in found(text, "", rulebase):
            caution = word.telltale.caution
            if not caution or caution in told:
                continue
            silent = step.type in WORKING and caution not in work
            if silent or caution not in answered:
                told.add(caution)
                _tell_hazard(step, word.text, caution, silent, rulebase, reader)


def _tell_hazard(
    step: Step, word: str, caution: str, silent: bool, rulebase: Rulebase, reader: Reader
) -> None:
    message = f"'{step.id}' says '{word}', and the caution '{caution}' is not answered above it."
    hint = f"Put '- caution: {caution}' above it; or say why not under 'harmless:'."
    if silent:
        works = " or ".join(rulebase.cautions[caution].work) or "what it is"
        message = f"'{step.id}' says '{word}' and does not declare the work."
        hint = f"Add 'does: [{works}]'; or say why there is no hazard under 'harmless:'."
    reader.problem("hazard-not-declared", message, step.place, hint)


def _said(step: Step) -> tuple[str, ...]:
    return (step.text if step.type == "instruct" else "", step.say, step.how)
