"""The leak repair rules as exact numbers and dates, read from the data file beside this module."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from expert.made_when_used import dataclass
from expert.physics.fluids.refrigerants import Refrigerant, refrigerant
from expert.physics.frame.physics_errors import PhysicsError

Number = int | float | str | Decimal | Fraction


@dataclass(frozen=True)
class SourcedNumber:
    """One number of the rules with its source."""

    value: Fraction
    source: str


@dataclass(frozen=True)
class Programme:
    """One federal programme: what it covers, from which full charge [lb], from which day."""

    id: str
    citation: str
    covers: str
    full_charge: SourcedNumber
    in_force: date
    excludes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Detection:
    """The automatic leak detection duty; charges in pounds."""

    citation: str
    full_charge: SourcedNumber
    oldest_installed: date
    new_from: date
    older_by: date
    days_after_installation: SourcedNumber
    alert: SourcedNumber
    alert_share: SourcedNumber


@dataclass(frozen=True)
class LeakRules:
    """All figures; charges in pounds, rates as shares of the full charge (0.2 is 20 %)."""

    notice: str
    programmes: tuple[Programme, ...]
    limits: Mapping[str, SourcedNumber]
    figures: Mapping[str, SourcedNumber]
    chronic_report: tuple[int, int]
    gwp_above: SourcedNumber
    class_i_or_ii: frozenset[str]
    regulated_hfc: frozenset[str]
    detection: Detection

    def figure(self, name: str) -> Fraction:
        """Value of a named figure."""
        return self.figures[name].value

    def days(self, name: str) -> int:
        """A named figure as a whole number."""
        return int(self.figures[name].value)

    def limit(self, use: str) -> Fraction:
        """Leak rate limit [share a year] of a use. Raises `PhysicsError` for an unknown use."""
        if use not in self.limits:
            raise PhysicsError(f"'{use}' is not one of: {', '.join(self.limits)}.")
        return self.limits[use].value

    def programmes_for(self, name: str, use: str = "") -> tuple[Programme, ...]:
        """Programmes that cover a refrigerant by what it contains, whatever its charge.

        A programme that excludes the use does not.

        A blend of both kinds is under both. Raises `UnknownRefrigerant`, and `PhysicsError`
        where neither its contents nor a known GWP decides.
        """
        one = refrigerant(name)
        parts = set(one.composition)
        ozone = bool(parts & self.class_i_or_ii)
        hydrofluorocarbon = bool(parts & self.regulated_hfc)
        if not (ozone or hydrofluorocarbon):
            hydrofluorocarbon = _gwp(one) > self.gwp_above.value
        covered = {"ozone-depleting": ozone, "hydrofluorocarbon": hydrofluorocarbon}
        return tuple(
            programme
            for programme in self.programmes
            if covered[programme.id] and use not in programme.excludes
        )


_FIGURES = (
    "year_days",
    "repair_days",
    "repair_days_with_shutdown",
    "follow_up_days",
    "plan_days",
    "plan_years",
    "inspection_charge_lb",
    "inspection_months_large",
    "inspection_months_small",
    "chronic_percent",
    "records_years",
    "seasonal_months",
)


def exact(number: Number) -> Fraction:
    """The number as it was written, exactly: 31.6 is 158/5. Raises `PhysicsError`."""
    try:
        if isinstance(number, float):
            return Fraction(Decimal(repr(number)))
        return Fraction(Decimal(number)) if isinstance(number, str) else Fraction(number)
    except (ValueError, InvalidOperation, OverflowError) as error:
        raise PhysicsError(f"'{number}' is not a number.") from error


@cache
def leak_rules() -> LeakRules:
    """The federal rules shipped with the package."""
    file = resources.files("expert.physics.leak_law").joinpath("leak_rules.yaml")
    return read_rules(file.read_text("utf-8"))


def read_rules(text: str) -> LeakRules:
    """Rules from YAML text in the shape of the shipped file. Raises `PhysicsError`.

    Every scalar is read as the text that stands there.
    """
    import yaml

    try:
        return _rules(yaml.load(text, Loader=yaml.BaseLoader))  # noqa: S506
    except yaml.YAMLError as error:
        raise PhysicsError(f"The leak rules are not YAML: {error}") from error
    except KeyError as error:
        raise PhysicsError(f"The leak rules lack {error}.") from error
    except (TypeError, AttributeError, ValueError) as error:
        raise PhysicsError(f"The leak rules are not in the shape of the file: {error}.") from error


def _rules(data: Any) -> LeakRules:
    month, day = data["chronic_report"]["value"].split("-")
    return LeakRules(
        notice=data["notice"].strip(),
        programmes=tuple(_programme(entry) for entry in data["programmes"]),
        limits={use: _percent(entry) for use, entry in data["limits_percent"].items()},
        figures={name: _figure(data[name]) for name in _FIGURES},
        chronic_report=(int(month), int(day)),
        gwp_above=_figure(data["gwp_above"]),
        class_i_or_ii=frozenset(data["class_i_or_ii"]["value"].split()),
        regulated_hfc=frozenset(data["regulated_hfc"]["value"].split()),
        detection=_detection(data["detection"]),
    )


def _programme(entry: Any) -> Programme:
    return Programme(
        id=entry["id"],
        citation=entry["citation"],
        covers=entry["covers"],
        full_charge=_figure(entry["full_charge_lb"]),
        in_force=_date(entry["in_force"]),
        excludes=(entry["excludes"]["value"],) if "excludes" in entry else (),
    )


def _detection(entry: Any) -> Detection:
    return Detection(
        citation=entry["citation"],
        full_charge=_figure(entry["full_charge_lb"]),
        oldest_installed=_date(entry["oldest_installed"]),
        new_from=_date(entry["new_from"]),
        older_by=_date(entry["older_by"]),
        days_after_installation=_figure(entry["days_after_installation"]),
        alert=_figure(entry["alert_lb"]),
        alert_share=_percent(entry["alert_percent"]),
    )


def _gwp(one: Refrigerant) -> Fraction:
    for report in ("AIM_Act", "AR4", "AR5"):
        value = one.gwp.get(report)
        if isinstance(value, int | float):
            return exact(value)
        if isinstance(value, str) and value.startswith("<"):
            return exact(value[1:].split()[0])
    raise PhysicsError(f"The GWP of {one.designation} is not known, so no rule can be chosen.")


def _figure(entry: Any) -> SourcedNumber:
    return SourcedNumber(exact(entry["value"]), entry["source"])


def _percent(entry: Any) -> SourcedNumber:
    return SourcedNumber(exact(entry["value"]) / 100, entry["source"])


def _date(entry: Any) -> date:
    return date.fromisoformat(entry["value"])
