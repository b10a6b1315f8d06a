"""`rackwalk refrigerant`: the refrigerant log, one module an action, found in one table."""

from __future__ import annotations

import argparse
from importlib import import_module

from expert.errors import UsageError, nearest

ACTIONS = {
    "add": "write an addition into the log",
    "recover": "write a recovery into the log",
    "charge": "write a full charge that was determined anew into the log",
    "correct": "correct an entry of the log; what was written before is kept",
    "log": "every amount with the leak rate then and what followed",
    "due": "repairs, verifications, inspections and reports that are due",
}
_MODULES = {"add": "entry", "recover": "entry", "charge": "entry", "correct": "entry"}
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
    parser.add_argument("action", nargs="?", metavar="ACTION", help=argparse.SUPPRESS)
    parser.add_argument("rest", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    """Run one action with its own options. Raises UsageError for one that is not there."""
    from expert.cli.main import EXIT_CODES, Parser

    name = options.action
    if name not in ACTIONS:
        hint = nearest(name or "", ACTIONS) or f"There are: {', '.join(ACTIONS)}."
        said = f"There is no 'rackwalk refrigerant {name}'." if name else "Do what?"
        raise UsageError(f"{said} {hint}")
    module = import_module(f"expert.cli.refrigerant_{_MODULES.get(name, name)}")
    parser = Parser(
        prog=f"rackwalk refrigerant {name}",
        description=f"{ACTIONS[name]}.\n\n{module.DESCRIPTION}".strip(),
        epilog=f"examples:\n{module.EXAMPLES.rstrip()}\n\n{EXIT_CODES}",
    )
    module.add_arguments(parser, name)
    return int(module.run(parser.parse_args(options.rest)))
