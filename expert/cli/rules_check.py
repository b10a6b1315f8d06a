"""`rackwalk rules check`: is everything in a rulebase well formed?"""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.common import add_json, print_json, rulebase, say

DESCRIPTION = """\
Names, units, sources, contradictions, circles: every problem of every file in one go, each with
its place, the line itself and the nearest name that exists."""
EXAMPLES = """\
  rackwalk rules check
  rackwalk rules check --rulebase my-rules"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("--rulebase", type=Path, metavar="FOLDER", help="another rulebase")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when all is well, 3 when something is wrong."""
    base = rulebase(options.rulebase)
    counts = {
        "quantities": len(base.quantities), "limits": len(base.limits), "signs": len(base.signs),
        "causes": len(base.causes), "rules": len(base.rules), "cautions": len(base.cautions),
        "gates": len(base.gates),
    }  # fmt: skip
    if options.json:
        print_json({"rulebase": str(base.info), **counts})
    else:
        say(f"{base.info}: no problem found.")
        say(", ".join(f"{count} {name}" for name, count in counts.items()) + ".")
    return 0
