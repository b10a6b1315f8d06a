"""The level to which a section is lawfully recovered before it is opened (40 CFR 82.156).

Figures and their sources stand in recovery_levels.yaml. Sources: 40 CFR 82.156, table 1 (pressure
classes of 82.152 not opened).
"""

from __future__ import annotations

from functools import cache
from importlib import resources

from expert.made_when_used import dataclass
from expert.physics.fluids.of_context import named
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import NotAvailable
from expert.physics.frame.refusals import TINY, above_zero
from expert.units.kinds import INHG, POUND, PSI, Kind

_AT = 313.15  # K; 104 F, at which the classes are told apart


@dataclass(frozen=True)
class PressureClass:
    """A class of refrigerants and its levels as vacuum [Pa below the air]; `above` [Pa]."""

    id: str
    above: float
    small: float
    large: float
    source: str


@cache
def _rules() -> tuple[float, tuple[PressureClass, ...]]:
    """From which charge [kg] a section is large, and the classes, the highest first."""
    import yaml

    file = resources.files("expert.physics.leak_law").joinpath("recovery_levels.yaml")
    data = yaml.load(file.read_text("utf-8"), Loader=yaml.BaseLoader)  # noqa: S506
    classes = (
        PressureClass(
            each["id"],
            float(each["above_psia"]) * PSI,
            float(each["small_inHg"]) * INHG,
            float(each["large_inHg"]) * INHG,
            each["source"],
        )
        for each in data["classes"]
    )
    return float(data["large_from_lb"]["value"]) * POUND, tuple(classes)


def pressure_class(name: str) -> PressureClass:
    """The class of a refrigerant by its saturated liquid at 104 F.

    One that is critical below that is of the highest class. Raises `PhysicsError` for a
    refrigerant without properties and `NotAvailable` for a low-pressure one.
    """
    known = saturation(name)
    _, classes = _rules()
    if known.bubble_range.high < _AT:
        return classes[0]
    pressure = known.bubble_pressure(_AT)
    for each in classes:
        if pressure > each.above:
            return each
    raise NotAvailable(f"The recovery level of {name}", "a low-pressure class is not held here")


def recovery_level(context: Context, charge: float) -> float:
    """Gauge pressure [Pa], zero or below, for a section that normally holds `charge` [kg]."""
    above_zero("The charge of the section", charge, Kind.MASS)
    large, _ = _rules()
    found = pressure_class(named(context))
    return -(found.large if charge >= large - TINY else found.small)


FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="lawful_recovery_level",
        title="level to recover to before opening",
        inputs={"charge": Kind.MASS},
        output=Kind.GAUGE_PRESSURE,
        text="0, 10 or 15 inHg vacuum by the pressure class of the refrigerant and by whether the "
        "section holds 200 lb",
        source="published: 40 CFR 82.156, table 1 (pressure classes of 82.152 not opened)",
        compute=recovery_level,
        validity="recovery machine made since 15 Nov 1993, section that holds its vacuum; the "
        "regulation in force and local rules decide",
        needs_refrigerant=True,
    ),
)
