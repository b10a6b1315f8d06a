"""What a scenario expects, held against what came out."""

from __future__ import annotations

from dataclasses import dataclass

from expert.author.scenarios.read import Expectation, Scenario, ScenarioRunner
from expert.inference.evaluation_model import Evaluation, each_finding
from expert.inference.explain import find

_SAME = 0.005  # certainties nearer than this are shown alike, with two digits


@dataclass(frozen=True)
class Failure:
    """One expectation that was not met. `cause` is the cause that is to be explained, if one is."""

    expected: str
    got: str
    cause: str = ""


@dataclass(frozen=True)
class ScenarioOutcome:
    """What a scenario came to; it passed where nothing failed."""

    scenario: Scenario
    evaluation: Evaluation
    failures: tuple[Failure, ...]

    @property
    def passed(self) -> bool:
        """Whether everything came as expected."""
        return not self.failures


def judge_scenario(scenario: Scenario, scenario_runner: ScenarioRunner) -> ScenarioOutcome:
    """The scenario evaluated and held against what it expects."""
    evaluation = scenario_runner.evaluate(scenario)
    return ScenarioOutcome(scenario, evaluation, unmet(scenario.expect, evaluation))


def unmet(expect: Expectation, evaluation: Evaluation) -> tuple[Failure, ...]:
    """Every expectation that an evaluation does not meet."""
    failures: list[Failure] = []
    found = tuple(each_finding(evaluation.findings))
    names = [finding.cause.id for finding in found]
    listed = ", ".join(f"{f.cause.id} ({f.certainty:.2f})" for f in found) or "nothing was found"
    if (expect.first or expect.tied) and not _leads(expect, evaluation):
        wanted = expect.first or " or ".join(expect.tied)
        tied = f", or tied with {' or '.join(expect.tied)}" if expect.first and expect.tied else ""
        came = evaluation.findings[0] if evaluation.findings else None
        got = f"{came.cause.id} ({came.certainty:.2f})" if came else listed
        failures.append(Failure(f"first: {wanted}{tied}", got, expect.first or expect.tied[0]))
    for cause in expect.also:
        if cause not in names:
            failures.append(Failure(f"found too: {cause}", listed, cause))
    for cause in expect.never:
        if (finding := find(evaluation, cause)) is not None:
            got = f"it was found ({finding.certainty:.2f})"
            failures.append(Failure(f"never: {cause}", got, cause))
    if (expect.none or expect.undecided) and found:
        failures.append(Failure("no finding", listed, names[0]))
    if expect.undecided and not found and not evaluation.measure_next:
        failures.append(Failure("something worth measuring next", "nothing to measure"))
    held = {action for finding in found for action in finding.held_back}
    for action in expect.advice_held:
        if action not in held:
            got = f"held back: {', '.join(sorted(held)) or 'nothing'}"
            failures.append(Failure(f"advice held back: {action}", got))
    for cause, words in expect.certainty.items():
        finding = find(evaluation, cause)
        if finding is None or finding.words != words:
            got = f"{finding.words} ({finding.certainty:.2f})" if finding else "not found"
            failures.append(Failure(f"{cause}: {words}", got, cause))
    return tuple(failures)


def _leads(expect: Expectation, evaluation: Evaluation) -> bool:
    top = evaluation.findings[0] if evaluation.findings else None
    if top is None or top.cause.id == expect.first:
        return top is not None
    if not expect.first:
        return top.cause.id in expect.tied
    for finding in evaluation.findings:
        if top.certainty - finding.certainty > _SAME:
            return False
        if finding.cause.id == expect.first:
            return True
        if finding.cause.id not in expect.tied:
            return False
    return False
