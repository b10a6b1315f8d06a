"""A pressure-temperature chart to print: plain text, or a drawing as SVG.

Temperatures down the side, dew and bubble gauge pressures beside them, for one barometer.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from expert.physics.fluids.of_context import of
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import Saturation
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import INHG, Kind, Unit, unit_for

SHOWN = {"us": (-40, 150, 5), "si": (-40, 65, 2)}  # F and C: first, last, step
VACUUM_MARK = "v"


@dataclass(frozen=True)
class Row:
    """A line of the chart: temperature as shown, pressures in SI gauge; None outside the range."""

    temperature: float
    dew: float | None
    bubble: float | None
    mid: float | None


def rows(
    context: Context, system: str = "us", span: tuple[float, float, float] | None = None
) -> tuple[Row, ...]:
    """Rows for a refrigerant and barometer; `span` is first, last and step in the shown unit.

    A row with no pressure at all is left out. Raises `PhysicsError`, `OutOfRange`.
    """
    if system not in SHOWN:
        raise PhysicsError(f"The unit system of a chart is us or si, not '{system}'.")
    first, last, step = span or SHOWN[system]
    if not (step > 0 and last >= first and (last - first) / step <= 1000):
        raise PhysicsError("The chart needs a first, a higher last temperature and a step above 0.")
    fluid, unit = of(context), unit_for(Kind.TEMPERATURE, system)
    found = []
    for index in range(int((last - first) / step + 1e-9) + 1):
        shown = first + index * step
        row = _row(context, fluid, unit, shown)
        if row.dew is not None or row.bubble is not None:
            found.append(row)
    if not found:
        raise OutOfRange(
            f"The chart of {fluid.refrigerant}",
            unit.to_si(first),
            fluid.bubble_range.low,
            fluid.bubble_range.high,
            Kind.TEMPERATURE,
        )
    return tuple(found)


def text_chart(
    context: Context, system: str = "us", span: tuple[float, float, float] | None = None
) -> str:
    """The chart as text, with the barometer and basis above and the sources below."""
    fluid = of(context)
    unit, pressure = unit_for(Kind.TEMPERATURE, system), unit_for(Kind.GAUGE_PRESSURE, system)
    lines = [*_heading(context, fluid, system), ""]
    columns = ("saturation",) if fluid.one_line else ("dew", "mid-point", "bubble")
    lines.append(f"{unit.name:>6}" + "".join(f"{name:>12}" for name in columns))
    for row in rows(context, system, span):
        values = (row.dew,) if fluid.one_line else (row.dew, row.mid, row.bubble)
        cells = "".join(f"{_cell(value, pressure, system):>12}" for value in values)
        lines.append(f"{row.temperature:>6g}{cells}")
    return "\n".join([*lines, "", *_footing(fluid, system, marks=True)]) + "\n"


def svg_chart(
    context: Context, system: str = "us", span: tuple[float, float, float] | None = None
) -> str:
    """The chart as a drawing: dew and bubble curves over a grid, temperature across."""
    fluid, found = of(context), rows(context, system, span)
    unit, pressure = unit_for(Kind.TEMPERATURE, system), unit_for(Kind.GAUGE_PRESSURE, system)
    series = {"bubble": [(r.temperature, r.bubble) for r in found]}
    if not fluid.one_line:
        series["dew"] = [(r.temperature, r.dew) for r in found]
    lines = {
        name: [(t, pressure.from_si(p)) for t, p in points if p is not None]
        for name, points in series.items()
    }
    return _ChartPage(lines, unit.name, pressure.name).svg(
        _heading(context, fluid, system), _footing(fluid, system, marks=False)
    )


class _ChartPage:
    """Curves on a page of 800 by 1000, with a grid of round numbers."""

    left, right, top, bottom = 80.0, 770.0, 110.0, 900.0

    def __init__(self, lines: dict[str, list[tuple[float, float]]], across: str, up: str) -> None:
        self.lines, self.across, self.up = lines, across, up
        points = [point for line in lines.values() for point in line]
        self.xs = (min(x for x, _ in points), max(x for x, _ in points))
        self.ys = (min(0.0, min(y for _, y in points)), max(y for _, y in points))

    def svg(self, heading: list[str], footing: list[str]) -> str:
        """The whole drawing as text."""
        parts = [
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 800 1000" '
            'font-family="sans-serif" font-size="13">',
            '<rect width="800" height="1000" fill="white"/>',
        ]
        parts += [_text(self.left, 30 + 20 * i, line) for i, line in enumerate(heading)]
        for x in _ticks(*self.xs, 12):
            parts.append(_line(self._x(x), self.top, self._x(x), self.bottom))
            parts.append(_text(self._x(x), self.bottom + 18, f"{x:g}", "middle"))
        for y in _ticks(*self.ys, 16):
            parts.append(_line(self.left, self._y(y), self.right, self._y(y)))
            parts.append(_text(self.left - 8, self._y(y) + 4, f"{y:g}", "end"))
        parts.append(_text(self.right, self.bottom + 36, self.across, "end"))
        parts.append(_text(self.left, self.top - 10, self.up, "end"))
        for name, line in self.lines.items():
            points = " ".join(f"{self._x(x):.1f},{self._y(y):.1f}" for x, y in line)
            dash = ' stroke-dasharray="8 4"' if name == "dew" else ""
            parts.append(
                f'<polyline points="{points}" fill="none" stroke="black" stroke-width="2"{dash}/>'
            )
            x, y = line[-1]
            label = name if len(self.lines) > 1 else "saturation"
            if name == "dew":
                parts.append(_text(self._x(x) + 4, self._y(y) + 14, label))
            else:
                parts.append(_text(self._x(x) - 8, self._y(y) - 8, label, "end"))
        parts += [_text(self.left, 950 + 18 * i, line) for i, line in enumerate(footing)]
        return "\n".join([*parts, "</svg>"]) + "\n"

    def _x(self, value: float) -> float:
        low, high = self.xs
        return self.left + (value - low) / ((high - low) or 1) * (self.right - self.left)

    def _y(self, value: float) -> float:
        low, high = self.ys
        return self.bottom - (value - low) / ((high - low) or 1) * (self.bottom - self.top)


def _row(context: Context, fluid: Saturation, unit: Unit, shown: float) -> Row:
    temperature = unit.to_si(shown)
    dew = fluid.dew_pressure(temperature) if temperature in fluid.dew_range else None
    bubble = fluid.bubble_pressure(temperature) if temperature in fluid.bubble_range else None
    mid = fluid.mid_pressure(temperature) if temperature in fluid.mid_range else None
    return Row(shown, *(None if p is None else context.gauge(p) for p in (dew, bubble, mid)))


def _cell(value: float | None, unit: Unit, system: str) -> str:
    if value is None:
        return "-"
    if value < 0 and system == "us":
        return f"{-value / INHG:.1f}{VACUUM_MARK}"
    return f"{unit.from_si(value):.{unit.digits}f}"


def _heading(context: Context, fluid: Saturation, system: str) -> list[str]:
    unit = unit_for(Kind.ABSOLUTE_PRESSURE, system)
    barometer = f"{unit.from_si(context.barometer):.{unit.digits}f} {unit.name}"
    pressure = unit_for(Kind.GAUGE_PRESSURE, system)
    return [
        f"{fluid.refrigerant}: saturation pressure, {pressure.name}, barometer {barometer}",
        "Pure: dew and bubble are one."
        if fluid.one_line
        else "Dew for superheat and evaporating, bubble for subcooling.",
    ]


def _footing(fluid: Saturation, system: str, *, marks: bool) -> list[str]:
    error = refrigerant(fluid.refrigerant).model_error
    unit = unit_for(Kind.TEMPERATURE_DIFFERENCE, system)
    vacuum = f" {VACUUM_MARK} = inches of mercury vacuum." if marks and system == "us" else ""
    return [
        f"CoolProp 8 equations of state; saturation temperature good to "
        f"{unit.from_si(error):.1f} {unit.name}.{vacuum}"
    ]


def _ticks(low: float, high: float, about: int) -> list[float]:
    rough = max((high - low) / about, 1e-9)
    power = 10.0
    while power > rough:
        power /= 10
    while power * 10 <= rough:
        power *= 10
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= rough)
    first = int(low // step) if low % step == 0 else int(low // step) + 1
    return [n * step for n in range(first, int(high // step) + 1)]


def _text(x: float, y: float, text: str, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text, quote=False)}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="#bbb"/>'
