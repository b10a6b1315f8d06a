"""`rackwalk audit`: how the jobs were done, over all that were recorded."""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_rulebase, print_json, say
from expert.cli.frame.options import add_place
from expert.cli.jobs.filters import add_filters
from expert.csv_cells import safe
from expert.errors import UsageError
from expert.host import columns

if TYPE_CHECKING:
    from expert.records.audit import Done
    from expert.records.record_roles import RecordRoles
    from expert.records.tables import Cell, PrintedTable
    from expert.store.jobs import JobStore

DESCRIPTION = """\
Completeness by procedure and crew, skips with their reasons, findings that came back, findings
that a later job contradicts, time at each step, crews on the same procedure. Made from the short
record that is kept with every finished job; for a job without one it is made once. The screen
shows the first rows of each table; the files have all of them."""
EXAMPLES = """\
  rackwalk audit
  rackwalk audit --site 'North Store' --since 2026-01-01 --checklist hot-gas-defrost-checkout
  rackwalk audit --judge-again --rulebase my-pack
  rackwalk audit --csv audit
  rackwalk audit --html audit.html"""
SHOWN = 12  # rows of a table on the screen
IN_HTML = 200


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    add_filters(parser)
    parser.add_argument(
        "--within", type=int, metavar="DAYS",
        help="how soon a finding counts as come back (default: 90, common practice)",
    )  # fmt: skip
    parser.add_argument(
        "--csv", type=Path, metavar="FOLDER|FILE",
        help="a file for each table into a folder, or the whole into one file ending in .csv",
    )  # fmt: skip
    parser.add_argument(
        "--try-strengths", action="store_true",
        help="what cases and plants would say with the strengths that outcomes speak for (about "
        "20 s); nothing is changed",
    )  # fmt: skip
    parser.add_argument(
        "--scenarios", type=Path, metavar="FOLDER",
        help="the cases of --try-strengths (default: the folder cases of the packs)",
    )  # fmt: skip
    parser.add_argument(
        "--plants", type=int, default=60, metavar="N",
        help="the plants of --try-strengths, drawn from a fixed seed (default: 60)",
    )  # fmt: skip
    parser.add_argument(
        "--judge-again", action="store_true",
        help="only what the rules at hand (--rulebase) say of the finished jobs now, beside what "
        "they were told and how it turned out; from columns where they are made (jobs columns)",
    )  # fmt: skip
    parser.add_argument("--html", type=Path, metavar="FILE", help="one page that needs no network")
    add_json(parser)
    add_place(parser)
    add_rulebase(parser)


@dataclass(frozen=True)
class _PageTable:
    """A table as the page shows it."""

    id: str
    title: str
    says: str
    heads: tuple[str, ...]
    rows: list[list[str]]
    more: int


def run(options: argparse.Namespace) -> int:
    """Exit code 0, also where there are no jobs."""
    from expert.cli.jobs.filters import days
    from expert.records.audit import audit
    from expert.records.record_roles import SourcedCount, record_roles
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place, there_are_jobs

    days(options)  # a mistyped day is told also where there are no jobs
    part, place = record_roles(), job_place(options.jobs)
    within = part.repeat_within
    if options.within is not None:
        if options.within < 1:
            raise UsageError("--within is a number of days, one or more.")
        within = SourcedCount(options.within, "as asked for")
    if options.judge_again:
        return _judge_again(options, place)
    jobs: list[Done] = []
    said: Sequence[PrintedTable] = ()
    if there_are_jobs(place):
        with JobStore(place) as store:
            jobs = jobs_asked_for(options, store)
            said = said_of_findings(options, store, {job.job for job in jobs}, part)
    tables = (*audit(jobs, within, part.compare_from), *said)
    _give(options, facts_of(jobs), tables, len(jobs), {"within": _days(within.value)})
    return 0


def _judge_again(options: argparse.Namespace, place: Path | str) -> int:
    """The same, of what the rules at hand say now."""
    from expert.cli.jobs.judge_again import JudgingAgain, again_tables
    from expert.store.jobs import JobStore
    from expert.store.paths import there_are_jobs

    if not there_are_jobs(place):
        _give(options, facts_of(()), (), 0, {})
        return 0
    with JobStore(place) as store:
        only = None
        if options.who:  # who signed counts, which the short records say
            only = {job.job for job in jobs_asked_for(options, store)}
        judging = JudgingAgain(options, store, place, only)
        judging.run()
    facts, tables = again_tables(judging)
    more: dict[str, object] = {
        "from_columns": judging.from_columns, "not_judged": judging.left,
        "rulebase": str(judging.rules.info),
    }  # fmt: skip
    _give(options, facts, tables, judging.figures.jobs, more)
    return 0


def _give(
    options: argparse.Namespace, facts: list[tuple[str, str]], tables: Sequence[PrintedTable],
    jobs: int, more: Mapping[str, object],
) -> None:  # fmt: skip
    """On the screen, or as it was asked for."""
    if options.csv:
        _write_csv(options.csv, tables)
    if options.html:
        _write_html(options.html, facts, tables, jobs)
    if options.json:
        documents = {table.id: {"says": table.says, "rows": table.documents()} for table in tables}
        print_json({"jobs": jobs, **more, "tables": documents})
    elif not (options.csv or options.html):
        _show(facts, tables)


def _days(days: int) -> dict[str, object]:
    return {"value": days, "unit": "days"}


def jobs_asked_for(options: argparse.Namespace, store: JobStore) -> list[Done]:
    """The jobs asked for with their summaries, the oldest first. Raises UsageError."""
    from expert.cli.job.job_summaries import summaries
    from expert.cli.jobs.filters import chosen, day_of
    from expert.records.audit import Done
    from expert.store.find_jobs import listed

    if options.site and options.site.endswith((".yaml", ".yml")):
        from expert.cli.job.load_knowledge import load_rules, load_site_file

        options.site = load_site_file(Path(options.site), load_rules(options.rulebase)).name
    crew, options.who = options.who, None
    jobs = chosen(options, listed(store.database))
    short = summaries(options, store, jobs)
    # where nobody was named it is whoever signed, as in the report
    named = [replace(job, who=job.who or short[job.id].signed) for job in jobs]
    options.who = crew
    return [
        Done(job.id, job.checklist, job.site, job.subject, job.who, day_of(job), short[job.id])
        for job in chosen(options, named)
    ]


def said_of_findings(
    options: argparse.Namespace, store: JobStore, jobs: set[str], part: RecordRoles
) -> Sequence[PrintedTable]:
    """What outcomes say of the findings of some jobs."""
    from expert.cli.job.load_knowledge import load_rules
    from expert.records.confirmed import outcome_tables, proposed_strengths
    from expert.report.outcomes import outcome_of
    from expert.store.find_jobs import outcomes

    found = outcomes(store.database)
    told = [outcome_of(entry) for job in sorted(jobs) for entry in found.get(job, ())]
    rules = load_rules(options.rulebase)
    spoken = {
        (rule.id, cause): strength
        for rule in rules.rules.values()
        for cause, strength in rule.evidence_for.items()
    }
    proposed = proposed_strengths(told, rules.certainty.strengths, part.compare_from, spoken)
    tried = None
    if options.try_strengths:
        from expert.cli.jobs.try_strengths import try_strengths

        tried = try_strengths(proposed, rules, options) if proposed else ()
    return outcome_tables(told, proposed, part.compare_from, tried)


def facts_of(jobs: Sequence[Done]) -> list[tuple[str, str]]:
    """Jobs, days, sites and crews, in words."""
    if not jobs:
        return [("Jobs", "none")]
    unfinished = sum(not job.short.finished for job in jobs)
    return [
        ("Jobs", f"{len(jobs)}, {unfinished} not finished"),
        ("From", f"{jobs[0].day} to {max(job.day for job in jobs)}"),
        ("Sites", str(len({job.site for job in jobs}))),
        ("Crews", str(len({job.crew for job in jobs}))),
    ]


def _show(facts: Sequence[tuple[str, str]], tables: Sequence[PrintedTable]) -> None:

    from expert.records.tables import lines
    from expert.terminal.layout import Layout

    layout = Layout(columns())
    for name, value in facts:
        for line in layout.named(name, value):
            say(line)
    for table in tables:
        say()
        for line in layout.text(table.title):
            say(line)
        if not table.rows:
            say("  none")
            continue
        shown = lines(table, layout.width, SHOWN)
        for text in shown:
            fits = len(text) <= layout.width and "; " not in text
            for line in [text] if fits else layout.listed("-", text):
                say(line)
        if len(table.rows) > SHOWN:
            say(f"  {len(table.rows) - SHOWN} more: --csv, --json or --html")
        for line in layout.text(table.says, 2) if table.says else ():
            say(line)


def _write_csv(path: Path, tables: Sequence[PrintedTable]) -> None:
    from expert.report.render import write_text

    if path.suffix.lower() == ".csv":
        write_text(path, "".join(_csv_text(_titled(table)) for table in tables))
        say(f"CSV: {path}")
        return
    for table in tables:
        heads = [_head(table, number) for number in range(len(table.heads))]
        write_text(path / f"{table.id}.csv", _csv_text([heads, *map(_csv_row, table.rows)]))
    say(f"CSV: {path}")


def _titled(table: PrintedTable) -> Iterator[Sequence[str | int]]:
    """The rows of a table in the file of all of them, each with the table's name in front."""
    yield ["table", *(_head(table, number) for number in range(len(table.heads)))]
    for row in table.rows:
        yield [table.id, *_csv_row(row)]


def _head(table: PrintedTable, number: int) -> str:
    unit = table.unit(number)
    return f"{table.heads[number]} [{unit}]" if unit else table.heads[number]


def _csv_row(row: Sequence[Cell]) -> list[str | int]:
    return ["" if cell is None else cell for cell in row]


def _csv_text(rows: Sequence[Sequence[str | int]] | Iterator[Sequence[str | int]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(map(safe, row) for row in rows)
    return text.getvalue()


def _write_html(
    path: Path, facts: list[tuple[str, str]], tables: Sequence[PrintedTable], jobs: int
) -> None:
    from expert.records.tables import cell_text
    from expert.report.render import render_template, write_text

    parts = [
        _PageTable(
            table.id, table.title, table.says, table.heads,
            [
                [cell_text(cell, table.unit(number)) for number, cell in enumerate(row)]
                for row in table.rows[:IN_HTML]
            ],
            max(len(table.rows) - IN_HTML, 0),
        )
        for table in tables
    ]  # fmt: skip
    page = render_template("audit.html.j2", jobs=jobs, facts=facts, parts=parts)
    write_text(path, page.strip() + "\n")
    say(f"Page: {path}")
