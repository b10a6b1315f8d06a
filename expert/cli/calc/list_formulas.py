"""`rackwalk calc list`: every formula of the catalogue."""

from __future__ import annotations

import argparse

from expert.cli.calc.results import option, shown_example
from expert.cli.frame.common import say
from expert.physics.frame.catalog import CATALOG

DESCRIPTION = "'rackwalk calc FORMULA --help' tells more of each."
EXAMPLES = shown_example


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """No options."""


def run(options: argparse.Namespace) -> int:
    """Name, title and options of each."""
    for formula in CATALOG.values():
        needs = "REFRIGERANT " if formula.needs_refrigerant else ""
        say(f"{formula.name}: {formula.title}")
        say(f"    {needs}{' '.join(map(option, formula.inputs))}")
    return 0
