"""The refrigerants as data: identity, safety class, GWP, limits, and where the model stands.

What people edit is refrigerants.yaml; what is read is the same as JSON, written by
`build_tables`, since a parser of YAML would be half of the time that a short calculation takes.
A company's own refrigerants join by `carry`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from expert.made_when_used import dataclass
from expert.physics.frame.physics_errors import UnknownRefrigerant
from expert.units.kinds import FAHRENHEIT


@dataclass(frozen=True)
class ConcentrationLimit:
    """Refrigerant concentration limit of ASHRAE 34, with its source."""

    ppm_by_volume: float
    lb_per_1000_ft3: float
    source: str


@dataclass(frozen=True)
class Refrigerant:
    """One refrigerant. Composition in mass percent, molar mass in g/mol, GWP by report.

    `model` names the CoolProp fluid; `model_components` gives mass fractions where it must be
    built, `estimated` that some of its pairs have estimated mixing parameters, `to_critical`
    that its equation holds up to the critical point. `normal_point` holds bubble and dew at
    101.325 kPa [C], `glide` is dew less bubble there [K], and `model_error` the uncertainty of a
    saturation temperature from the model alone [K].
    """

    designation: str
    use: str
    composition: Mapping[str, float]
    composition_source: str
    molar_mass_g_mol: float
    safety_class: str
    safety_class_source: str
    gwp: Mapping[str, float | str]
    gwp_source: str
    rule: str
    aliases: tuple[str, ...] = ()
    gwp_printed: Mapping[str, Any] = field(default_factory=dict)
    concentration_limit: ConcentrationLimit | None = None
    normal_point: Mapping[str, Any] = field(default_factory=dict)
    model: str = ""
    model_components: Mapping[str, float] = field(default_factory=dict)
    estimated: bool = False
    to_critical: bool = False
    glide: float | None = None
    model_error: float = 0.0
    model_error_source: str = ""
    notes: tuple[str, ...] = ()

    @property
    def blend(self) -> bool:
        """Whether it has more than one constituent."""
        return len(self.composition) > 1


_KINDS = re.compile(r"^(?:hcfc|hfc|hfo|cfc|hc)(?=\d)")
_COMPANY: dict[str, Refrigerant] = {}


@lru_cache(4096)
def key(name: str) -> str:
    """The form in which names are compared: 'R-448A', '448a' and 'HFC 448A' give 'r448a'."""
    plain = _KINDS.sub("r", re.sub(r"[^a-z0-9]", "", name.lower()))
    return f"r{plain}" if plain[:1].isdigit() else plain


def refrigerants() -> tuple[Refrigerant, ...]:
    """Every refrigerant of the data file, in its order, and then those of the company."""
    own = {one.designation: one for one in _COMPANY.values()}.values()
    shipped = (one for one in _shipped() if key(one.designation) not in _COMPANY)
    return (*shipped, *own)


def refrigerant(name: str) -> Refrigerant:
    """The refrigerant of this name, however it is spelt. Raises `UnknownRefrigerant`.

    Nothing near it is offered: a neighbour in spelling is another fluid.
    """
    found = _COMPANY.get(key(name)) or _by_key().get(key(name))
    if found is None:
        raise UnknownRefrigerant(name, _lettered(name))
    return found


@cache
def names() -> tuple[str, ...]:
    """Designations of all refrigerants, as 'R-449A'."""
    return tuple(one.designation for one in refrigerants())


def carry(own: Iterable[Refrigerant]) -> None:
    """Know a company's own refrigerants by name from now on, for as long as the program runs."""
    for one in own:
        _COMPANY.update({key(name): one for name in (one.designation, *one.aliases)})
        names.cache_clear()


def of_company(name: str) -> bool:
    """Whether a refrigerant is one that a company added."""
    return key(name) in _COMPANY


def taken(name: str) -> bool:
    """Whether a shipped refrigerant has this name already."""
    return key(name) in _by_key()


def _lettered(name: str) -> list[str]:
    """Blends of the number typed, where only the letter was left out."""
    typed = key(name)
    if not re.fullmatch(r"r[45]\d\d", typed):
        return []
    known = (one.designation for one in refrigerants())
    return [each for each in known if re.fullmatch(rf"{typed}[a-z]", key(each))]


@cache
def _file() -> dict[str, Any]:
    text = Path(__file__).with_name("refrigerants.json").read_text("utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


@cache
def _shipped() -> tuple[Refrigerant, ...]:
    return tuple(_read_shipped(entry) for entry in _file()["refrigerants"])


def _read_shipped(entry: dict[str, Any]) -> Refrigerant:
    one = read(entry)
    if not one.estimated:
        return one
    known = _file()["constituents"]
    return replace(
        one, model_components={known[part]: share / 100 for part, share in one.composition.items()}
    )


@cache
def estimated_pairs() -> dict[frozenset[str], float]:
    """The gamma_T of each pair that the library has no published parameters for, by its names."""
    return {frozenset(each["of"]): each["gamma_T"] for each in _file()["estimated_pairs"]}


@cache
def _by_key() -> dict[str, Refrigerant]:
    found = _shipped()
    return {key(name): one for one in found for name in (one.designation, *one.aliases)}


def read(entry: dict[str, Any]) -> Refrigerant:
    """A refrigerant of an entry of the data file."""
    entry = dict(entry)
    limit = entry.pop("concentration_limit", None)
    for name in ("aliases", "notes"):
        entry[name] = tuple(entry.get(name, ()))
    converted = {
        "glide": entry.pop("glide_1atm_K", None),
        "normal_point": entry.pop("normal_point_C", {}),
        "model_error": entry.pop("model_error_F", 0.0) * FAHRENHEIT,
        "concentration_limit": ConcentrationLimit(**limit) if limit else None,
    }
    return Refrigerant(**entry, **converted)
