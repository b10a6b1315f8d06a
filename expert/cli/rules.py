"""`rackwalk rules`: check a rulebase and run the tests written beside its rules."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.common import add_json, backend, print_json, rulebase, say

DESCRIPTION = """\
check   reads every file and reports all that is wrong, with file, line and column
test    runs the tests that stand beside the rules"""
EXAMPLES = """\
  rackwalk rules check
  rackwalk rules check --rulebase my-rules
  rackwalk rules test"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("action", choices=("check", "test"))
    parser.add_argument("--rulebase", type=Path, metavar="FOLDER", help="another rulebase")
    parser.add_argument("--engine", choices=("auto", "durable", "plain"), default="auto")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when all is well, 3 when the rulebase is wrong or a test fails."""
    from expert.inference.rule_tests import run_rule_tests

    base = rulebase(options.rulebase)
    counts = {
        "quantities": len(base.quantities), "limits": len(base.limits), "signs": len(base.signs),
        "causes": len(base.causes), "rules": len(base.rules), "cautions": len(base.cautions),
    }  # fmt: skip
    if options.action == "check":
        if options.json:
            print_json({"rulebase": str(base.info), **counts})
        else:
            say(f"{base.info}: no problem found.")
            say(", ".join(f"{count} {name}" for name, count in counts.items()) + ".")
        return 0
    outcomes = run_rule_tests(base, backend(options))
    failed = [outcome for outcome in outcomes if not outcome.passed]
    if options.json:
        print_json(
            {"passed": len(outcomes) - len(failed), "failed": [str(each) for each in failed]}
        )
    else:
        for outcome in failed:
            say(str(outcome))
        say(f"{len(outcomes) - len(failed)} passed, {len(failed)} failed")
    return 3 if failed else 0
