"""`rackwalk rules check`: is everything in a rulebase well formed?"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, print_json, say
from expert.cli.job.load_knowledge import load_rules_with_tests

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase

DESCRIPTION = """\
Names, units, sources, contradictions, circles: every problem of every file in one go, each with
its place, the line itself and the nearest name that exists. Of a company pack it also says what
the pack adds, which limits it judges by other numbers and which rules it switches off, and why."""
EXAMPLES = """\
  rackwalk rules check
  rackwalk rules check --rulebase my-pack"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("--rulebase", type=Path, metavar="FOLDER", help="another rulebase")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when all is well, 3 when something is wrong."""
    base = load_rules_with_tests(options.rulebase)
    counts = {
        "quantities": len(base.quantities), "limits": len(base.limits), "signs": len(base.signs),
        "causes": len(base.causes), "rules": len(base.rules), "cautions": len(base.cautions),
        "gates": len(base.gates),
    }  # fmt: skip
    changes = _changes(base, options.rulebase)
    renewals = _renewals(options.rulebase)
    if options.json:
        more = {"changes": changes, "renewals": renewals}
        beside = {name: lines for name, lines in more.items() if lines}
        print_json({"rulebase": str(base.info), **counts, **beside})
        return 0
    say(f"{base.info}: no problem found.")
    say(", ".join(f"{count} {name}" for name, count in counts.items()) + ".")
    for line in (*changes, *renewals):
        say(line)
    return 0


def _renewals(folder: Path | None) -> list[str]:
    """Keys of a folder that are called otherwise now."""
    from expert.knowledge.old_keys import old_key_lines
    from expert.places import shipped

    return list(old_key_lines(sorted((folder or shipped("rulebase")).rglob("*.yaml"))))


def _changes(base: Rulebase, folder: Path | None) -> list[str]:
    """What a company pack changes in the pack below it, in words."""
    if folder is None or base.info.over is None:
        return []
    from expert.author.comparison.compare import pack_lines

    return list(pack_lines(base, folder))
