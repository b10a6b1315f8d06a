"""`rackwalk rules explain`: why a cause is found or not; the same as `diagnose --cause`."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_json, add_rulebase, add_units
from expert.cli.readings import diagnose

DESCRIPTION = """\
Every rule for and against the cause, nearest first, each condition with the value it met; then
the smallest changes of one reading that would turn the result."""
EXAMPLES = """\
  rackwalk rules explain readings.yaml defrost-differential-set-low
  rackwalk rules explain readings.yaml flash-gas --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("file", type=Path, metavar="FILE", help="readings, as for 'diagnose'")
    parser.add_argument("cause", metavar="CAUSE", help="id of a cause")
    add_units(parser)
    add_rulebase(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the explanation."""
    return diagnose.run(options)
