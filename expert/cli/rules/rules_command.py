"""`rackwalk rules`: the author's tools, one module each, found in one table."""

from __future__ import annotations

import argparse

from expert.cli.frame.parser import add_action, known_action, run_module

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
    "case": "the readings of a job with what it turned out to be, as a case without names",
    "compare": "what changed between two rulebases, and who would be judged differently",
}
_MODULES = {
    "check": "check_rules",
    "test": "run_tests",
    "explain": "explain_cause",
    "try": "try_readings",
    "new": "new_rule",
    "schema": "editor_schemas",
    "handbook": "print_handbook",
}
DESCRIPTION = "actions:\n" + "\n".join(f"  {name:<10}{text}" for name, text in ACTIONS.items())
EXAMPLES = """\
  rackwalk rules check
  rackwalk rules test --scenarios tests/scenarios --watch
  rackwalk rules coverage --help"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action, and all that follows it."""
    parser.usage = "rackwalk rules ACTION ...  ('rackwalk rules ACTION --help' explains each one)"
    add_action(parser)


def run(options: argparse.Namespace) -> int:
    """Run one action with its own options. Raises UsageError for one that is not there."""
    name = known_action("rules", options.action, ACTIONS)
    module = f"rules.{_MODULES.get(name, name)}"
    return run_module(f"rackwalk rules {name}", ACTIONS[name], module, options.rest)
