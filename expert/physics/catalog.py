"""Every formula by name: what `rackwalk calc` offers and what derived values may call."""

from __future__ import annotations

from importlib import import_module

from expert.errors import nearest
from expert.physics import (
    compression,
    condenser,
    cycle,
    high_side,
    low_side,
    pipe,
    pressure_temperature,
)
from expert.physics.errors import PhysicsError
from expert.physics.formula import Formula


def _collect() -> dict[str, Formula]:
    groups = [
        module.FORMULAS
        for module in (
            pressure_temperature, low_side, high_side, condenser, compression, cycle, pipe
        )
    ]
    for name in ("liquid", "defrost", "tightness", "air_moisture"):
        try:
            groups.append(import_module(f"expert.physics.{name}").FORMULAS)
        except ModuleNotFoundError as error:
            if error.name != f"expert.physics.{name}":
                raise
    found: dict[str, Formula] = {}
    for formula in (one for group in groups for one in group):
        if formula.name in found:
            raise ValueError(f"two formulas are called '{formula.name}'")
        found[formula.name] = formula
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
