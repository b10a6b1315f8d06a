"""The pictures of a report, by the subject and the round of readings they belong to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from expert.inference.sentences import first_up
from expert.report.context import ReportContext
from expert.report.curve import curve
from expert.report.cycle_figure import cycle_figure
from expert.report.parts import Part
from expert.report.report_roles import report_roles
from expert.report.series import watched
from expert.report.strips import NORMAL, changes_of, strips_of
from expert.report.svg import Figure

_FEW = 6  # strips that a reader takes in at a glance (own choice)


@dataclass(frozen=True)
class StageFigures:
    """Pictures of one round: the strips of what is not normal, those of the others, the cycle."""

    off: tuple[Figure, ...]
    others: tuple[Figure, ...]
    cycle: Figure | None


@dataclass(frozen=True)
class PartFigures:
    """Pictures of one subject; `deciding` are the few strips that show what was wrong, first of
    all what a change put right."""

    deciding: tuple[Figure, ...]
    changes: tuple[Figure, ...]
    curves: tuple[Figure, ...]
    stages: tuple[StageFigures, ...]


def figures(report: ReportContext) -> tuple[PartFigures, ...]:
    """The pictures of every part of a report, in the order of its parts."""
    return tuple(_figures(report, part, f"f{number}") for number, part in enumerate(report.parts))


def _figures(report: ReportContext, part: Part, key: str) -> PartFigures:
    known = report_roles()
    return PartFigures(
        _deciding(part, f"{key}-decides"),
        changes_of(part, f"{key}-change"),
        tuple(_curves(report, part, f"{key}-curve")),
        tuple(
            StageFigures(
                *_by_state(strips_of(part, stage, f"{key}-{number}-strip")),
                cycle_figure(part, stage, known, report.system, f"{key}-{number}-cycle"),
            )
            for number, stage in enumerate(part.stages)
        ),
    )


def _deciding(part: Part, key: str) -> tuple[Figure, ...]:
    strips = changes_of(part, key)
    if not strips and part.found is not None:
        strips = strips_of(part, part.found, key)
    off = [each for each in strips if each.rows[0][-1] != NORMAL]
    return tuple(sorted(off, key=lambda each: each.rows[-1][-1] != NORMAL)[:_FEW])


def _by_state(strips: Iterable[Figure]) -> tuple[tuple[Figure, ...], tuple[Figure, ...]]:
    found: tuple[list[Figure], list[Figure]] = ([], [])
    for strip in strips:
        found[strip.rows[0][-1] == NORMAL].append(strip)
    return tuple(found[0]), tuple(found[1])


def _curves(report: ReportContext, part: Part, key: str) -> Iterator[Figure]:
    member = part.subject.id if part.member else ""
    found = watched(report.runner, report.picture, report_roles().beside_a_series)
    for number, one in enumerate((each for each in found if each.subject == member), 1):
        title = f"{first_up(one.title)}, {one.stage}"
        yield curve(one, title, report.system, f"{key}-{number}")
