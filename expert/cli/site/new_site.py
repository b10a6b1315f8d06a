"""`rackwalk site new`: a store is asked for, as deep as one has time for."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import say
from expert.cli.job.load_knowledge import load_rules
from expert.cli.site.which import add_usual, folder_of

DEPTHS = ("racks", "settings", "all")
DESCRIPTION = """\
Asks for the store, by whose law it is kept, its racks and its circuits. Every answer is kept at
once: after 'stop', Ctrl-C or a dead battery the same command goes on there. What is not known now
is left with Enter; 'rackwalk site show' tells what is missing, and jobs bring much of it.

--depth racks asks for racks and circuits only (five minutes), settings for the usual settings and
design values too, all for every value that a judgement may use. --legend takes the circuits from
a CSV file; what its columns are is asked once."""
EXAMPLES = """\
  rackwalk site new
  rackwalk site new --depth settings
  rackwalk site new --legend legend.csv"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument(
        "--depth", choices=DEPTHS, default=DEPTHS[0], help="how much is asked (default: racks)"
    )
    add_legend(parser)
    add_usual(parser)


def add_legend(parser: argparse.ArgumentParser) -> None:
    """`--legend`, `--column`, `--rack`, `--yes`."""
    parser.add_argument("--legend", type=Path, metavar="FILE.csv", help="circuits from a legend")
    parser.add_argument(
        "--column", action="append", default=[], metavar="COLUMN=WHAT",
        help="what a column of the legend is: circuit, case, drip time setting, nothing ...",
    )  # fmt: skip
    parser.add_argument("--yes", action="store_true", help="take the columns as understood")


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when the store is kept, 5 when stopped."""
    from expert.cli.job.ask_site import asked, keep_data, told_kept
    from expert.cli.job.remember import usual_law
    from expert.cli.job.which_site import kept_in
    from expert.cli.site.take_legend import take_legend
    from expert.sites.ask_store import DEPTHS as IN_WORDS
    from expert.sites.ask_store import Terms, new_store, store_head
    from expert.sites.legend_table import read_sheet
    from expert.terminal.choose import open_front

    rules, folder = load_rules(options.rulebase), folder_of(options.jobs)
    front, there = open_front(), tuple(kept_in(options.jobs))
    why, law = "asked", usual_law()
    if options.legend is None:
        depth = IN_WORDS[DEPTHS.index(options.depth)]
        terms = Terms(rules, options.units, depth, there, law)
        data = asked(front, lambda: new_store(terms), folder, "store", terms)
    else:
        read_sheet(options.legend)  # what cannot be read is told before anything is asked
        terms = Terms(rules, options.units, stores=there, law=law)
        data = asked(front, lambda: store_head(terms), folder, "store-of-legend", terms)
        data = take_legend(options, front, rules, data, folder)
        why = f"legend {options.legend.name}"
    made, site = keep_data(data, rules, options.jobs, options.who, why)
    say(told_kept(made, site))
    say("What is not known yet: rackwalk site show. A first job: rackwalk run CHECKLIST")
    return 0
