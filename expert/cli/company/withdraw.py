"""`rackwalk packs withdraw`: take a version back."""

from __future__ import annotations

import argparse

from expert.cli.company.publish import add_key, give_out
from expert.cli.company.server import add_server, given_out, open_server
from expert.cli.frame.common import say
from expert.cli.frame.options import add_who
from expert.errors import UsageError, nearest

DESCRIPTION = """\
From the next 'rackwalk sync' on a machine judges by the version that was in force before, or by the
rules of the program. Nothing is erased: jobs that were judged by it keep saying so."""
EXAMPLES = """\
  rackwalk packs withdraw 0.2.0 --why 'The fin rule fires on dirt.' --key office.pem"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("version", metavar="VERSION", help="as 'packs list' shows it")
    parser.add_argument("--why", required=True, metavar="WORDS", help="what is wrong with it")
    add_key(parser)
    add_who(parser, "who takes it back")
    add_server(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when it was taken back."""
    from expert.rollout.release import WITHDRAWN, versions

    with open_server(options.server) as store:
        listed = versions(given_out(store))
        known = [each.version for each in listed if not each.withdrawn]
        found = [each for each in listed if each.version == options.version]
        if not found or found[0].withdrawn:
            said = "was taken back already" if found else "was never given out"
            hint = nearest(options.version, known) or f"Given out: {', '.join(known) or 'none'}."
            raise UsageError(f"Version {options.version} {said}. {hint}")
        give_out(store, options, WITHDRAWN, "", release=found[0].release.id, why=options.why)
    say(f"Taken back: {found[0]}. {options.why}")
    return 0
