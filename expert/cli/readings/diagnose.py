"""`rackwalk diagnose`: findings from a file of readings, without a procedure."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import (
    add_json,
    add_rulebase,
    add_units,
    backend,
    print_json,
    say,
)
from expert.cli.job.load_knowledge import load_rules
from expert.errors import UsageError, nearest

DESCRIPTION = """\
The file is YAML: readings by name ('rackwalk quantities' lists the names), and what they were
taken on: refrigerant, application, defrost, altitude; or a site file and a subject.

  refrigerant: R-449A
  application: low temperature
  defrost: hot gas
  altitude: 5280 ft
  readings:
    defrost_differential: 8 psi
    hot_gas_valve: open"""
EXAMPLES = """\
  rackwalk diagnose readings.yaml
  rackwalk diagnose readings.yaml --json --units si
  rackwalk diagnose readings.yaml --cause defrost-differential-set-low"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument(
        "--cause", metavar="CAUSE", help="why this cause is found or not, and what would change it"
    )
    add_units(parser)
    add_rulebase(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print what follows from the readings."""
    from expert.inference.evaluate import Evaluator
    from expert.inference.show import evaluation_json, evaluation_lines
    from expert.inference.subject_file import read_subject_file

    base = load_rules(options.rulebase)
    given = read_subject_file(options.file, base, options.units)
    evaluator = Evaluator(
        base, given.subject, members=given.members, system=options.units, backend=backend(options)
    )
    if options.cause:
        if options.cause not in base.causes:
            hint = nearest(options.cause, base.causes)
            raise UsageError(f"There is no cause '{options.cause}'. {hint}".rstrip())
        from expert.inference.explain import explain, explanation_json, explanation_lines

        explanation = explain(evaluator, given.readings, options.cause, given.found)
        if options.json:
            print_json(explanation_json(explanation, options.units))
        else:
            for line in explanation_lines(explanation, evaluator):
                say(line)
        return 0
    evaluation = evaluator.evaluate(given.readings, given.found)
    if options.json:
        document = {"subject": given.subject.title, "rulebase": str(base.info)}
        print_json({**document, **evaluation_json(evaluation, base, options.units)})
    else:
        for line in evaluation_lines(evaluation, base, options.units):
            say(line)
    return 0
