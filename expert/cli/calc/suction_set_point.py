"""`rackwalk calc suction-group`: one set point for all circuits of a rack, by both routes."""

from __future__ import annotations

import argparse

from expert.cli.calc.results import shown_example
from expert.cli.frame.common import add_json, add_pack, add_units, print_json, say
from expert.cli.frame.options import add_site
from expert.cli.job.load_knowledge import load_rules, load_site_file
from expert.errors import ReadingError, UsageError, nearest
from expert.inference.derive import context_of
from expert.inference.sentences import limit_text
from expert.inference.truth import limit_for
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site, Subject
from expert.physics.cycle.suction_group import (
    CircuitNeed,
    SuctionGroup,
    design_need,
    shortcut_need,
    suction_group,
)
from expert.units.kinds import Kind
from expert.units.measure import Measure, as_json, format_measure

# The site file's names for what each route needs.
DESIGN = ("design_discharge_air", "design_coil_temperature_difference", "design_line_drop")
SHORTCUT = ("needed_case_temperature", "shortcut_allowance")
DISAGREEMENT = "set_point_route_difference"
BASIS = "dew; design route: air less coil difference less line drop; shortcut: common practice"


DESCRIPTION = "From the site file: the lowest set point that a circuit of the rack asks for."
EXAMPLES = shown_example


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """The site file and the rack."""
    add_site(parser, needed=True)
    parser.add_argument("--rack", required=True, metavar="ID")
    add_pack(parser)
    add_units(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the set point, which circuit governs, and what each other one has spare."""
    base = load_rules(options.rulebase)
    site = load_site_file(options.site, base)
    rack = _rack(site, options.rack)
    needs, lacking = _needs(site, rack)
    if not needs:
        raise ReadingError(
            f"No circuit of {rack.id} can be worked out: {'; '.join(lacking) or 'it has none'}."
        )
    context = context_of(rack)
    group = suction_group(context, needs)
    shortcut = None
    if all(name in rack.values for name in SHORTCUT):
        case, allowance = (_value(rack, name) for name in SHORTCUT)
        shortcut = suction_group(context, [shortcut_need(rack.id, case, allowance)]).set_point
    warning = _warning(base, rack, group, shortcut, options.units)
    if options.json:
        print_json(_document(rack, group, shortcut, lacking, warning, options.units))
        return 0
    gauge = Kind.GAUGE_PRESSURE
    say(f"{rack.title}, {rack.facts.get('refrigerant')}: common set point by the design route")
    say(f"  {_shown(gauge, group.set_point, options.units)}; {group.governing} governs")
    for each in group.circuits:
        colder = _shown(Kind.TEMPERATURE_DIFFERENCE, each.margin_temperature, options.units)
        spare = _shown(Kind.PRESSURE_DIFFERENCE, each.margin, options.units)
        says = "governs" if each.governs else f"regulator holds back {spare} ({colder})"
        say(f"  {each.name}: alone {_shown(gauge, each.set_point, options.units)}; {says}")
    if shortcut is not None:
        say(f"By the trade shortcut: {_shown(gauge, shortcut, options.units)} (common practice)")
    for text in lacking:
        say(f"Not worked out: {text}")
    say(f"Basis: {BASIS}.")
    if warning:
        say(f"Warning: {warning}")
    return 0


def _rack(site: Site, wanted: str) -> Subject:
    racks = {each.id: each for each in site.subjects.values() if each.kind == "rack"}
    if wanted not in racks:
        hint = nearest(wanted, racks) or f"It has: {', '.join(racks)}."
        raise UsageError(f"The site has no rack '{wanted}'. {hint}")
    return racks[wanted]


def _needs(site: Site, rack: Subject) -> tuple[list[CircuitNeed], list[str]]:
    needs, lacking = [], []
    for circuit in site.members(rack):
        if circuit.kind != "circuit":
            continue
        missing = [name for name in DESIGN if name not in circuit.values]
        if missing:
            lacking.append(f"{circuit.id} has no {' and no '.join(missing)} in the site file")
            continue
        needs.append(design_need(circuit.id, *(_value(circuit, name) for name in DESIGN)))
    return needs, lacking


def _value(subject: Subject, name: str) -> float:
    value = subject.values[name].value
    assert isinstance(value, float)
    return value


def _warning(
    base: Rulebase, rack: Subject, group: SuctionGroup, shortcut: float | None, system: str
) -> str:
    """Where the two routes lie further apart than the rulebase's limit allows."""
    limit = limit_for(DISAGREEMENT, base.limits, rack)
    if shortcut is None or limit is None:
        return ""
    apart = shortcut - group.set_point
    low = limit.low is not None and apart < limit.low
    high = limit.high is not None and apart > limit.high
    if not (low or high):
        return ""
    normal_band = limit_text(limit, base.quantities[DISAGREEMENT], system)
    return (
        f"the shortcut lies {_shown(Kind.PRESSURE_DIFFERENCE, apart, system)} from the design "
        f"route; normal is {normal_band}. {limit.note}"
    ).strip()


def _document(
    rack: Subject,
    group: SuctionGroup,
    shortcut: float | None,
    lacking: list[str],
    warning: str,
    system: str,
) -> dict[str, object]:
    def shown(kind: Kind, value: float) -> dict[str, object]:
        return as_json(Measure(kind, value), system)

    document: dict[str, object] = {
        "rack": rack.id,
        "refrigerant": rack.facts.get("refrigerant"),
        "set_point": shown(Kind.GAUGE_PRESSURE, group.set_point),
        "governs": group.governing,
        "circuits": [
            {
                "circuit": each.name,
                "set_point": shown(Kind.GAUGE_PRESSURE, each.set_point),
                "margin": shown(Kind.PRESSURE_DIFFERENCE, each.margin),
                "margin_temperature": shown(Kind.TEMPERATURE_DIFFERENCE, each.margin_temperature),
                "governs": each.governs,
            }
            for each in group.circuits
        ],
        "not_worked_out": lacking,
        "basis": BASIS,
    }
    if shortcut is not None:
        document["set_point_shortcut"] = shown(Kind.GAUGE_PRESSURE, shortcut)
    if warning:
        document["warning"] = warning
    return document


def _shown(kind: Kind, value: float, system: str) -> str:
    return format_measure(Measure(kind, value), system)
