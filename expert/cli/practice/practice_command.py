"""`rackwalk practice`: find a fault on a plant that is not real, and look back on it."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_json, add_rulebase, add_units
from expert.cli.frame.options import add_place, add_who

SEVERITIES = ("slight", "middle", "gross", "any")
WEATHERS = ("hot", "mild", "cold")
DESCRIPTION = """\
A plant of the model has something wrong with it, and the store calls. Read what you like, in any
order; each reading costs the time it takes and the way there. What you turn, open, clean, shut or
charge changes the plant, and it answers. A dangerous action stops the exercise and says why. At
the end: what it was, what showed it, when it could be known, what it cost.

Without EXERCISE a plant is drawn; its seed is said and names it. Exercises are kept apart from
jobs: they are in no report, no log and no audit."""
EXAMPLES = """\
  rackwalk practice
  rackwalk practice --list
  rackwalk practice fan-of-the-case-stands
  rackwalk practice --seed 7 --kind condenser --severity slight --weather hot
  rackwalk practice --resume"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("exercise", nargs="?", metavar="EXERCISE")
    parser.add_argument("--list", action="store_true", help="the exercises there are")
    parser.add_argument(
        "--checklist", nargs="?", const="", metavar="NAME",
        help="led by a checklist, the plant answering (default: the one of the exercise)",
    )  # fmt: skip
    drawn = parser.add_argument_group("of a plant that is drawn")
    drawn.add_argument("--seed", type=int, metavar="N", help="which one (default: a new one)")
    drawn.add_argument(
        "--kind", default="", metavar="KIND",
        help="'low temperature', 'medium temperature', or a part of the plant: 'condenser'",
    )  # fmt: skip
    drawn.add_argument("--severity", choices=SEVERITIES, default="any")
    drawn.add_argument("--weather", choices=WEATHERS, default="")
    drawn.add_argument("--faults", type=int, choices=(1, 2), default=1, help="how many at once")
    kept = parser.add_argument_group("of what was begun")
    kept.add_argument(
        "--resume", nargs="?", const="", metavar="ID", help="go on with one (default: the last)"
    )
    kept.add_argument("--review", metavar="ID", help="look back on one again")
    scores = parser.add_argument_group("of scores, which only you see")
    scores.add_argument("--scores", action="store_true", help="your own, from this machine")
    scores.add_argument(
        "--share", type=Path, metavar="FILE", help="write them to a file for your lead"
    )
    scores.add_argument(
        "--crew", type=Path, nargs="+", metavar="FILE", help="files that people handed over"
    )
    tool = parser.add_argument_group("of the tool itself")
    tool.add_argument(
        "--all", action="store_true",
        help="the tool plays all exercises, reading what it would read next; its score",
    )  # fmt: skip
    tool.add_argument(
        "--count", type=int, default=0, metavar="N", help="with --all: N drawn plants instead"
    )
    add_who(parser, "who practises")
    parser.add_argument(
        "--plain", action="store_true",
        help="line by line, nothing redrawn (by itself without a terminal; or RACKWALK_PLAIN=1)",
    )  # fmt: skip
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when the exercise is over, 5 when it was left."""
    if options.list:
        from expert.cli.practice.listed import list_exercises

        return list_exercises(options)
    if options.crew:
        from expert.cli.practice.show_scores import show_crew

        return show_crew(options)
    if options.scores or options.share is not None:
        from expert.cli.practice.show_scores import show_scores

        return show_scores(options)
    if options.all:
        from expert.cli.practice.play_all import play_all

        return play_all(options)
    from expert.cli.practice import walk

    if options.review is not None:
        return walk.review(options)
    if options.resume is not None:
        return walk.resume(options)
    return walk.begin(options)
