"""From a job to its reports: three views, as Markdown or as one HTML page that needs nothing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any

import jinja2

from expert import __version__
from expert.errors import NotWritten
from expert.inference.evaluate import Evaluator
from expert.inference.make_engine import Backend
from expert.inference.sentences import first_up
from expert.places import shipped
from expert.procedure.entries import Entry
from expert.procedure.picture import fold
from expert.procedure.runner import Runner
from expert.report.context import NO_HEADING, NO_SEAL, Heading, JobFacts, ReportContext, Seal
from expert.report.stages import BOTH, clock_time
from expert.report.views import FORMATS, VIEWS, page_of
from expert.whole_file import write_whole

TEMPLATES = {"markdown": "{view}.md.j2", "html": "{view}.html.j2"}


def gather(
    job: JobFacts,
    entries: Sequence[Entry],
    runner: Runner,
    *,
    system: str = BOTH,
    backend: Backend = "auto",
    seal: Seal = NO_SEAL,
    heading: Heading = NO_HEADING,
) -> ReportContext:
    """The facts that every view of a job is made of; `system` is 'us', 'si' or 'both'."""
    evaluator = Evaluator(
        runner.rulebase, runner.subject, members=runner.members.values(), system=system,
        backend=backend,
    )  # fmt: skip
    order = heading.order or fold(entries).work_order
    return ReportContext(job, entries, runner, evaluator, seal, replace(heading, order=order))


def render(report: ReportContext, view: str = VIEWS[0], form: str = FORMATS[0]) -> str:
    """One of VIEWS as one of FORMATS."""
    template = TEMPLATES[form].format(view=view)
    text = render_template(template, report=report, page=page_of(report, view, form))
    most = 2 if form == "markdown" else 1  # line ends in a row
    return re.sub(rf"\n{{{most},}}", "\n" * most, text).strip() + "\n"


def render_report(
    job: JobFacts,
    entries: Sequence[Entry],
    runner: Runner,
    *,
    backend: Backend = "auto",
    seal: Seal = NO_SEAL,
) -> str:
    """The technical record of a job as Markdown, both unit systems side by side."""
    return render(gather(job, entries, runner, backend=backend, seal=seal))


def write_report(
    job: JobFacts,
    entries: Sequence[Entry],
    runner: Runner,
    path: Path,
    *,
    backend: Backend = "auto",
    seal: Seal = NO_SEAL,
) -> None:
    """Write the technical record of a job. Raises RackwalkError."""
    write_text(path, render_report(job, entries, runner, backend=backend, seal=seal))


def write_text(path: Path, text: str) -> None:
    """Write a report, all of it or nothing. Raises NotWritten."""
    try:
        write_whole(path, text)  # for its owner only
    except OSError as error:
        raise NotWritten(f"Cannot write the report to {path}: {error.strerror}.") from None


def render_template(name: str, **context: object) -> str:
    """A template of the reports folder, filled in."""
    return _environment().get_template(name).render(version=__version__, **context)


@cache  # with the templates that it compiled
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(shipped("reports")),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        # Markdown is not HTML; there texts are escaped by the filter below
        autoescape=jinja2.select_autoescape(["html.j2"], default=False),
    )
    environment.filters["md"] = _escaped
    environment.filters["table"] = _table
    environment.filters["on"] = _on
    environment.filters["first_up"] = first_up
    environment.filters["clock"] = clock_time
    environment.filters["hours"] = _hours
    environment.filters["day"] = lambda at: at.astimezone().strftime("%Y-%m-%d")
    environment.filters["moment"] = lambda at: at.astimezone().strftime("%Y-%m-%d %H:%M %Z")
    environment.globals["first_up"] = first_up
    return environment


def _escaped(text: object) -> str:
    """A person's text inside Markdown: one line, and no mark-up of its own."""
    line = re.sub(r"([\\`*_{}\[\]<>|~])", r"\\\1", " ".join(str(text).split()))
    # a heading or a list may also begin inside a list item
    return re.sub(r"^(\d{0,9})(#{1,6}|[-+.)])(?=\s|$)", r"\1\\\2", line)


def _on(entry: Entry) -> str:
    """' on A1' for what was entered on a member."""
    subject = entry.text("subject")
    return f" on {_escaped(subject)}" if subject else ""


def _hours(span: timedelta) -> str:
    """'1 h 05 min'."""
    minutes = round(span.total_seconds() / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"


def _table(rows: Sequence[Sequence[Any]], heads: Sequence[str]) -> str:
    """A table whose columns also line up as plain text; empty columns are left out."""
    texts = [[_escaped(cell) for cell in row] for row in rows]
    used = [i for i in range(len(heads)) if any(row[i] for row in texts)]
    lines = [[_escaped(heads[i]) for i in used], *([row[i] for i in used] for row in texts)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(used))]
    padded = [
        [cell.ljust(width) for cell, width in zip(line, widths, strict=True)] for line in lines
    ]
    shown = [f"| {' | '.join(cells)} |" for cells in padded]
    rule = "|" + "|".join("-" * (width + 2) for width in widths) + "|"
    return "\n".join([shown[0], rule, *shown[1:]])
