"""`rackwalk calc`: what a technician takes from a chart or a pocket calculator.

Each calculation has a parser of its own and is imported when it is asked for: the grammar of
the rules is not read to subtract two temperatures.
"""

from __future__ import annotations

import argparse

from expert.cli.frame.parser import add_action, known_action, run_module

TABLES = {  # each with its module and what it is for
    "list": ("list_formulas", "all formulas and their inputs"),
    "saturation": ("dew_and_bubble", "dew and bubble at a temperature or pressure"),
    "refrigerants": ("charts", "safety class, warming potential, glide ..."),
    "chart": ("charts", "a pressure-temperature chart, text or SVG"),
    "suction-group": (
        "suction_set_point",
        "set point of a rack over all its circuits, by both routes",
    ),
    "non-condensables": ("verdicts", "standing pressure of an idle, equalised condenser"),
    "standing-vacuum": ("verdicts", "what the rise after isolation says"),
    "cycle": ("cycle_and_defrost", "effect, work, performance, discharge temperature"),
    "defrost-energy": ("cycle_and_defrost", "hot gas, electric, off cycle side by side"),
    "leak-rate": ("leak_rate", "leak rate by both methods, triggers, chronic leakers, clocks"),
    "leak-checks": ("leak_checks", "how often to check for leaks in the European Union"),
}
DESCRIPTION = (
    "Every formula takes its inputs as options; 'rackwalk calc list' names them all and\n"
    "'rackwalk calc FORMULA --help' its inputs, each with the unit of a bare number. Pressures\n"
    "are gauge unless typed as psia or bara; a share needs its sign (40%). Readings count as good\n"
    "as those of an ordinary instrument; --pressure-accuracy 0.5psi and the like say otherwise.\n\n"
    "tables and verdicts:\n"
) + "\n".join(f"  {name:<18}{says}" for name, (_, says) in TABLES.items())
EXAMPLES = """\
  rackwalk calc list
  rackwalk calc saturation R-449A --temperature -20F
  rackwalk calc saturation R-448A --pressure 215psig --altitude 5280ft --json
  rackwalk calc superheat R-449A --pressure 12psig --line-temperature 2F
  rackwalk calc subcooling R-407A --pressure 250psig --line-temperature 95F --units si
  rackwalk calc chart R-449A --from -40F --to 120F --altitude 5280ft"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The calculation, and all that follows it."""
    parser.usage = "rackwalk calc FORMULA ...  ('rackwalk calc FORMULA --help' explains each one)"
    add_action(parser)


def run(options: argparse.Namespace) -> int:
    """Run one calculation with its own options. Raises UsageError for one that is not there."""
    name = (options.action or "").replace("_", "-")  # both are typed
    if name in TABLES:
        module, says = TABLES[name]
    else:
        name = name.replace("-", "_")
        module, says = "any_formula", _title(name)
    return run_module(f"rackwalk calc {name}", says, f"calc.{module}", options.rest, action=name)


def _title(name: str) -> str:
    from expert.physics.frame.catalog import CATALOG

    if name not in CATALOG:
        known_action("calc", name, dict.fromkeys((*TABLES, *CATALOG), ""))
    return f"The {CATALOG[name].title}"
