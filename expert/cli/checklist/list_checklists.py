"""`rackwalk list`: the checklists, or the racks and circuits of a site."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.frame.options import add_place
from expert.cli.job.load_knowledge import load_all_checklists, load_rules
from expert.cli.job.which_site import named_site

DESCRIPTION = "Without --site: the checklists. With --site: its racks and circuits."
EXAMPLES = """\
  rackwalk list
  rackwalk list --site my-store.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("--site", type=Path, metavar="FILE", help="a site file")
    add_pack(parser)
    add_place(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the list."""
    if options.site is not None:
        return _site(options)
    found = load_all_checklists(options.rulebase, load_rules(options.rulebase))
    if options.json:
        keys = ("id", "title", "revision", "subject", "purpose", "made_for")
        print_json([{key: getattr(each, key) for key in keys} for each in found.values()])
        return 0
    for each in found.values():
        say(f"{each.id}: {each.title}, revision {each.revision}, for one {each.subject}")
        say(f"    {each.purpose}")
        if each.made_for:
            say(f"    made for: {each.made_for}")
        if each.needs.time:
            say(f"    time: {each.needs.time}")
    return 0


def _site(options: argparse.Namespace) -> int:
    site = named_site(options.site, load_rules(options.rulebase), options.jobs)
    if options.json:
        subjects = [
            {"id": each.id, "title": each.title, "kind": each.kind, **each.facts}
            for each in site.subjects.values()
        ]
        print_json({"site": site.name, "invented": site.invented, "subjects": subjects})
        return 0
    say(site.name)
    for each in site.subjects.values():
        if each.kind != "site":
            indent = "  " if each.kind == "rack" else "    "
            say(f"{indent}{each.id}: {each.title} ({', '.join(each.facts.values())})")
    return 0
