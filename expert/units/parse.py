"""From what a person types to a measure in SI, with refusals that say what is accepted."""

from __future__ import annotations

import re

from expert.errors import ReadingError, nearest
from expert.units.kinds import UNITS, Kind, Unit, unit_for, units_of
from expert.units.measure import Measure, unit_called

_NUMBER = r"[-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_TYPED = re.compile(rf"^(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s.,].*)?$")
_FRACTION = re.compile(
    r"^(?P<sign>[-+]?)(?:(?P<whole>\d+)\s+)?(?P<top>\d+)/(?P<bottom>\d+)\s*(?P<unit>[^\d].*)?$"
)
_MINUTES = re.compile(r"^(?:(?P<h>\d+):(?=[0-5]?\d:))?(?P<m>\d+):(?P<s>[0-5]\d)$")
_GROUPED = re.compile(r"^[-+]?\d{1,3}(,\d{3})+(?!\d)")
_LONGEST = 60  # characters; no reading is longer, and its number is far from the largest float
_ALSO = {
    Kind.GAUGE_PRESSURE: Kind.ABSOLUTE_PRESSURE,
    Kind.ABSOLUTE_PRESSURE: Kind.GAUGE_PRESSURE,
}
_EXAMPLES = {
    Kind.TEMPERATURE: "-8 F or -22 C",
    Kind.TEMPERATURE_DIFFERENCE: "10 F or 5.6 K",
    Kind.GAUGE_PRESSURE: "215 psig, 14.8 bar or 15 inHg vac",
    Kind.ABSOLUTE_PRESSURE: "44.7 psia, 3.08 bara or 500 micron",
    Kind.PRESSURE_DIFFERENCE: "16 psi or 1.1 bar",
    Kind.DURATION: "24 min or 12:30 (minutes and seconds)",
    Kind.SHARE: "40 %",
    Kind.LENGTH: "5280 ft or 1609 m",
    Kind.MASS: "25 lb or 11.3 kg",
}


def parse_measure(
    text: str,
    kind: Kind,
    *,
    barometer: float | None = None,
    system: str = "us",
    unit: str = "",
    signed: bool = False,
) -> Measure:
    """The measure that a text means; a bare number takes the unit of the system, or `unit`.

    `barometer` [Pa] turns absolute pressures into gauge and back; without it they are refused.
    A bare share of 1 or less is refused, for 0.7 could be 0.7 % or 70 %; with `signed` any bare
    share is. Raises ReadingError with what was wrong and what is accepted.
    """
    cleaned = text.strip().replace("\N{MINUS SIGN}", "-")
    cleaned = cleaned.replace("\N{DEGREE SIGN} ", "\N{DEGREE SIGN}")
    if not cleaned:
        raise ReadingError(f"Nothing was typed. {accepted(kind, system, unit)}")
    if len(cleaned) > _LONGEST:
        raise ReadingError(f"'{cleaned[:20]}...' is too long. {accepted(kind, system, unit)}")
    if kind is Kind.DURATION and (match := _MINUTES.match(cleaned)):
        hours, minutes, seconds = (int(match[name] or 0) for name in ("h", "m", "s"))
        return Measure(kind, hours * 3600.0 + minutes * 60.0 + seconds)
    if _GROUPED.match(cleaned):
        raise ReadingError(
            f"'{text}': the comma could be a decimal or a thousands mark. "
            f"Write it without one, or with a point. {accepted(kind, system, unit)}"
        )
    number, unit_text = _split(cleaned, kind, system, unit)
    if kind is Kind.SHARE and not unit_text and (signed or 0 < abs(number) <= 1):
        raise ReadingError(
            f"'{text}' could be {number:g} % or {number * 100:g} %: write it with its sign."
        )
    typed = _unit(unit_text, kind, system, text, unit)
    value = typed.to_si(number)
    if typed.kind is not kind:
        if barometer is None:
            raise ReadingError(
                f"'{text}': an absolute and a gauge pressure differ by the barometer, "
                f"which is not known here. {accepted(kind, system, unit)}"
            )
        value += -barometer if typed.kind is Kind.ABSOLUTE_PRESSURE else barometer
    if kind in (Kind.TEMPERATURE, Kind.ABSOLUTE_PRESSURE) and value < 0:
        what = "absolute zero" if kind is Kind.TEMPERATURE else "a perfect vacuum"
        raise ReadingError(f"'{text}' lies below {what}. {accepted(kind, system, unit)}")
    if kind is Kind.GAUGE_PRESSURE and barometer is not None and value < -barometer:
        raise ReadingError(
            f"'{text}' lies below a perfect vacuum at this altitude. {accepted(kind, system, unit)}"
        )
    return Measure(kind, value)


def accepted(kind: Kind, system: str = "us", unit: str = "") -> str:
    """A sentence with the accepted form: 'Type a number in psig, or for example 14.8 bar.'"""
    usual = unit or unit_for(kind, system).name
    example = f"12 {usual}".strip() if unit else _EXAMPLES.get(kind, f"12 {usual}".strip())
    unit = usual
    return f"Type a number{f' in {unit}' if unit else ''}, for example {example}."


def _split(cleaned: str, kind: Kind, system: str, unit: str) -> tuple[float, str]:
    if match := _FRACTION.match(cleaned):
        if int(match["bottom"]) == 0:
            raise ReadingError(f"'{cleaned}' divides by zero. {accepted(kind, system, unit)}")
        number = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
        return -number if match["sign"] == "-" else number, (match["unit"] or "").strip()
    if match := _TYPED.match(cleaned):
        return float(match["number"].replace(",", ".")), (match["unit"] or "").strip()
    raise ReadingError(f"'{cleaned}' is not a number. {accepted(kind, system, unit)}")


def _unit(typed: str, kind: Kind, system: str, text: str, unit: str) -> Unit:
    if not typed:
        return _usual(kind, unit) if unit else unit_for(kind, system)
    for wanted in (kind, _ALSO.get(kind)):
        for each in UNITS:
            if each.kind is wanted and _same(typed, each):
                return each
    others = sorted({each.kind.value.replace("_", " ") for each in UNITS if _same(typed, each)})
    what = kind.value.replace("_", " ")
    if others:
        raise ReadingError(
            f"'{text}': {typed} is a unit of {others[0]}, and here a {what} is wanted. "
            f"{accepted(kind, system, unit)}"
        )
    names = [name for each in units_of(kind) for name in each.names if name]
    hint = nearest(typed, names)
    raise ReadingError(
        f"'{text}': the unit '{typed}' is not known. {hint + ' ' if hint else ''}"
        f"{accepted(kind, system, unit)}"
    )


def _usual(kind: Kind, name: str) -> Unit:
    """The unit of a bare number; a vacuum that is kept absolute may be read as gauge."""
    try:
        return unit_called(kind, name)
    except LookupError:
        return unit_called(_ALSO[kind], name)


def units_typed(kind: Kind) -> tuple[str, ...]:
    """The names of units in which a quantity of a kind may be typed without a unit."""
    kinds = (kind, *filter(None, (_ALSO.get(kind),)))
    return tuple(each.name for one in kinds for each in units_of(one) if each.name)


def _same(typed: str, unit: Unit) -> bool:
    squeezed = typed.replace(" ", "").lower().rstrip(".")
    return any(squeezed == name.replace(" ", "").lower() for name in unit.names if name)
