"""`rackwalk rules analyse`: what looks wrong in a rulebase, each with a case to run."""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.job.load_knowledge import load_rules_with_tests
from expert.errors import UsageError

if TYPE_CHECKING:
    from expert.author.analysis.conflicts import Remark

KINDS = ("unreachable", "redundant", "subsumed", "conflict", "gap", "influence")
DESCRIPTION = """\
unreachable  nothing that can be read makes the rule fire
redundant    two rules fire on the same conditions and say the same
subsumed     whenever one rule fires, another does too, and says the same
conflict     whenever one rule fires, another speaks against it
gap          a state of a limited quantity, outside normal, at which no rule looks

Bands, comparisons and choices are taken together as far as one quantity (or one sum) goes.
Each remark comes with a file for 'rackwalk diagnose' that shows it; the file was run. Not every
remark is a mistake: it is something to look at. What is left as it is on purpose is explained in a
file of the rulebase, and no longer told:

  analysis:
    - what: gap return_air low
      why: cold air coming back is no fault by itself"""
EXAMPLES = """\
  rackwalk rules analyse
  rackwalk rules analyse --strict
  rackwalk rules analyse --kind conflict --cases cases
  rackwalk diagnose cases/conflict-1.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    add_pack(parser)
    parser.add_argument(
        "--strict", action="store_true", help="exit code 3 for anything that is not explained"
    )
    parser.add_argument("--kind", choices=KINDS, help="only this kind")
    parser.add_argument(
        "--cases", type=Path, metavar="FOLDER", help="write each case to a file of this folder"
    )
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 3 where a rule can never fire or, asked for, where anything is not explained."""
    from expert.author.analysis.conflicts import analyse
    from expert.author.coverage.explained import waive

    base = load_rules_with_tests(options.rulebase)
    reasons = [each for each in base.explained if each.section == "analysis"]
    why = {each.what: each.why for each in reasons}
    left, waived, idle = waive(analyse(base), lambda each: each.id, why)
    remarks = [each for each in left if options.kind in (None, each.kind)]
    numbers: Counter[str] = Counter()
    names = []
    for each in remarks:
        numbers[each.kind] += 1
        names.append(f"{each.kind}-{numbers[each.kind]}.yaml" if each.witness else "")
    if options.cases:
        _write(options.cases, remarks, names)
    if options.json:
        print_json([_as_json(each) for each in remarks])
    else:
        _say(remarks, names, options.cases)
        for reason in reasons:
            if reason.what in idle:
                say(f"{reason.place}: '{reason.what}' explains nothing that is there; delete it")
        counted = ", ".join(f"{numbers[kind]} {kind}" for kind in KINDS if numbers[kind])
        say(counted or "Nothing stands out.")
        if waived:
            say(f"{len(waived)} more are explained in the rulebase.")
    return 3 if numbers["unreachable"] or (options.strict and (remarks or idle)) else 0


def _write(folder: Path, remarks: list[Remark], names: list[str]) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for each, name in zip(remarks, names, strict=True):
            if name:
                (folder / name).write_text(each.witness, encoding="utf-8")
    except OSError as error:
        raise UsageError(f"Cannot write to {folder}: {error.strerror}.") from None


def _say(remarks: list[Remark], names: list[str], folder: Path | None) -> None:
    for each, name in zip(remarks, names, strict=True):
        say(str(each))
        for place in each.others:
            say(f"    and {place}")
        if not name:
            say("    no case was found that shows it")
        elif folder:
            say(f"    case: {folder / name}")
        else:
            for line in each.witness.splitlines()[1:]:
                say(f"    | {line}")


def _as_json(remark: Remark) -> dict[str, object]:
    return {
        "kind": remark.kind,
        "name": remark.name,
        "what": remark.what,
        "place": str(remark.place),
        "others": [str(place) for place in remark.others],
        "case": remark.witness,
    }
