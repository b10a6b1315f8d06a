"""`rackwalk jobs open`: what earlier jobs left open, and the set points that jobs have changed."""

from __future__ import annotations

import argparse
import shutil

from expert.cli.frame.common import add_json, print_json, say
from expert.cli.frame.options import add_place

DESCRIPTION = """\
What finished jobs found and did not clear, and what was opened in unfinished ones and not put
back, by site. Each comes up at the start of a job on its equipment and is answered there."""
EXAMPLES = """\
  rackwalk jobs open
  rackwalk jobs open --site "Invented store"
  rackwalk jobs open --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("--site", metavar="NAME", help="only this site, by the name in its file")
    add_json(parser)
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, also when nothing is open."""
    from expert.cli.frame.common import open_jobs
    from expert.errors import UsageError, nearest
    from expert.procedure.history import item_data
    from expert.store.find_history import open_items
    from expert.terminal.layout import Layout

    with open_jobs(options.jobs) as store:
        sites = store.sites()
        if options.site is not None and options.site not in sites:
            hint = nearest(options.site, sites)
            raise UsageError(f"No job was recorded at '{options.site}'. {hint}".rstrip())
        wanted = sites if options.site is None else (options.site,)
        found = {site: open_items(store, site) for site in wanted}
    if options.json:
        print_json({
            "open": [
                {"site": site, **item_data(item)} for site, items in found.items() for item in items
            ]
        })  # fmt: skip
        return 0
    layout = Layout(shutil.get_terminal_size().columns)
    for site, items in found.items():
        for line in layout.text(f"{site}: {len(items)} open") if items else ():
            say(line)
        for item in items:
            since = f"{item.since.astimezone():%Y-%m-%d}" if item.since else "an unknown day"
            text = f"{item.text}; since {since}, last in job {item.job}"
            for line in layout.named(item.subject, text, 2):
                say(line)
    if not any(found.values()):
        say("Nothing is open.")
    return 0
