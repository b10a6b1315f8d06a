"""The rack as lines with the readings at their places, and a defrost as a curve of signs.

Both are lines of words first, so that a screen reader reads them and 40 columns hold them.
"""

from __future__ import annotations

from expert.inference.evaluation_model import Reading
from expert.knowledge.where import SPOTS
from expert.practice.attempt import Attempt
from expert.terminal.layout import Layout
from expert.units.measure import format_value

ROWS, MINUTE = 8, 60.0
_UNREAD = "not read"


def rack_lines(attempt: Attempt, layout: Layout) -> list[str]:
    """The way of the refrigerant from the compressors round, each part with what was read of it."""
    last: dict[str, Reading] = {}
    for reading in (*attempt.found, *attempt.left):
        last[reading.quantity] = reading
    lines: list[str] = []
    shown: set[str] = set()
    for part in attempt.setting.schematic:
        own = [name for name in part.reads if name in last]
        shown |= {*own}
        told = "; ".join(_told(attempt, last[name]) for name in own) or _UNREAD
        lines += [*layout.listed(">", f"{part.title}: {told}")]
    rest = [each for name, each in last.items() if name not in shown]
    for spot in SPOTS:
        own_here = [
            _told(attempt, each) for each in rest
            if attempt.spot_of(attempt.rulebase.quantities[each.quantity]) == spot
        ]  # fmt: skip
        if own_here:
            lines += layout.named(f"Also read, {spot}", "; ".join(own_here))
    return lines


def _told(attempt: Attempt, reading: Reading) -> str:
    old = " (before the change)" if attempt.changed and reading.stage == "as found" else ""
    return f"{attempt.rulebase.quantities[reading.quantity].title} {reading.text}{old}"


def curve_lines(attempt: Attempt, layout: Layout) -> list[str]:
    """Coil pressure since gas on, as far as the defrost has run: a line of words and one of bars
    for each time."""
    clock = attempt.clock
    if clock is None:
        return layout.text("In this exercise no defrost is watched.")
    if clock.began is None or attempt.minutes < clock.gas_on:
        return layout.text("Gas is not on yet. 'defrost' begins one, 'wait 5 min' goes on with it.")
    until = clock.gas_seconds(attempt.minutes)
    lines: list[str] = []
    for name in ("circuit_pressure", "branch_liquid_temperature"):
        quantity = attempt.rulebase.quantities[name]
        points = attempt.plant.curve(name, until, ROWS)
        values = [value for _, value in points]
        low, high = min(values), max(values)
        texts = [format_value(quantity.kind, value, attempt.units) for value in values]
        if len({*texts}) == 1:
            lines += layout.text(f"{quantity.title}: {texts[0]} all the time.")
            continue
        room = max(layout.width - 9 - max(map(len, texts)) - 2, 4)
        lines += layout.text(f"{quantity.title}, {texts[0]} to {texts[-1]}:")
        for (seconds, value), text in zip(points, texts, strict=True):
            share = (value - low) / (high - low) if high > low else 1.0
            bar = "#" * max(round(share * room), 1)
            lines.append(f"{seconds / MINUTE:4.1f} min {text:>{max(map(len, texts))}} {bar}")
    over = attempt.minutes >= clock.ends
    return lines + layout.text("Gas is off." if over else "Gas is on.")
