"""`rackwalk run`: a checklist on a circuit or rack, with a person or from a file of answers."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_rulebase, add_units
from expert.cli.frame.options import add_place, add_site, add_walking, add_who

DESCRIPTION = """\
Asks step after step; every answer is on disk before the next question. Ctrl-D, q, a second
Ctrl-C or a closed terminal stops, and 'rackwalk resume' goes on at the same step.
With --answers nothing is asked: the first answer that is missing or refused ends the command
with exit code 4, and what was entered is kept.
CHECKLIST is a name of 'rackwalk list', or the path of a checklist file."""
EXAMPLES = """\
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4 --depth brief
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4 --plain --units si
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4 --answers a4.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("checklist", metavar="CHECKLIST")
    add_site(parser)
    parser.add_argument(
        "--from", dest="begun_from", metavar="JOB",
        help="go on with this job: its site, and its readings as answers that Enter confirms",
    )  # fmt: skip
    parser.add_argument("--subject", metavar="ID", help="circuit or rack of the site file")
    parser.add_argument("--answers", type=Path, metavar="FILE", help="answers instead of a person")
    add_who(parser)
    add_walking(parser)
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when finished, 4 when a file's answer is refused, 5 when stopped."""
    from expert.cli.job.begin import begin

    return begin(options)
