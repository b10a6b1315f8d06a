"""What one rulebase says of a job, stage by stage, without sentences: to be compared."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from expert.inference.evaluation_model import Evaluation, Finding, each_finding
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.world import AS_FOUND, AS_LEFT


@dataclass(frozen=True)
class JudgedCause:
    """A cause that was found, and how certainly; `under` where it stands under another one."""

    cause: str
    title: str
    certainty: float
    words: str
    under: bool = False


@dataclass(frozen=True)
class StageVerdict:
    """What one rulebase says of a case in one stage, on the subject or one of its members."""

    stage: str
    found: tuple[JudgedCause, ...]
    held_back: tuple[str, ...] = ()


def verdict_of(stage: str, evaluation: Evaluation) -> StageVerdict:
    """The verdict of an evaluation of the job's own subject."""
    return verdict_of_findings(stage, evaluation.findings)


def verdict_of_findings(stage: str, findings: Sequence[Finding]) -> StageVerdict:
    """The verdict of what was found on the job's own subject."""
    every = tuple(each_finding(findings))
    held = dict.fromkeys(action for finding in every for action in finding.held_back)
    return StageVerdict(stage, judged_causes(findings), tuple(held))


def judged_causes(findings: Iterable[Finding]) -> tuple[JudgedCause, ...]:
    """Every finding in the order in which it is told, with those that stand under it."""
    return tuple(
        JudgedCause(f.cause.id, f.cause.title, f.certainty, f.words, f is not top)
        for top in findings
        for f in each_finding((top,))
    )


def stages_of(rounds: int) -> tuple[str, ...]:
    """The stages in which a job is judged."""
    return (AS_FOUND, AS_LEFT) if rounds else (AS_FOUND,)


def on_member(stage: str, member: str) -> str:
    """How the verdict on a member is called: 'as left, A4'."""
    return f"{stage}, {member}"


def verdicts_on(runner: Runner, picture: Picture) -> Iterator[StageVerdict]:
    """The verdicts on a recorded job, those on members behind the one on its subject."""
    for stage in stages_of(runner.rounds(picture)):
        yield verdict_of(stage, runner.evaluation(picture, stage))
        for member, findings in runner.found_on_members(picture, stage):
            yield StageVerdict(on_member(stage, member.id), judged_causes(findings))
