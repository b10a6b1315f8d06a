"""`rackwalk checklists`: hold checklists against the rules without running them."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.frame.parser import known_action
from expert.cli.job.load_knowledge import load_all_checklists, load_checklist_file, load_rules
from expert.errors import PackError, Problem

if TYPE_CHECKING:
    from expert.procedure.checklist import Checklist

ACTIONS = {"check": "read checklists and report all that is wrong, with file, line and column"}
DESCRIPTION = """\
actions:
  check     read checklists and report all that is wrong, with file, line and column

Without FILE: those of the pack ('checklists/' in its folder) and those that came with the program,
with the steps that the pack adds and leaves out. Nothing is asked and no job is begun. What is
refused when a job begins is refused here, in the same words."""
EXAMPLES = """\
  rackwalk checklists check
  rackwalk checklists check our-store/checklists/roof-round.yaml --rulebase our-store"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("action", metavar="ACTION", help="check")
    parser.add_argument("file", nargs="*", type=Path, metavar="FILE", help="only these")
    add_pack(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 where all is well, 3 where something is wrong."""
    known_action("checklists", options.action, ACTIONS)
    rules = load_rules(options.rulebase)
    found: list[Checklist] = []
    problems: dict[Problem, None] = {}
    if options.file:
        from expert.knowledge.pack_files import checklist_folders

        folders = checklist_folders(options.rulebase)
        for path in options.file:
            try:
                found.append(load_checklist_file(path, rules, folders))
            except PackError as error:
                problems.update(dict.fromkeys(error.problems))
    else:
        found += load_all_checklists(options.rulebase, rules).values()
    if problems:
        raise PackError(list(problems))
    if options.json:
        keys = ("id", "title", "revision", "hash")
        print_json([{key: getattr(each, key) for key in keys} for each in found])
        return 0
    for each in found:
        steps = sum(len(phase.steps) for phase in each.phases)
        say(f"{each.id}: revision {each.revision}, {steps} steps: no problem found.")
    return 0
