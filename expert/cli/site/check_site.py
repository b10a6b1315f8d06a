"""`rackwalk site check`: what is wrong with a store, and what it cannot be judged by."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import add_pack, say
from expert.cli.frame.options import add_place
from expert.cli.job.load_knowledge import load_rules
from expert.cli.job.which_site import named_site
from expert.cli.site.which import chosen

DESCRIPTION = """\
NAME is a kept store or a site file. What is wrong is told with its line and the nearest name there
is; what is not known yet is told in one line a part."""
EXAMPLES = """\
  rackwalk site check
  rackwalk site check my-store.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("name", nargs="?", metavar="NAME")
    add_pack(parser)
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 where nothing is wrong, 3 otherwise."""
    from expert.sites.data import counts
    from expert.sites.not_known import not_known

    rules = load_rules(options.rulebase)
    name = options.name or chosen(None, options.jobs).name
    site = named_site(name, rules, options.jobs)
    lacking = [f"{each.subject.id} ({len(each.what)})" for each in not_known(site, rules)]
    say(f"{site.name}: nothing is wrong. {counts(site)}.")
    if lacking:
        say(f"Not known yet, by part: {', '.join(lacking)}. 'rackwalk site show' names it.")
    return 0
