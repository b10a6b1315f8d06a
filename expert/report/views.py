"""The views of a job: who reads it, and what a template of that view may ask for."""

from __future__ import annotations

from expert.report.context import ReportContext
from expert.report.customer import CustomerPage
from expert.report.office import OfficeView
from expert.report.pictures import figures

VIEWS = ("technical", "customer", "office")
FORMATS = ("markdown", "html")
SUFFIXES = {"markdown": ".md", "html": ".html"}


def page_of(report: ReportContext, view: str, form: str) -> object:
    """What a template asks for beside the report: a page, or the pictures of a technical record.

    The pictures are drawn only where they are shown.
    """
    if view == "customer":
        return CustomerPage(report)
    if view == "office":
        return OfficeView(report)
    return figures(report) if form == "html" else ()
