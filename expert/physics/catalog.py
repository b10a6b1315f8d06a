"""Every formula by name: what `rackwalk calc` offers and what derived values may call."""

from __future__ import annotations

from expert.errors import nearest
from expert.physics import (
    air_moisture,
    compression,
    condenser,
    cycle,
    defrost,
    high_side,
    leak_rate,
    liquid,
    low_side,
    pipe,
    pressure_temperature,
    tightness,
)
from expert.physics.errors import PhysicsError
from expert.physics.formula import Formula

MODULES = (
    pressure_temperature,
    low_side,
    high_side,
    condenser,
    compression,
    cycle,
    pipe,
    liquid,
    defrost,
    tightness,
    leak_rate,
    air_moisture,
)


def _collect() -> dict[str, Formula]:
    found: dict[str, Formula] = {}
    for one in (formula for module in MODULES for formula in module.FORMULAS):
        if one.name in found:
            raise ValueError(f"two formulas are called '{one.name}'")
        found[one.name] = one
    return found


CATALOG: dict[str, Formula] = _collect()


def formula(name: str) -> Formula:
    """The formula of this name. Raises `PhysicsError` with the nearest known name."""
    if name not in CATALOG:
        hint = nearest(name, CATALOG)
        raise PhysicsError(f"No formula is called '{name}'. {hint}".rstrip())
    return CATALOG[name]


def warning(name: str, value: float) -> str:
    """What a result [SI] of a formula that cannot be right would mean, or nothing."""
    return formula(name).warn(value)
