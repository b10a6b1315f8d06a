"""`rackwalk calc refrigerants` and `chart`: what is known of refrigerants."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from expert.cli.calc.results import add_common, air_of, shown_example
from expert.cli.frame.common import print_json, say
from expert.errors import NotWritten
from expert.physics.fluids.refrigerants import Refrigerant, refrigerant, refrigerants
from expert.physics.frame.formula import Context
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure, as_json, format_both
from expert.units.parse import parse_measure

DESCRIPTION = ""
EXAMPLES = shown_example


def add_arguments(parser: argparse.ArgumentParser, name: str) -> None:
    """Those of the list, or of the chart."""
    if name == "refrigerants":
        parser.set_defaults(does=_refrigerants)
        parser.add_argument("refrigerant", nargs="?", metavar="REFRIGERANT")
    else:
        parser.set_defaults(does=_chart)
        parser.add_argument("refrigerant", metavar="REFRIGERANT")
        parser.add_argument("--from", dest="first", metavar="T", help="first temperature")
        parser.add_argument("--to", dest="last", metavar="T", help="last temperature")
        parser.add_argument("--step", metavar="D", help="temperature difference between rows")
        parser.add_argument("--svg", type=Path, metavar="FILE", help="write a drawing instead")
    add_common(parser, refrigerant=True)


def run(options: argparse.Namespace) -> int:
    """The list, what is known of one, or a chart."""
    does: Callable[[argparse.Namespace], int] = options.does
    return does(options)


def _refrigerants(options: argparse.Namespace) -> int:
    air_of(options)
    if options.refrigerant is None:
        if options.json:
            print_json([_document(one, options.units) for one in refrigerants()])
            return 0
        for one in refrigerants():
            say(f"{one.designation}: {one.safety_class}; {one.use}")
        return 0
    one = refrigerant(options.refrigerant)
    if options.json:
        print_json(_document(one, options.units))
        return 0
    say(f"{one.designation}: {one.use}")
    parts = ", ".join(f"{name} {share:g} %" for name, share in one.composition.items())
    say(f"  composition by mass: {parts} ({one.composition_source})")
    say(f"  safety class: {one.safety_class} ({one.safety_class_source})")
    for report, potential in one.gwp.items():
        say(f"  global warming potential, {report.replace('_', ' ')}: {potential}")
    say(f"  source of these: {one.gwp_source}")
    if limit := one.concentration_limit:
        say(
            f"  concentration limit: {limit.ppm_by_volume:g} ppm by volume, "
            f"{limit.lb_per_1000_ft3:g} lb per 1000 ft3 ({limit.source})"
        )
    if one.glide is not None:
        glide = Measure(Kind.TEMPERATURE_DIFFERENCE, one.glide)
        say(f"  glide at 1 atm: {format_both(glide, options.units)}")
    within = format_both(Measure(Kind.TEMPERATURE_DIFFERENCE, one.model_error), options.units)
    say(f"  saturation temperatures within {within}: {one.model_error_source}")
    say(f"  leak rules: {one.rule}")
    for note in one.notes:
        say(f"  note: {note}")
    return 0


def _document(one: Refrigerant, system: str) -> dict[str, object]:
    document = {key: value for key, value in asdict(one).items() if value not in ("", (), {}, None)}
    document["available"] = True
    difference = Kind.TEMPERATURE_DIFFERENCE
    document["model_error"] = as_json(Measure(difference, one.model_error), system)
    if one.glide is not None:
        document["glide"] = as_json(Measure(difference, one.glide), system)
    return document


def _chart(options: argparse.Namespace) -> int:
    from expert.physics.fluids.chart import SHOWN, svg_chart, text_chart

    air = air_of(options)
    context = Context(refrigerant(options.refrigerant).designation, air)
    first, last, step = (float(edge) for edge in SHOWN[options.units])
    unit = unit_for(Kind.TEMPERATURE, options.units)
    if options.first is not None:
        first = unit.from_si(_temperature(options.first, options.units))
    if options.last is not None:
        last = unit.from_si(_temperature(options.last, options.units))
    if options.step is not None:
        kind = Kind.TEMPERATURE_DIFFERENCE
        wide = parse_measure(options.step, kind, system=options.units)
        step = unit_for(kind, options.units).from_si(wide.value)
    span = (round(first, 6), round(last, 6), round(step, 6))
    if options.svg is None:
        say(text_chart(context, options.units, span).rstrip())
        return 0
    drawing = svg_chart(context, options.units, span)
    try:
        options.svg.write_text(drawing, encoding="utf-8")
    except OSError as error:
        raise NotWritten(f"Cannot write {options.svg}: {error.strerror}.") from None
    say(f"Chart: {options.svg}")
    return 0


def _temperature(text: str, system: str) -> float:
    return parse_measure(text, Kind.TEMPERATURE, system=system).value
