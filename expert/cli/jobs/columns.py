"""`rackwalk jobs columns`: what is known in finished jobs, in files that are judged at once."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_rulebase, say
from expert.cli.frame.options import add_place
from expert.cli.frame.progress import Progress

DESCRIPTION = """\
Puts what is known in each finished job into columns, in Parquet files beside the jobs. It is
gathered from what a job keeps when it is finished, else worked out from its entries; so the files
can be deleted and made anew, and only what is missing is made. With them 'rackwalk rules compare A
B --jobs' and 'rackwalk audit --judge-again' judge thousands of jobs a second. Needs pyarrow:
pip install 'rackwalk[columns]'"""
EXAMPLES = """\
  rackwalk jobs columns"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    add_place(parser)
    add_rulebase(parser)
    parser.add_argument(
        "--checklists", type=Path, metavar="FOLDER",
        help="checklists of the jobs (default: those that are shipped, and of the rulebase)",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Exit code 0."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.job_columns import ColumnMaker, columns_folder, need_columns
    from expert.cli.job.load_knowledge import load_checklists_of, load_rules
    from expert.knowledge.pack_files import checklist_folders
    from expert.store.paths import job_place

    need_columns()
    rules = load_rules(options.rulebase)
    own = options.checklists
    folders = (own,) if own else checklist_folders(options.rulebase)
    checklists = load_checklists_of(folders, rules)
    folder = columns_folder(job_place(options.jobs))
    with open_jobs(options.jobs) as store:
        progress = Progress("jobs")
        maker = ColumnMaker(store, folder, rules, checklists, progress)
        made = maker.make()
        progress.end()
    say(f"{made} jobs are now in columns, in {folder}.")
    if maker.derived:
        why = "it was not kept when they were finished, or other rules held then"
        say(f"What is known in {maker.derived} of them was worked out from their entries: {why}.")
    if maker.left:
        say(f"{maker.left} jobs are not: their checklist or site cannot be read with these rules.")
    return 0
