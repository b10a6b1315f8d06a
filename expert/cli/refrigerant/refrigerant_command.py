"""`rackwalk refrigerant`: the refrigerant log, one module an action, found in one table."""

from __future__ import annotations

import argparse

from expert.cli.frame.parser import add_action, known_action, run_module

ACTIONS = {
    "add": "write an addition into the log",
    "recover": "write a recovery into the log",
    "charge": "write a full charge that was determined again into the log",
    "correct": "correct an entry of the log; what was written before is kept",
    "log": "every amount with the leak rate then and what followed",
    "due": "repairs, verifications, inspections and reports that are due",
}
_MODULES = {
    **dict.fromkeys(("add", "recover", "charge", "correct"), "entry"),
    "log": "show_log",
    "due": "list_duties",
}
DESCRIPTION = (
    "Amounts come from the jobs and from entries written here; nothing is ever erased.\n"
    "The regulation in force and local rules decide.\n\nactions:\n"
    + "\n".join(f"  {name:<10}{text}" for name, text in ACTIONS.items())
)
EXAMPLES = """\
  rackwalk refrigerant add --help
  rackwalk refrigerant log --site my-store.yaml
  rackwalk refrigerant due --site my-store.yaml --until 2026-12-31"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action, and all that follows it."""
    parser.usage = (
        "rackwalk refrigerant ACTION ...  ('rackwalk refrigerant ACTION --help' explains each one)"
    )
    add_action(parser)


def run(options: argparse.Namespace) -> int:
    """Run one action with its own options. Raises UsageError for one that is not there."""
    name = known_action("refrigerant", options.action, ACTIONS)
    module = f"refrigerant.{_MODULES[name]}"
    prog = f"rackwalk refrigerant {name}"
    return run_module(prog, ACTIONS[name], module, options.rest, action=name)
