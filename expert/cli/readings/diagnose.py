"""`rackwalk diagnose`: findings from a file of readings, or a search that the findings lead."""

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
from expert.cli.frame.options import add_place, add_site, add_walking, add_who
from expert.cli.frame.settings import FromSettings
from expert.cli.job.load_knowledge import load_all_checklists, load_rules
from expert.cli.readings.kinds_of_plant import KINDS, OF_KIND
from expert.errors import UsageError
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.synonyms import called, meant

DESCRIPTION = """\
Without FILE a search begins: from the complaint in plain words, always
to the reading that tells the most for its effort, to the checklist that proves the cause. It is a
job like any other: kept answer by answer, resumed with 'rackwalk resume', reported.

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
  rackwalk diagnose --site my-store.yaml --subject A4
  rackwalk diagnose --on rack --refrigerant R-449A --application 'low temperature'
  rackwalk diagnose --on 'single unit' --condenser water --receiver no --cools liquid
  rackwalk diagnose readings.yaml
  rackwalk diagnose readings.yaml --json --units si
  rackwalk diagnose readings.yaml --cause defrost-differential-set-low"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("file", type=Path, nargs="?", metavar="FILE")
    parser.add_argument(
        "--cause", metavar="CAUSE", help="why this cause is found or not, and what would change it"
    )
    add_units(parser)
    add_rulebase(parser)
    add_json(parser)
    search = parser.add_argument_group("of a search, without FILE")
    add_site(search)
    search.add_argument("--subject", metavar="ID", help="circuit or rack of the site file")
    search.add_argument(
        "--answers", type=Path, metavar="FILE", help="answers instead of a person"
    )  # fmt: skip
    plant = parser.add_argument_group("of a search without a site file; to a person they are asked")
    plant.add_argument("--on", choices=KINDS, help="what it is about")
    for name in ("refrigerant", "application", "defrost", "altitude"):
        plant.add_argument(f"--{name}", metavar=name.upper())
    plant.add_argument("--condenser", metavar="KIND", help="air cooled, water cooled, ...")
    plant.add_argument("--receiver", metavar="YES", help="yes, or no where none is fitted")
    plant.add_argument("--cools", metavar="WHAT", help="cases and cold rooms, room air, or liquid")
    plant.add_argument(
        "--jurisdiction", metavar="LAW", default=FromSettings("jurisdiction"),
        help="United States or European Union; kept with 'rackwalk settings jurisdiction LAW'",
    )  # fmt: skip
    add_who(parser)
    add_walking(parser)
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Print what follows from the readings; without them, search."""
    if options.file is None:
        return _search(options)
    from expert.inference.evaluate import Evaluator
    from expert.inference.show import evaluation_json, evaluation_lines
    from expert.inference.subject_file import read_subject_file

    base = load_rules(options.rulebase)
    given = read_subject_file(options.file, base, options.units)
    evaluator = Evaluator(
        base, given.subject, members=given.members, system=options.units, backend=backend(options)
    )
    if options.cause:
        known = called(options.cause, base.causes.values())
        if len(known) != 1:
            hint = meant(options.cause, base.causes)
            raise UsageError(f"There is no cause '{options.cause}'. {hint}".rstrip())
        from expert.inference.explain import explain, explanation_json, explanation_lines

        explanation = explain(evaluator, given.readings, known[0].id, given.found)
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


def _search(options: argparse.Namespace) -> int:
    """A job of the checklist that searches; the plant is asked where no site file tells it."""
    from expert.cli.job.begin import begin
    from expert.cli.readings.ask_plant import ask_plant
    from expert.terminal.choose import open_front

    if options.json or options.cause:
        raise UsageError("--json and --cause need a file of readings: rackwalk diagnose FILE.")
    known = load_all_checklists(options.rulebase, load_rules(options.rulebase))
    checklist = next(each for each in known.values() if each.searches)
    options.checklist = checklist.id
    plant = ("on", "refrigerant", "application", "defrost", *OF_KIND)
    told = any(getattr(options, name) for name in plant)
    if options.site is not None and not (told and "site" in options.standing):
        return begin(options)
    front = open_front(options.plain or options.answers is not None)
    asking = options.answers is None and front.interactive
    asks = checklist.step(COMPLAINT)
    call = ask_plant(options, front, asking=asking, say=asks.say if asks else "")
    options.subject = next(each for each in ("C", "R") if each in call.site.subjects)
    return begin(options, call.site, {COMPLAINT: call.complaint} if call.complaint else {})
