"""What a finished job notes of itself: what it leaves open, what it was told, what is known."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from expert.errors import RackwalkError
from expert.inference.evaluate import Evaluator
from expert.procedure.entries import Draft
from expert.procedure.history import OpenItem, item_data
from expert.procedure.log import Ending, KnownText, Noted
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner

if TYPE_CHECKING:
    from expert.report.context import JobFacts, ReportContext
    from expert.report.told import Told


def ending_of(job: JobFacts, runner: Runner, evaluator: Evaluator) -> Ending:
    """What is noted together with the entry that finishes the job."""

    def ending(picture: Picture) -> Noted:
        from expert.report.context import ReportContext

        report = ReportContext(job, picture.entries, runner, evaluator)
        return Noted(tuple(_drafts(report)), _known(picture, runner, evaluator))

    return ending


def prepare_ending(runner: Runner) -> None:
    """What does not hang on what is entered, so that it need not be waited for at the end."""
    from expert.columns.frame import frame_name

    frame_name(runner.checklist, runner.rulebase)


def _drafts(report: ReportContext) -> Iterator[Draft]:
    from expert.report.told import draft_of

    for draft in (
        Draft("left", "", {"items": [item_data(each) for each in _left(report)]}),
        draft_of(_told(report)),
    ):
        noted = [each for each in report.picture.entries if each.kind == draft.kind]
        before = noted[-1].data if noted else None
        if draft.data != before and (before is not None or draft.data != {"items": []}):
            yield draft


def _known(picture: Picture, runner: Runner, evaluator: Evaluator) -> KnownText | None:
    """What is known in the job, for its columns; a job is not kept from ending by it."""
    from expert.columns.frame import frame_name
    from expert.columns.known_values import JobHead, values_of
    from expert.columns.packed_values import packed

    head = JobHead("", "", "", runner.subject.id)
    frame = frame_name(runner.checklist, runner.rulebase)
    try:
        values = values_of(head, frame, runner.checklist, evaluator, picture.entries)
    except (RackwalkError, KeyError):  # the command says what cannot be read
        return None
    return KnownText(frame, packed(values))


def _left(report: ReportContext) -> Iterator[OpenItem]:
    """What needs attention, for the next job at the site to ask about."""
    for part, item in report.attention:
        yield OpenItem(
            f"finding:{part.subject.id}:{item.finding.cause.id}", "finding", part.subject.id,
            f"{item.finding.cause.title}, {item.finding.words} ({item.standing})",
        )  # fmt: skip
    on = report.subject.id
    if report.closed_as:
        text = f"{report.checklist.title}: closed without being done, {report.closed_as}"
        yield OpenItem(f"job:{on}:{report.checklist.id}", "job", on, text)
    for text in report.picture.still_open:
        yield OpenItem(f"opened:{on}:{text}", "opened", on, f"not put back: {text}")


def _told(report: ReportContext) -> Told:
    """What a report says now."""
    from expert.records.job_summary import PUT_RIGHT, STANDS
    from expert.report.told import Told, ToldFinding

    right = {id(finding) for _, finding in report.put_right}
    found = tuple(
        ToldFinding(
            part.subject.id, finding.cause.id, finding.cause.title, finding.cause.system,
            finding.words, round(finding.certainty, 4),
            tuple(dict.fromkeys(fired.rule.id for fired in finding.evidence)),
            tuple(finding.cause.parts), PUT_RIGHT if id(finding) in right else STANDS,
        )
        for part, finding in report.wrong
    )  # fmt: skip
    info = report.rulebase.info
    return Told(str(info), info.hash, report.checklist.hash, found)
