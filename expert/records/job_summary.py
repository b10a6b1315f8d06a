"""A job in short: how completely it was done, what was found, how long each step took.

It is what the audit reads, so that nothing is judged again for it. Only entries and what the
rules of the day made of them go in; kept as JSON by `store/summaries.py`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any

from expert.procedure.active import Active, id_of
from expert.procedure.checklist import MEASURING
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture, fold, whole
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.report.context import ReportContext
from expert.report.told import ToldFinding, told_in

VERSION = 3  # a summary of another version is made again
STANDS, PUT_RIGHT = "stands", "put right"
LONGEST_STEP = 8 * 3600  # s; a longer pause is no work at a step


@dataclass(frozen=True)
class RecordedFinding:
    """A finding before any change: on what, which cause, and whether it was put right."""

    subject: str
    cause: str
    title: str
    system: str
    parts: tuple[str, ...]
    words: str
    standing: str
    rules: tuple[str, ...] = ()


@dataclass(frozen=True)
class JobSummary:
    """`judged` is false where the checklist or the rules of a job are not at hand: then what
    needs them is missing and no good mark.

    `as_found` counts readings asked as found and those answered, `cautions` likewise those shown
    and acknowledged; `changes` and `remeasured` adjustments; `skips` step and reason; `seconds`
    the time at each step, all rounds together; `set_aside` the answers that no longer apply.
    `found` is what the rules whose hash is `rules` find; `told` what the job itself holds of what
    was told when it was finished, by the rulebase `told_by`, None where it holds nothing.
    `closed_as` is the state in which a job was closed that is not done, empty for any other.
    """

    judged: bool
    rules: str
    title: str
    as_found: tuple[int, int]
    cautions: tuple[int, int]
    changes: int
    remeasured: int
    opened: int
    still_open: tuple[str, ...]
    skips: tuple[tuple[str, str], ...]
    signed: str
    finished: bool
    last: str
    seconds: tuple[tuple[str, int], ...]
    found: tuple[RecordedFinding, ...]
    set_aside: tuple[str, ...]
    told: tuple[RecordedFinding, ...] | None = None
    told_by: str = ""
    closed_as: str = ""

    @property
    def seen(self) -> tuple[RecordedFinding, ...]:
        """What the technician saw; of a job that does not hold it, what `rules` find."""
        return self.found if self.told is None else self.told

    @property
    def total_seconds(self) -> int:
        """Time at all steps together."""
        return sum(seconds for _, seconds in self.seconds)


def summarize(report: ReportContext) -> JobSummary:
    """The summary of a job from what its report says."""
    runner, picture = report.runner, report.picture
    plan = runner.plan(picture)
    asked = [
        each for each in plan
        if each.stage == AS_FOUND and each.step.type in MEASURING and not each.loop
    ]  # fmt: skip
    reached = max((n for n, each in enumerate(plan) if each.entry is not None), default=-1)
    cautions = [each for each in plan[: reached + 1] if each.step.type == "caution"]
    put_right = {id(finding) for _, finding in report.put_right}
    found = tuple(
        RecordedFinding(
            part.subject.id, finding.cause.id, finding.cause.title, finding.cause.system,
            tuple(finding.cause.parts), finding.words,
            PUT_RIGHT if id(finding) in put_right else STANDS,
            tuple(dict.fromkeys(fired.rule.id for fired in finding.evidence)),
        )
        for part, finding in report.wrong
    )  # fmt: skip
    return _summary(
        picture, judged=True, rules=report.rulebase.info.hash, title=report.checklist.title,
        as_found=(len(asked), sum(each.reading is not None for each in asked)),
        cautions=(len(cautions), sum(_agreed(each) for each in cautions)),
        signed=report.signed_by, finished=report.unfinished is None, found=found,
        set_aside=tuple(each.step for each in runner.set_aside(picture)),
    )  # fmt: skip


def _agreed(caution: Active) -> bool:
    return caution.entry is not None and not caution.entry.refuses


def from_entries(entries: Sequence[Entry], finished: datetime | None, checklist: str) -> JobSummary:
    """As much as the entries alone say, where checklist or rules are not at hand."""
    picture = fold(entries)
    signs = [entry.text("name") for entry in picture.closed.values() if entry.kind == "sign"]
    acknowledged = len(picture.acknowledged)
    shown = {entry.step for entry in picture.entries if entry.kind == "acknowledge"}
    answers = [each for each in picture.readings if each.stage == AS_FOUND and "?" not in each.step]
    skipped = len(picture.skips)
    return _summary(
        picture, judged=False, rules="", title=checklist,
        as_found=(len(answers) + skipped, len(answers)), cautions=(len(shown), acknowledged),
        signed=signs[-1] if signs else "", finished=finished is not None, found=(), set_aside=(),
    )  # fmt: skip


def _summary(
    picture: Picture, *, judged: bool, rules: str, title: str, as_found: tuple[int, int],
    cautions: tuple[int, int], signed: str, finished: bool, found: tuple[RecordedFinding, ...],
    set_aside: tuple[str, ...],
) -> JobSummary:  # fmt: skip
    changes = [entry for entry in picture.closed.values() if entry.kind == "adjust"]
    told = told_in(picture.entries)
    return JobSummary(
        judged, rules, title, as_found, cautions, len(changes),
        sum(_remeasured(picture, entry) for entry in changes),
        len(picture.opened), picture.still_open,
        tuple((id_of(entry.step), entry.text("reason")) for entry in picture.skips),
        signed, finished, picture.entries[-1].step if picture.entries else "",
        tuple(seconds_at_steps(picture.entries).items()), found, set_aside,
        None if told is None else tuple(map(_recorded, told.findings)),
        "" if told is None else told.rulebase,
        "" if picture.closed_as is None else picture.closed_as.text("state"),
    )  # fmt: skip


def _recorded(told: ToldFinding) -> RecordedFinding:
    return RecordedFinding(
        told.subject, told.cause, told.title, told.system, told.parts, told.words,
        told.standing, told.rules,
    )  # fmt: skip


def _remeasured(picture: Picture, change: Entry) -> bool:
    """Whether something was measured as left after an adjustment, in its round or a later one."""
    return any(
        entry.kind == "answer" and entry.seq > change.seq and "?" not in entry.step
        and entry.text("stage") == AS_LEFT and whole(entry, "round") >= whole(change, "round")
        for entry in picture.closed.values()
    )  # fmt: skip


def seconds_at_steps(entries: Iterable[Entry]) -> dict[str, int]:
    """From one entry to the next, for the step of the later one; not while away from the job."""
    found: dict[str, float] = {}
    before: datetime | None = None
    for entry in entries:
        if before is not None and entry.kind != "resume" and entry.step:
            spent = (entry.at - before).total_seconds()
            if 0 <= spent <= LONGEST_STEP:
                step = id_of(entry.step)
                found[step] = found.get(step, 0.0) + spent
        before = entry.at
    return {step: round(seconds) for step, seconds in found.items()}


_FOUND = [field.name for field in fields(RecordedFinding)]
_NAMES = [field.name for field in fields(JobSummary)]


def to_text(summary: JobSummary) -> str:
    """As JSON: a list of the fields in their order."""
    got = {name: getattr(summary, name) for name in _NAMES}
    for name in ("found", "told"):
        if got[name] is not None:
            got[name] = [list(asdict(each).values()) for each in got[name]]
    return json.dumps(list(got.values()), separators=(",", ":"))


def _found(values: list[Any]) -> RecordedFinding:
    got: dict[str, Any] = dict(zip(_FOUND, values, strict=True))
    return RecordedFinding(**{**got, "parts": tuple(got["parts"]), "rules": tuple(got["rules"])})


def from_text(text: str) -> JobSummary:
    """The reverse of `to_text`. Raises ValueError or TypeError for another text."""
    got: dict[str, Any] = dict(zip(_NAMES, json.loads(text), strict=True))
    for name in ("as_found", "cautions", "still_open", "set_aside"):
        got[name] = tuple(got[name])
    for name in ("skips", "seconds"):
        got[name] = tuple(map(tuple, got[name]))
    for name in ("found", "told"):
        if got[name] is not None:
            got[name] = tuple(_found(each) for each in got[name])
    return JobSummary(**got)
