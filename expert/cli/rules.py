"""`rackwalk rules`: the author's tools, one module each, found in one table."""

from __future__ import annotations

import argparse
from importlib import import_module

from expert.errors import UsageError, nearest

ACTIONS = {
    "check": "read every file and report all that is wrong, with file, line and column",
    "test": "run the tests beside the rules, and whole cases",
    "coverage": "what no test has tried, rule by rule and condition by condition",
    "analyse": "redundant, conflicting and unreachable rules, and gaps, each with a case to run",
    "explain": "why a cause is found or not in a file of readings, and what would change it",
    "try": "set readings line by line and see what they lead to",
    "new": "be asked, in trade words, for a new rule, and have it written",
    "format": "put files into one layout, comments kept",
    "schema": "JSON Schema of the files, for completion and checking in an editor",
    "handbook": "everything the rulebase knows, to read",
    "compare": "what changed between two rulebases, and who would be judged differently",
}
DESCRIPTION = "actions:\n" + "\n".join(f"  {name:<10}{text}" for name, text in ACTIONS.items())
EXAMPLES = """\
  rackwalk rules check
  rackwalk rules test --scenarios tests/scenarios --watch
  rackwalk rules coverage --help"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action, and all that follows it."""
    parser.usage = "rackwalk rules ACTION ...  ('rackwalk rules ACTION --help' explains each one)"
    parser.add_argument("action", nargs="?", metavar="ACTION", help=argparse.SUPPRESS)
    parser.add_argument("rest", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    """Run one action with its own options. Raises UsageError for one that is not there."""
    from expert.cli.main import EXIT_CODES, Parser

    name = options.action
    if name not in ACTIONS:
        hint = nearest(name or "", ACTIONS) or f"There are: {', '.join(ACTIONS)}."
        said = f"There is no 'rackwalk rules {name}'." if name else "'rackwalk rules' what?"
        raise UsageError(f"{said} {hint}")
    module = import_module(f"expert.cli.rules_{name}")
    parser = Parser(
        prog=f"rackwalk rules {name}",
        description=f"{ACTIONS[name]}.\n\n{module.DESCRIPTION}".strip(),
        epilog=f"examples:\n{module.EXAMPLES.rstrip()}\n\n{EXIT_CODES}",
    )
    module.add_arguments(parser)
    return int(module.run(parser.parse_args(options.rest)))
