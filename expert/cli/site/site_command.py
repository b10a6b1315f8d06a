"""`rackwalk site`: a store of one's own, without a site file being written by hand."""

from __future__ import annotations

import argparse

from expert.cli.frame.parser import add_action, known_action, run_module

ACTIONS = {  # each with what it is for
    "new": "begin a store: it is asked for, at the depth one has time for",
    "add": "a rack or circuit more, or all of a legend kept in a spreadsheet",
    "set": "put a value to the store, a rack or a circuit",
    "show": "racks, circuits, and what is not known yet",
    "check": "what is wrong with a store or a site file",
    "learn": "keep what a job found set or has set",
    "keep": "take a site file in, or write one out",
}
_MODULES = {"new": "new_site", "show": "show_site", "check": "check_site"}
DESCRIPTION = """\
Stores are kept with the jobs, each change with who, when and why; with a server of the company
everybody has them. A store is named by its name wherever --site is asked; a site file will do too.

actions:
""" + "\n".join(f"  {name:<7}{text}" for name, text in ACTIONS.items())
EXAMPLES = """\
  rackwalk site new
  rackwalk site new --legend legend.csv
  rackwalk site show"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    add_action(parser)


def run(options: argparse.Namespace) -> int:
    """The exit code of the action."""
    name = known_action("site", options.action, ACTIONS)
    module = f"site.{_MODULES.get(name, name)}"
    return run_module(f"rackwalk site {name}", ACTIONS[name], module, options.rest)
