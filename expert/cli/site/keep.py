"""`rackwalk site keep`: take a site file in, or write a kept store out as one."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import say
from expert.cli.job.load_knowledge import load_rules
from expert.cli.site.which import add_usual, chosen
from expert.errors import UsageError

DESCRIPTION = """\
With FILE: the site file is kept as it stands, as a new store or as the next version of the one of
its name. With --output: the store is written as a site file, which an editor can change."""
EXAMPLES = """\
  rackwalk site keep my-store.yaml
  rackwalk site keep --output oak-street.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("file", nargs="?", type=Path, metavar="FILE")
    parser.add_argument("--site", metavar="NAME", help="the store, where several are kept")
    parser.add_argument("--output", type=Path, metavar="FILE", help="write the store there")
    add_usual(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 3 for a file that is wrong."""
    if (options.file is None) == (options.output is None):
        raise UsageError("Say either the FILE to take in, or where to write: --output FILE.")
    if options.output is not None:
        from expert.report.render import write_text

        kept = chosen(options.site, options.jobs)
        write_text(options.output, kept.text)
        say(f"Store {kept.name}, version {kept.version}: {options.output}")
        return 0
    from contextlib import closing
    from datetime import UTC, datetime

    from expert.cli.job.ask_site import told_kept
    from expert.cli.job.load_knowledge import load_site_file
    from expert.store.jobs import JobStore
    from expert.store.kept_sites import keep_site, kept_sites
    from expert.store.paths import job_place

    site = load_site_file(options.file, load_rules(options.rulebase))
    with closing(JobStore(job_place(options.jobs))) as store:
        before = kept_sites(store.database).get(site.name)
        made = keep_site(
            store.database, site.name, site.text, at=datetime.now(UTC), who=options.who,
            why=f"site file {options.file.name}", after=before.version if before else 0,
        )  # fmt: skip
    say(told_kept(made, site))
    return 0
