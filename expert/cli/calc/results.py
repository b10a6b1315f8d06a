"""What the calculations share: options of measures, the barometer, and how a result is told."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass

from expert.cli.frame.common import add_json, add_units, print_json, say
from expert.errors import ReadingError
from expert.physics.air.barometer import barometer
from expert.units.kinds import Kind
from expert.units.measure import Measure, as_json, difference_kind, format_both, format_measure
from expert.units.parse import parse_measure

_USUAL = {
    "temperature": "40F", "temperature difference": "10F", "gauge pressure": "200psig",
    "absolute pressure": "500micron", "pressure difference": "16psi", "share": "40%",
    "duration": "24min",
}  # fmt: skip


def option(name: str) -> str:
    """'line_temperature' to '--line-temperature'."""
    return "--" + name.replace("_", "-")


def add_common(parser: argparse.ArgumentParser) -> None:
    """--altitude, --units, --json."""
    parser.add_argument(
        "--altitude", metavar="H", default="0 ft", help="of the site (default 0 ft)"
    )
    add_units(parser)
    add_json(parser)


def add_measure(
    parser: argparse.ArgumentParser, name: str, kind: Kind, *, default: str | None = None
) -> None:
    """An option that takes a measure, and the hidden one for its accuracy."""
    what = kind.value.replace("_", " ")
    if default is not None:
        what += f" (default {default})".replace("%", "%%")
    parser.add_argument(
        option(name), required=default is None, default=default, metavar=name[:1].upper(), help=what
    )
    parser.add_argument(f"{option(name)}-accuracy", metavar="A", help=argparse.SUPPRESS)


def epilog(name: str, shown: str) -> str:
    """The end of a calculation's help: an example that can be typed, and the exit codes."""
    from expert.cli.frame.parser import EXIT_CODES

    return f"examples:\n  rackwalk calc {name} {shown}".rstrip() + f"\n\n{EXIT_CODES}"


def example(parser: argparse.ArgumentParser) -> str:
    """What must be typed for a calculation, with a usual value of each kind."""
    words = []
    for action in parser._actions:
        if action.required:
            kind = (action.help or "").partition(" (")[0]
            value = action.choices[0] if action.choices else _USUAL.get(kind, "10")  # type: ignore[index]
            words += [*action.option_strings[:1], str(value) if action.option_strings else "R-449A"]
    return " ".join(f"'{word}'" if " " in word else word for word in words)


def air_of(options: argparse.Namespace) -> float:
    """The barometer [Pa] at the altitude given."""
    try:
        return barometer(parse_measure(options.altitude, Kind.LENGTH, system=options.units).value)
    except ReadingError as error:
        raise ReadingError(f"--altitude: {error}") from None


def take(options: argparse.Namespace, name: str, kind: Kind, air: float) -> Measure:
    """The measure of an option, with its accuracy where one was given. Raises ReadingError."""
    try:
        measure = parse_measure(getattr(options, name), kind, barometer=air, system=options.units)
        accuracy = getattr(options, f"{name}_accuracy", None)
        if accuracy is None:
            return measure
        spread = parse_measure(accuracy, difference_kind(kind), system=options.units)
        return Measure(kind, measure.value, abs(spread.value))
    except ReadingError as error:
        raise ReadingError(f"{option(name)}: {error}") from None


@dataclass(frozen=True)
class CalcResult:
    """A result with all that explains it."""

    title: str
    results: Mapping[str, Measure | str]
    inputs: Mapping[str, Measure | str]
    formula: str
    source: str
    basis: str = ""
    refrigerant: str = ""
    warning: str = ""


def tell(calculated: CalcResult, options: argparse.Namespace) -> None:
    """Print a result: text in the units asked for, inputs in both, or one JSON document."""
    system = options.units

    def shown(value: Measure | str) -> object:
        return value if isinstance(value, str) else as_json(value, system)

    if options.json:
        document: dict[str, object] = {name: shown(v) for name, v in calculated.results.items()}
        if calculated.refrigerant:
            document["refrigerant"] = calculated.refrigerant
        document["inputs"] = {name: shown(value) for name, value in calculated.inputs.items()}
        document |= {
            "formula": calculated.formula,
            "basis": calculated.basis,
            "source": calculated.source,
        }
        if calculated.warning:
            document["warning"] = calculated.warning
        print_json(document)
        return
    for name, result in calculated.results.items():
        title = calculated.title if len(calculated.results) == 1 else name.replace("_", " ")
        if isinstance(result, str):
            text = result
        elif result.kind is Kind.ENERGY:  # kilowatt-hours are what the meter shows
            text = format_both(result)
        else:
            text = format_measure(result, system)
        say(f"{title}: {text}")
    for name, value in calculated.inputs.items():
        text = value if isinstance(value, str) else format_both(value)
        say(f"  {name.replace('_', ' ')}: {text}")
    say(f"  formula: {calculated.formula}")
    if calculated.basis:
        say(f"  basis: {calculated.basis}")
    say(f"  source: {calculated.source}")
    if calculated.warning:
        say(f"Warning: {calculated.warning}")
