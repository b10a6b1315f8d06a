"""An evaluation as plain lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from expert.inference.evaluation_model import Evaluation, Finding, Known
from expert.knowledge.judge import unusual
from expert.knowledge.model import Quantity, Rulebase
from expert.units.measure import Measure, as_json


def evaluation_lines(
    evaluation: Evaluation, rulebase: Rulebase, system: str = "us"
) -> Iterator[str]:
    """Findings with reasons and cautions, what to measure next, what cannot be judged."""
    if evaluation.findings:
        for number, finding in enumerate(evaluation.findings, 1):
            yield from finding_lines(finding, rulebase, f"{number}. ")
    else:
        yield "No finding."
    if evaluation.measure_next:
        yield ""
        yield "Measure next:"
        for reading in evaluation.measure_next:
            yield f"- {reading.quantity.title} ({reading.quantity.id}). {reading.why}"
    if evaluation.cannot_judge:
        yield ""
        yield "Cannot be judged:"
        for missing in evaluation.cannot_judge:
            yield f"- {missing.what}: {missing.why}"
    if evaluation.hidden:
        yield ""
        yield "Cannot be told from these readings:"
        for hidden in evaluation.hidden:
            yield f"- {hidden.text}"
    if doubted := doubtful(evaluation, system):
        yield ""
        yield "Look at these values again:"
        for quantity, why in doubted:
            yield f"- {quantity.title}: {why}"
    yield ""
    yield f"Engine: {evaluation.engine}."


def doubtful(evaluation: Evaluation, system: str) -> list[tuple[Quantity, str]]:
    """Readings to take again, and results that cannot be right, with the reason.

    Those on which the first finding turns or that contradict others come first.
    """
    found = [(doubt.quantity, doubt.why) for doubt in evaluation.doubts]
    for known in evaluation.known.values():
        measures = [r.value for r in known.readings if isinstance(r.value, Measure)]
        why = [] if known.derived else [unusual(m, known.quantity, system) for m in measures]
        why.append(known.warning)
        found += [(known.quantity, each) for each in dict.fromkeys(why) if each]
    return found


def finding_lines(finding: Finding, rulebase: Rulebase, number: str = "") -> Iterator[str]:
    """One finding: certainty, reasons, what is open, cautions before what to do, its effects."""
    yield f"{number}{finding.cause.title}: {finding.words} ({finding.certainty:.2f})"
    indent = "   "
    for line in finding.because:
        yield f"{indent}- {line}"
    for line in finding.fits:
        yield f"{indent}- {line}"
    for step in finding.against:
        yield f"{indent}- against it: {' '.join(step.says)}"
    for question in finding.open:
        yield f"{indent}- not ruled out: {question}"
    for name in finding.cautions:
        caution = rulebase.cautions[name]
        yield f"{indent}Caution, {caution.title.lower()}: {' '.join(caution.say)}"
    yield from _listed("Confirm", finding.cause.confirm, indent)
    yield from _listed("Do", finding.do, indent)
    for effect in finding.effects:
        yield f"{indent}Explains: {effect.cause.title}: {effect.words} ({effect.certainty:.2f})"


def _listed(what: str, lines: Sequence[str], indent: str) -> Iterator[str]:
    """One line, or a heading and a line for each."""
    if len(lines) < 2:
        yield f"{indent}{what}: {' '.join(lines)}"
        return
    yield f"{indent}{what}:"
    for line in lines:
        yield f"{indent}- {line}"


def evaluation_json(evaluation: Evaluation, rulebase: Rulebase, system: str) -> dict[str, object]:
    """The stable JSON shape of an evaluation."""
    return {
        "findings": [finding_json(finding, rulebase) for finding in evaluation.findings],
        "measure_next": [
            {"quantity": reading.quantity.id, "title": reading.quantity.title, "why": reading.why}
            for reading in evaluation.measure_next
        ],
        "cannot_judge": [
            {"what": missing.quantity or missing.what, "why": missing.why}
            for missing in evaluation.cannot_judge
        ],
        "cannot_tell": [
            {
                "what": hidden.what,
                "why": hidden.why,
                "read": [each.id for each in hidden.read],
                **({"looks": list(hidden.looks)} if hidden.looks else {}),
            }
            for hidden in evaluation.hidden
        ],
        "doubtful": [
            {"quantity": quantity.id, "why": why} for quantity, why in doubtful(evaluation, system)
        ],
        "states": {name: state.word for name, state in evaluation.states.items()},
        "derived": {
            name: value_json(known, system)
            for name, known in evaluation.known.items()
            if known.derived
        },
        "engine": evaluation.engine,
    }


def finding_json(finding: Finding, rulebase: Rulebase) -> dict[str, object]:
    """One finding; cautions with their sentences."""
    return {
        "cause": finding.cause.id,
        "title": finding.cause.title,
        "certainty": finding.certainty,
        "words": finding.words,
        "because": list(finding.because),
        "against": [line for step in finding.against for line in step.says],
        "not_ruled_out": list(finding.open),
        "confirm": list(finding.cause.confirm),
        "do": list(finding.do),
        "held_back": list(finding.held_back),
        "cautions": [
            {"title": rulebase.cautions[name].title, "say": list(rulebase.cautions[name].say)}
            for name in finding.cautions
        ],
        "urgency": finding.cause.urgency,
        "effect": finding.cause.symptom,
        "explains": list(finding.fit.explains),
        "leaves_unexplained": list(finding.fit.leaves),
        "does_not_fit": list(finding.fit.against),
        "effects": [finding_json(effect, rulebase) for effect in finding.effects],
    }


def value_json(known: Known, system: str) -> object:
    """A value with its unit, or the choice."""
    return as_json(known.value, system) if isinstance(known.value, Measure) else known.value
