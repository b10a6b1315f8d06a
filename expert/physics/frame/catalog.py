"""Every formula by name: what `rackwalk calc` offers and what derived values may call."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module

from expert.errors import nearest
from expert.physics.frame.formula import Formula
from expert.physics.frame.physics_errors import PhysicsError

# those that a checklist usually needs stand first, since the rest is then never imported
MODULES = (
    "cycle.pressure_temperature",
    "cycle.low_side",
    "cycle.high_side",
    "cycle.condenser",
    "cycle.compression",
    "liquid.liquid_line",
    "cycle.single_stage",
    "liquid.pipe",
    "frost.hot_gas",
    "tightness.standing_test",
    "leak_law.rate",
    "leak_law.recovery",
    "frost.moisture_load",
    "cycle.measured_compression",
    "cycle.heat_exchange",
    "cycle.gas_cooler",
    "electric.phases",
)


class _Catalog(Mapping[str, Formula]):
    """The formulas of all modules; a module is imported when one of its formulas is looked for."""

    def __init__(self) -> None:
        self._found: dict[str, Formula] = {}
        self._left = list(MODULES)

    def __getitem__(self, name: str) -> Formula:
        while name not in self._found and self._left:
            self._next()
        return self._found[name]

    def __iter__(self) -> Iterator[str]:
        while self._left:
            self._next()
        return iter(self._found)

    def __len__(self) -> int:
        return len(list(iter(self)))

    def _next(self) -> None:
        for one in import_module(f"expert.physics.{self._left[0]}").FORMULAS:
            if one.name in self._found:
                raise ValueError(f"two formulas are called '{one.name}'")
            self._found[one.name] = one
        self._left.pop(0)


CATALOG: Mapping[str, Formula] = _Catalog()


def formula(name: str) -> Formula:
    """The formula of this name. Raises `PhysicsError` with the nearest known name."""
    if name not in CATALOG:
        hint = nearest(name, CATALOG)
        raise PhysicsError(f"No formula is called '{name}'. {hint}".rstrip())
    return CATALOG[name]


def warning(name: str, value: float) -> str:
    """What a result [SI] of a formula that cannot be right would mean, or nothing."""
    return formula(name).warn(value)
