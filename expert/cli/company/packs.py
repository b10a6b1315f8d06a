"""`rackwalk packs`: give a version of the company's pack out, take one back, look after keys."""

from __future__ import annotations

import argparse

from expert.cli.frame.parser import add_action, known_action, run_module

ACTIONS = {
    "publish": "check, sign and give out a version of the pack",
    "list": "every version that was given out, and which is in force here",
    "withdraw": "take a version back; the one before is in force again",
    "new-key": "make a key to sign with, and show its public half",
    "change-key": "put another key in the place of the one in use",
    "roles": "the statements that give a server its roles: technician, lead, office",
}
_MODULES = {
    "new-key": "signing_keys",
    "change-key": "signing_keys",
    "list": "list_packs",
    "roles": "server_roles",
}
DESCRIPTION = (
    "What is given out lies in the company's store; 'rackwalk sync' takes it to a machine.\n"
    "'rackwalk settings pack company' then judges by what is in force.\n\nactions:\n"
    + "\n".join(f"  {name:<11}{text}" for name, text in ACTIONS.items())
)
EXAMPLES = """\
  rackwalk packs new-key office.pem
  rackwalk packs publish our-store --key office.pem --begins 2026-12-01 --who 'R. Sample'
  rackwalk packs list"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action, and all that follows it."""
    parser.usage = "rackwalk packs ACTION ...  ('rackwalk packs ACTION --help' explains each one)"
    add_action(parser)


def run(options: argparse.Namespace) -> int:
    """Run one action with its own options. Raises UsageError for one that is not there."""
    name = known_action("packs", options.action, ACTIONS)
    module = f"company.{_MODULES.get(name, name)}"
    prog = f"rackwalk packs {name}"
    action = name if _MODULES.get(name) == "signing_keys" else None
    return run_module(prog, ACTIONS[name], module, options.rest, action=action)
