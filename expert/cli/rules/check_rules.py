"""`rackwalk rules check`: is everything in a rulebase well formed?"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.job.load_knowledge import load_rules_with_tests
from expert.knowledge.pack_files import practice_files

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase

DESCRIPTION = """\
Names, units, sources, contradictions, circles: every problem of every file in one go, each with
its place, the line itself and the nearest name that exists. Of a company pack it says first what
touches safety (gates, hazards, published limits), then what the pack adds, which limits it judges
by other numbers and which rules it switches off, and why. Checklists are held against it too: those
of FOLDER, else the ones that came with the program where the pack lies over its rules; and the
exercises in its folder practice/."""
EXAMPLES = """\
  rackwalk rules check
  rackwalk rules check --rulebase my-pack
  rackwalk rules check --rulebase my-pack --checklists my-checklists"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    add_pack(parser)
    parser.add_argument(
        "--checklists", type=Path, metavar="FOLDER", help="hold these checklists against it"
    )
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when all is well, 3 when something is wrong."""
    base = load_rules_with_tests(options.rulebase)
    counts = {
        "quantities": len(base.quantities), "limits": len(base.limits), "signs": len(base.signs),
        "causes": len(base.causes), "rules": len(base.rules), "cautions": len(base.cautions),
        "gates": len(base.gates),
    }  # fmt: skip
    if options.rulebase is not None:
        from expert.report.plain_words import check_plain

        check_plain(options.rulebase, base)
    safety, changes = _changes(base, options.rulebase)
    renewals = _renewals(options.rulebase)
    if folders := _checklists(base, options):
        from expert.procedure.load_checklists import load_checklists

        counts["checklists"] = len(load_checklists(folders, base))
    if practice_files(options.rulebase):
        from expert.practice.read_setting import load_practice

        counts["exercises"] = len(load_practice(options.rulebase, base).exercises)
    if options.json:
        more = {"safety": safety, "changes": changes, "renewals": renewals}
        beside = {name: lines for name, lines in more.items() if lines}
        print_json({"rulebase": str(base.info), **counts, **beside})
        return 0
    if safety:
        say("SAFETY: this pack changes what keeps people and plant safe. Look at each line:")
        for line in safety:
            say(f"! {line}")
        say("")
    say(f"{base.info}: no problem found.")
    say(", ".join(f"{count} {name}" for name, count in counts.items()) + ".")
    for line in (*changes, *renewals):
        say(line)
    return 0


def _renewals(folder: Path | None) -> list[str]:
    """Keys of a folder that are called otherwise now."""
    from expert.knowledge.old_keys import old_key_lines
    from expert.knowledge.pack_files import pack_files
    from expert.places import shipped

    return list(old_key_lines(pack_files(folder or shipped("rulebase"))))


def _changes(base: Rulebase, folder: Path | None) -> tuple[list[str], list[str]]:
    """What a company pack changes in the pack below it, in words: what touches safety, and all."""
    if folder is None or base.info.over is None:
        return [], []
    from expert.author.comparison.changed_knowledge import pack_lines
    from expert.author.comparison.safety import safety_lines

    return list(safety_lines(base, folder)), list(pack_lines(base, folder))


def _checklists(base: Rulebase, options: argparse.Namespace) -> tuple[Path, ...]:
    """The folders of checklists that are held against a rulebase."""
    from expert.knowledge.pack_files import checklist_folders
    from expert.knowledge.pack_model import SHIPPED

    if options.checklists is not None:
        return (options.checklists,)
    return checklist_folders(options.rulebase) if base.lowest.name == SHIPPED else ()
