"""What an office needs of a job: what to order, book and plan."""

from __future__ import annotations

from expert.inference.findings import URGENCY
from expert.report.context import ReportContext
from expert.report.parts import Attention, Part
from expert.report.refrigerant_accounts import (
    Hours,
    hours,
    parts_named,
    refrigerant_figures,
    refrigerant_moved,
)
from expert.report.report_roles import report_roles


class OfficeView:
    """Everything the office's template asks for beside the report itself."""

    def __init__(self, report: ReportContext) -> None:
        self.report = report
        self.moved = refrigerant_moved(report.parts, report_roles())
        self.figures = refrigerant_figures(report.parts, report_roles())
        self.parts = parts_named(report.parts)
        self.hours: Hours | None = hours(report.picture.entries)

    @property
    def follow_ups(self) -> tuple[tuple[Part, Attention], ...]:
        """What still needs somebody, the most urgent first."""
        return tuple(
            sorted(
                self.report.attention,
                key=lambda each: URGENCY.index(each[1].finding.cause.urgency),
            )
        )
