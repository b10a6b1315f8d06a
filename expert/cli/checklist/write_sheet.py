"""`rackwalk sheet`: what is to be read, by place, on paper or on a phone without a network."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_rulebase, add_units, backend, say
from expert.cli.frame.options import add_checklist_file, add_place, add_site

DESCRIPTION = """\
One HTML file with every reading of a checklist, by place, with its normal values, and the cautions
before them. Printed it has blanks. On a phone it takes the readings with their times, keeps them
in the page without a network, and hands them back as a text or a file for 'rackwalk take-in'.
Of a job that is under way only what is still to be read stands on it."""
EXAMPLES = """\
  rackwalk sheet hot-gas-defrost-checkout --site my-store.yaml --subject A4
  rackwalk sheet 2026-03-14-A4 --output sheet.html"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("what", metavar="CHECKLIST|JOB")
    parser.add_argument("--subject", metavar="ID", help="circuit or rack of the store")
    parser.add_argument(
        "--output", type=Path, metavar="FILE", help="where it goes (default: in reports/)"
    )
    add_site(parser)
    add_checklist_file(parser)
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; the path of the sheet is the last line."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.choose_site import site_for_job
    from expert.cli.job.load_knowledge import load_all_checklists, load_rules
    from expert.cli.job.open_job import prepare, reopen
    from expert.inference.evaluate import Evaluator
    from expert.procedure.history import History
    from expert.procedure.picture import Picture
    from expert.procedure.recorded import recorded_runner
    from expert.report.render import render_template, write_text
    from expert.report.sheet import make_sheet

    name = options.what
    with open_jobs(options.jobs) as store:
        folder = store.folder / "reports"
        rules = load_rules(options.rulebase)
        file = Path(name).suffix in (".yaml", ".yml")
        if file or name in load_all_checklists(options.rulebase, rules):
            options.checklist, options.who = name, ""
            prepared = prepare(options, None, site_for_job(options, None, rules), rules)
            runner, evaluator = recorded_runner(
                prepared.checklist, rules, prepared.site, prepared.subject.id, History(),
                system=options.units, backend=backend(options),
            )  # fmt: skip
            picture, site, job = Picture(), prepared.site.name, ""
            stem = f"{prepared.checklist.id}-{prepared.subject.id}"
        else:
            options.units = None  # those of the job
            work = reopen(options, store, store.get(name))
            runner, evaluator = work.runner, work.evaluator
            picture, site, job = work.session.picture, work.job.site, work.job.id
            stem = work.job.id
    evaluator = Evaluator(
        runner.rulebase, runner.subject, members=runner.members.values(), system=runner.system,
        backend=backend(options),
    )  # fmt: skip
    text = render_template("sheet.html.j2", sheet=make_sheet(runner, evaluator, picture, site, job))
    path = options.output or folder / f"sheet-{stem}.html"
    write_text(path, text)
    say(f"Sheet: {path}")
    return 0
