"""`rackwalk jobs schema`: JSON Schema of an exported line."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import print_json

DESCRIPTION = "JSON Schema (2020-12) of one line that 'rackwalk jobs export' writes."
EXAMPLES = """\
  rackwalk jobs schema"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """No options."""


def run(options: argparse.Namespace) -> int:
    """Exit code 0."""
    from expert.store.exchange import schema

    print_json(schema())
    return 0
