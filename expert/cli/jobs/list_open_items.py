"""`rackwalk jobs open`: what earlier jobs left open, and the set points that jobs have changed."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.frame.options import add_place
from expert.cli.frame.page_by_page import add_pages, page
from expert.host import columns

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.procedure.history import OpenItem
    from expert.store.jobs import JobStore

URGENCIES = ("safety", "food", "leak", "equipment", "energy")

DESCRIPTION = """\
What finished jobs found and did not clear, and what was opened in unfinished ones and not put
back, the most urgent first: not put back and people, then food, leaks, equipment, energy; of the
same urgency what a job spoke of last. Each comes up at the start of a job on its equipment and is
answered there."""
EXAMPLES = """\
  rackwalk jobs open
  rackwalk jobs open --site "Invented store"
  rackwalk jobs open --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("--site", metavar="NAME", help="only this site, by the name in its file")
    parser.add_argument("--subject", metavar="ID", help="only this circuit or rack")
    parser.add_argument("--urgency", choices=URGENCIES, help="only what endangers this")
    add_pages(parser)
    add_pack(parser)
    add_json(parser)
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, also when nothing is open."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.load_knowledge import load_rules
    from expert.procedure.history import item_data
    from expert.terminal.layout import Layout

    with open_jobs(options.jobs) as store:
        urgent = gathered(
            store, lambda: load_rules(options.rulebase), options.site, options.subject,
            options.urgency,
        )  # fmt: skip
    if options.json:
        print_json({
            "open": [{"site": site, "urgency": word, **item_data(item)}
                     for word, site, item in urgent]
        })  # fmt: skip
        return 0
    layout = Layout(columns())
    shown, more = page(urgent, options)
    for site, count in Counter(site for _, site, _ in urgent).items():
        for line in layout.text(f"{site}: {count} open"):
            say(line)
    several = len({site for _, site, _ in urgent}) > 1
    for word, site, item in shown:
        since = f"{item.since.astimezone():%Y-%m-%d}" if item.since else "an unknown day"
        text = f"{item.text}; {word}; since {since}, last in job {item.job}"
        for line in layout.named(f"{site}, {item.subject}" if several else item.subject, text, 2):
            say(line)
    for line in layout.text(more) if more else ():
        say(line)
    if not urgent:
        say("Nothing is open.")
    return 0


def gathered(
    store: JobStore, rules: Callable[[], Rulebase], site: str | None = None,
    subject: str | None = None, urgency: str | None = None,
) -> list[tuple[str, str, OpenItem]]:  # fmt: skip
    """What stands open with what it endangers and its site, the most urgent first.

    Raises UsageError for a site that has no jobs.
    """
    from expert.errors import UsageError, nearest
    from expert.store.find_history import open_items

    sites = store.sites()
    if site and site not in sites:
        raise UsageError(f"No job was recorded at '{site}'. {nearest(site, sites)}".rstrip())
    found = [(at, item) for at in ([site] if site else sites) for item in open_items(store, at)]
    known = rules() if found else None
    urgent = [(_urgency(item, known), at, item) for at, item in found]
    urgent = [
        each for each in urgent
        if (not subject or each[2].subject.lower() == subject.lower())
        and urgency in (None, "", each[0])
    ]  # fmt: skip
    urgent.sort(key=lambda each: each[2].job, reverse=True)
    urgent.sort(key=lambda each: URGENCIES.index(each[0]))
    return urgent


def _urgency(item: OpenItem, rules: Rulebase | None) -> str:
    """What an open item endangers; what was opened and not put back comes before all."""
    kind, _, rest = item.key.partition(":")
    cause = rules.causes.get(rest.rpartition(":")[2]) if rules and kind == "finding" else None
    if cause is not None:
        return cause.urgency
    return URGENCIES[0] if kind == "opened" else "equipment"
