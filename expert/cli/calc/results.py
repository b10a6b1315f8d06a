"""What the calculations share: options of measures, the barometer, and how a result is told."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, field

from expert.cli.frame.common import add_json, add_pack, add_units, print_json, say
from expert.errors import ReadingError
from expert.physics.air.barometer import barometer
from expert.physics.fluids.refrigerants import of_company
from expert.physics.frame.formula import Also
from expert.physics.frame.instruments import usual_accuracy, usual_text
from expert.units.kinds import Kind, unit_for
from expert.units.measure import (
    Measure,
    as_json,
    difference_kind,
    format_both,
    format_measure,
    format_value,
    spread_text,
)
from expert.units.parse import parse_measure

ASSUMED = "usual"  # the mark of an accuracy that was not given


def option(name: str) -> str:
    """'line_temperature' to '--line-temperature'."""
    return "--" + name.replace("_", "-")


def add_common(parser: argparse.ArgumentParser, *, refrigerant: bool = False) -> None:
    """--altitude, --units, --json."""
    parser.add_argument(
        "--altitude", metavar="H", default="0 ft", help="of the site (default 0 ft)"
    )
    if refrigerant:
        add_pack(parser)
    add_units(parser)
    add_json(parser)


@dataclass(frozen=True)
class Asked:
    """One input of a calculation, given as an option.

    `units` (US, SI) are what a bare number is in, where that is not the first unit of the kind.
    `reading` says that an instrument gives it, so that it is off by as much as an ordinary one
    unless its accuracy is given; `also` lets it be typed as another kind.
    """

    name: str
    kind: Kind
    units: tuple[str, str] = ("", "")
    default: str | None = None
    reading: bool = True
    also: Also | None = None

    def add(self, parser: argparse.ArgumentParser) -> None:
        """The option, and the one for its accuracy."""
        what = self.kind.value.replace("_", " ")
        if self.kind is Kind.SHARE:
            what += ", with its sign"
        else:
            us, si = (self.units[n] or unit_for(self.kind, s).name for n, s in _SYSTEMS)
            if us:
                what += f", {us}" if us == si else f", {us} (si: {si})"
        if self.also:
            what += f", or a {self.also.kind.value.replace('_', ' ')} with its unit"
        if self.default is not None:
            what += f" (default {self.default})"
        parser.add_argument(
            option(self.name), required=self.default is None, default=self.default,
            metavar=self.name[:1].upper(), help=what.replace("%", "%%"),
        )  # fmt: skip
        usual = (usual_text(self.name, self.kind) if self.reading else None) or "exact"
        parser.add_argument(
            f"{option(self.name)}-accuracy", metavar="A",
            help=f"plus/minus of it (default {usual})".replace("%", "%%"),
        )  # fmt: skip

    def take(
        self, options: argparse.Namespace, air: float, others: Mapping[str, Measure | str]
    ) -> tuple[Measure, bool]:
        """The measure of the option and whether its plus/minus is only the usual one.

        Raises ReadingError.
        """
        try:
            value = self._value(getattr(options, self.name), options.units, air, others)
            accuracy = getattr(options, f"{self.name}_accuracy")
            if accuracy is not None:
                spread = parse_measure(
                    accuracy, difference_kind(self.kind), system=options.units, signed=True
                )
                return Measure(self.kind, value, abs(spread.value) or None), False
        except ReadingError as error:
            raise ReadingError(f"{option(self.name)}: {error}") from None
        usual = usual_accuracy(self.name, self.kind, value) if self.reading else None
        return Measure(self.kind, value, usual), usual is not None

    def _value(
        self, text: str, system: str, air: float, others: Mapping[str, Measure | str]
    ) -> float:
        unit = self.units[1] if system == "si" else self.units[0]
        try:
            return parse_measure(
                text, self.kind, barometer=air, system=system, unit=unit, signed=True
            ).value
        except ReadingError:
            if self.also is None or text.strip()[-1:].isdigit():
                raise
            try:
                other = parse_measure(text, self.also.kind, system=system).value
            except ReadingError:
                other = None
            if other is None:
                raise
            values = {k: v if isinstance(v, str) else v.value for k, v in others.items()}
            return self.also.turn(values, other)


_SYSTEMS = ((0, "us"), (1, "si"))


def shown_example(name: str) -> str:
    """The line of a calculation's help that can be typed as it stands."""
    from expert.cli.calc.examples import example

    return f"  rackwalk calc {name} {example(name)}".rstrip()


def source_of(text: str, fluid: str) -> str:
    """The source of a result, with the company's own where the refrigerant is theirs."""
    if not of_company(fluid):
        return text
    from expert.physics.fluids.own_refrigerant import sourced

    return sourced(text, fluid)


def air_of(options: argparse.Namespace) -> float:
    """The barometer [Pa] at the altitude given; what a pack adds to the refrigerants is known."""
    if getattr(options, "rulebase", None):
        from expert.knowledge.read_refrigerants import carry_of_folder

        carry_of_folder(options.rulebase)
    try:
        return barometer(parse_measure(options.altitude, Kind.LENGTH, system=options.units).value)
    except ReadingError as error:
        raise ReadingError(f"--altitude: {error}") from None


@dataclass(frozen=True)
class CalcResult:
    """A result with all that explains it.

    `assumed` are the inputs whose plus/minus is that of an ordinary instrument; `units` names
    the unit of an input or a result that is not shown in the first one of its kind.
    """

    title: str
    results: Mapping[str, Measure | str]
    inputs: Mapping[str, Measure | str]
    formula: str
    source: str
    basis: str = ""
    validity: str = ""
    refrigerant: str = ""
    warning: str = ""
    assumed: tuple[str, ...] = ()
    units: Mapping[str, str] = field(default_factory=dict)


def tell(calculated: CalcResult, options: argparse.Namespace) -> None:
    """Print a result: text in the units asked for, inputs in both, or one JSON document."""
    if options.json:
        print_json(_document(calculated, options.units))
        return
    system = options.units
    for name, result in calculated.results.items():
        title = calculated.title if len(calculated.results) == 1 else name.replace("_", " ")
        if isinstance(result, str):
            text = result
        elif result.kind is Kind.ENERGY and name not in calculated.units:
            text = format_both(result, system)  # kilowatt-hours are what the meter shows
        else:
            text = format_measure(result, system, unit=calculated.units.get(name, ""))
        say(f"{title}: {text}")
    for name, value in calculated.inputs.items():
        say(f"  {name.replace('_', ' ')}: {_input(calculated, name, value, system)}")
    if calculated.assumed:
        options_of = " ".join(f"{option(name)}-accuracy" for name in calculated.assumed)
        say(f"  {ASSUMED}: of an ordinary instrument, since not given ({options_of})")
    for what, text in (
        ("formula", calculated.formula),
        ("basis", calculated.basis),
        ("holds for", calculated.validity),
        ("source", calculated.source),
    ):
        if text:
            say(f"  {what}: {text}")
    if calculated.warning:
        say(f"Warning: {calculated.warning}")


def _input(told: CalcResult, name: str, value: Measure | str, system: str) -> str:
    if isinstance(value, str):
        return value
    unit = told.units.get(name, "")
    text = (
        format_value(value.kind, value.value, system, unit=unit)
        if unit
        else format_both(value, system)
    )
    if value.plus_minus:
        text += f" +/- {spread_text(value, system, unit=unit)}"
    return f"{text} ({ASSUMED})" if name in told.assumed else text


def _document(told: CalcResult, system: str) -> dict[str, object]:
    def shown(value: Measure | str) -> object:
        return value if isinstance(value, str) else as_json(value, system)

    document: dict[str, object] = {name: shown(v) for name, v in told.results.items()}
    if told.refrigerant:
        document["refrigerant"] = told.refrigerant
    document["inputs"] = {name: shown(value) for name, value in told.inputs.items()}
    if told.assumed:
        document["usual_accuracy"] = list(told.assumed)
    document |= {"formula": told.formula, "basis": told.basis, "source": told.source}
    if told.validity:
        document["validity"] = told.validity
    if told.warning:
        document["warning"] = told.warning
    return document
