"""`rackwalk packs list`: what was given out, and what is in force here."""

from __future__ import annotations

import argparse

from expert.cli.company.server import (
    add_server,
    crews_of,
    given_out,
    open_server,
    today,
    trusted_keys,
)
from expert.cli.frame.common import add_json, print_json, say

DESCRIPTION = """\
As the company's store has it, checked by the keys that this machine trusts."""
EXAMPLES = """\
  rackwalk packs list
  rackwalk packs list --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    add_json(parser)
    add_server(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 3 where something is not signed by a trusted key."""
    from expert.rollout.release import in_force, verified, versions

    with open_server(options.server) as store:
        releases = given_out(store)
    verified(releases, trusted_keys())
    listed = versions(releases)
    now = in_force(listed, today(), crews_of())
    if options.json:
        print_json([
            {"name": each.name, "version": each.version, "begins": str(each.begins),
             "crews": list(each.crews), "over": list(each.over), "by": each.release.text("by"),
             "given_out": each.release.text("at"), "withdrawn": each.withdrawn or None,
             "in_force_here": each is now, "release": each.release.id}
            for each in listed
        ])  # fmt: skip
        return 0
    for each in listed:
        whom = f", first for {', '.join(each.crews)}" if each.crews else ""
        by, at = each.release.text("by"), each.release.text("at")[:10]
        below = f" with {' and '.join(each.over)}" if each.over else ""
        say(f"{each}{below}: from {each.begins}{whom}; given out {at} by {by}")
        if each.withdrawn:
            say(f"    taken back: {each.withdrawn}")
        elif each is now:
            say("    in force here")
    if not listed:
        say("Nothing was given out yet.")
    return 0
