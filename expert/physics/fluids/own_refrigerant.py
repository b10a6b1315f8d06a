"""A refrigerant that a company adds: by its composition, or by a saturation table of its own.

From a composition the table is built with the library's mixture model the first time it is
needed, and kept in the user's cache folder. A table of one's own is used as it is, between its
first and last line; what needs more than saturation is then not available.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from expert.made_when_used import dataclass
from expert.physics.fluids import refrigerants, saturation
from expert.physics.fluids.of_context import TABLES
from expert.physics.fluids.refrigerants import Refrigerant
from expert.physics.frame.physics_errors import NotAvailable
from expert.user_folders import of_user

FEWEST = 4  # lines of a table through which a curve can be drawn


@dataclass(frozen=True)
class SaturationRow:
    """One line of a table: kelvin, and dew and bubble pressure in pascal absolute."""

    temperature: float
    dew: float
    bubble: float


@dataclass(frozen=True)
class OwnRefrigerant:
    """A company's refrigerant; without `rows` it is built from its composition."""

    refrigerant: Refrigerant
    rows: tuple[SaturationRow, ...] = ()


def carry(own: Iterable[OwnRefrigerant]) -> None:
    """Know these by name, with their saturation, for as long as the program runs."""
    found = tuple(own)
    refrigerants.carry(each.refrigerant for each in found)
    for each in found:
        one = each.refrigerant
        table = table_of_rows(one, each.rows) if each.rows else None
        saturation.carry_table(one.designation, table or (lambda one=one: _built(one)))


@cache
def constituents() -> dict[str, str]:
    """What a composition may name, with the library's name of it."""
    text = Path(__file__).with_name("refrigerants.json").read_text("utf-8")
    found: dict[str, str] = json.loads(text)["constituents"]
    return found


def sourced(text: str, name: str) -> str:
    """The source of a result with a company's own in it, where the refrigerant is theirs."""
    if not refrigerants.of_company(name):
        return text
    one = refrigerants.refrigerant(name)
    if one.model_components:
        return f"{text}; composition of {one.designation} from {one.composition_source}"
    return text.replace(TABLES, f"saturation of {one.designation} from {one.composition_source}")


def with_model(one: Refrigerant) -> Refrigerant:
    """The refrigerant with the library's names of its constituents, where it knows them all."""
    known = constituents()
    if not one.composition or not set(one.composition) <= set(known):
        return one
    shares = {known[part]: share / 100 for part, share in one.composition.items()}
    return replace(one, model_components=shares)


def table_of_rows(one: Refrigerant, rows: Sequence[SaturationRow]) -> dict[str, Any]:
    """A company's lines as a table in the shape of those that are shipped, without densities."""
    from expert.physics.fluids.build_tables import spline_slopes

    def curve(pressures: Sequence[float]) -> dict[str, list[float]]:
        inverse = [1 / row.temperature for row in reversed(rows)]
        logs = [math.log(pressure) for pressure in reversed(pressures)]
        slopes = spline_slopes(inverse, logs)
        return {
            "T": [row.temperature for row in rows],
            "ln": logs[::-1],
            "slope": slopes[::-1],
        }

    curves = {"bubble": curve([row.bubble for row in rows])}
    if any(row.bubble != row.dew for row in rows):
        curves["dew"] = curve([row.dew for row in rows])
    return {
        "refrigerant": one.designation,
        "critical_T": math.inf,
        "critical_p": math.inf,
        "molar_mass_g_mol": one.molar_mass_g_mol,
        "triple_point": False,
        "curves": curves,
    }


def _built(one: Refrigerant) -> dict[str, Any]:
    """The table of a composition, from the cache folder or built now (seconds)."""
    from importlib.metadata import PackageNotFoundError, version

    from expert.physics.fluids.build_tables import build

    try:
        model = version("CoolProp")
    except PackageNotFoundError:
        model = ""
    shown = json.dumps([model, one.designation, dict(one.model_components)])
    name = f"refrigerant-{hashlib.sha256(shown.encode()).hexdigest()[:24]}.json"
    kept = _folder() / name
    with suppress(OSError, ValueError):
        found: dict[str, Any] = json.loads(kept.read_text("utf-8"))
        return found
    try:
        made = build(one.designation)
    except ValueError as error:
        raise NotAvailable(
            f"Saturation of {one.designation}",
            f"the property library cannot mix it ({error}); give a table under 'saturation:'",
        ) from error
    with suppress(OSError):
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_text(json.dumps(made), encoding="utf-8")
    return made


def _folder() -> Path:
    return of_user("cache")
