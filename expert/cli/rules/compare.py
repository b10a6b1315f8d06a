"""`rackwalk rules compare`: what changed between two rulebases, and who is judged differently."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, print_json, say
from expert.cli.job.job_columns import can_use_workers
from expert.cli.job.load_knowledge import load_checklists_of, load_rules_with_tests
from expert.errors import UsageError
from expert.knowledge.pack_files import checklist_folders
from expert.places import shipped

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.practice.tool_plays import ToolScore

SHIPPED = "shipped"
DESCRIPTION = """\
A and B are folders of rulebases or company packs; the word 'shipped' is the one that came with the
program. First what changed in knowledge, with old and new numbers. Then, where jobs or scenarios
are named, which of them would be judged differently: each is judged again by both, from what was
entered then. With --practice both play the exercises, and their scores stand side by side."""
EXAMPLES = """\
  rackwalk rules compare shipped my-pack
  rackwalk rules compare my-pack-1.0 my-pack --jobs
  rackwalk rules compare shipped my-pack --scenarios tests/scenarios --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("before", metavar="A")
    parser.add_argument("after", metavar="B")
    parser.add_argument(
        "--jobs", nargs="?", const="", metavar="FOLDER",
        help="recorded jobs too: those of a folder, or of the usual job file",
    )  # fmt: skip
    parser.add_argument(
        "--scenarios", type=Path, metavar="FOLDER", help="scenarios and files of readings too"
    )
    parser.add_argument(
        "--practice", action="store_true",
        help="the exercises of B too: what the tool comes to by A and by B (half a minute each)",
    )  # fmt: skip
    parser.add_argument(
        "--checklists",
        type=Path,
        metavar="FOLDER",
        help="checklists of the jobs (else those of A and B)",
    )
    parser.add_argument(
        "--workers", default="0", metavar="N|ADDRESS",
        help="processes for judging (default: one for few cases, else one a processor), or the "
        "address of a Dask scheduler whose workers judge the columns of jobs",
    )  # fmt: skip
    parser.add_argument("--units", choices=("us", "si", "both"), default="us")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, whether or not anything is different."""
    from expert.author.comparison.backtest import JudgedBy
    from expert.author.comparison.changed_knowledge import compare_rulebases, difference_lines
    from expert.cli.rules.judged_anew import JudgedAnew

    before, after = _folder(options.before), _folder(options.after)
    bases = load_rules_with_tests(before), load_rules_with_tests(after)
    differences = compare_rulebases(*bases, options.units)
    one, other = (
        JudgedBy(rules, partial(load_checklists_of, _checklists(options.checklists, folder)))
        for rules, folder in zip(bases, (before, after), strict=True)
    )
    anew = JudgedAnew(one, other, *_workers(options.workers))
    files = _files(options.scenarios) if options.scenarios is not None else []
    jobs = _place(options.jobs) if options.jobs is not None else None
    scores = _scores(bases, after) if options.practice else None
    if options.json:
        different = list(anew.different(jobs, files))
        print_json(
            {
                "before": str(bases[0].info),
                "after": str(bases[1].info),
                "knowledge": [
                    {"kind": d.kind, "id": d.id, "what": d.what, "title": d.title,
                     "changes": list(d.lines)}
                    for d in differences
                ],
                "judged": anew.count,
                "judged_differently": [
                    {"case": each.name, "changes": list(each.lines)} for each in different
                ],
                **({"practice": [one.document(str(rules.info))
                                 for one, rules in zip(scores, bases, strict=True)]}
                   if scores else {}),
            }
        )  # fmt: skip
        return 0
    say(f"from {bases[0].info}")
    say(f"to   {bases[1].info}")
    say()
    for line in difference_lines(differences):
        say(line)
    if not differences:
        say("Nothing changed in what they know.")
    if scores:
        say()
        for was, now in zip(*(one.lines() for one in scores), strict=True):
            say(now if was == now else f"{now}; was {was.partition(': ')[2]}")
    if jobs is not None or files:
        say()
        for each in anew.different(jobs, files):
            say(each.name)
            for line in each.lines:
                say(f"    {line}")
        for line in anew.lines():
            say(line)
    return 0


def _scores(bases: tuple[Rulebase, Rulebase], after: Path) -> tuple[ToolScore, ToolScore]:
    """What both rulebases come to over the exercises of the second."""
    from expert.cli.practice.play_all import score_of
    from expert.practice.read_setting import load_practice

    setting = load_practice(after, bases[1])
    before, now = (score_of(rules, setting) for rules in bases)
    return before, now


def _workers(given: str) -> tuple[int, str]:
    """The number of processes, or the address of a scheduler."""
    if given.isdecimal():
        return int(given), ""
    if "://" not in given:
        raise UsageError("--workers is a number, or an address like tcp://host:8786.")
    if not can_use_workers():
        raise UsageError("Workers need Dask: pip install 'rackwalk[workers]'")
    return 0, given


def _folder(name: str) -> Path:
    return shipped("rulebase") if name == SHIPPED else Path(name)


def _checklists(given: Path | None, pack: Path) -> tuple[Path, ...]:
    return (given,) if given else checklist_folders(pack)


def _files(folder: Path) -> list[Path]:
    files = sorted(folder.rglob("*.yaml"))
    if not files:
        raise UsageError(f"There are no scenarios in '{folder}'.")
    return files


def _place(named: str) -> Path | str:
    from expert.store.paths import job_place, there_are_jobs

    place = job_place(named or None)
    if not there_are_jobs(place):
        raise UsageError(f"There is no job file {place}.")
    return place
