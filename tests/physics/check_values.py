"""Check values of the data folder by their id, and the units they are printed in."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import yaml

from expert.units.kinds import FAHRENHEIT, FAHRENHEIT_ZERO

INCH = 0.0254
CUBIC_FOOT = 0.3048**3
MICRON = 0.1333224


@cache
def cases(file: str, key: str) -> dict[str, dict[str, Any]]:
    """Cases of a data file by id."""
    text = Path(__file__).with_name("data").joinpath(file).read_text("utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return {case["id"]: case for case in yaml.load(text, Loader=loader)[key]}


def service(identity: str) -> dict[str, Any]:
    """A case of liquid, defrost, tightness, water or air."""
    return cases("service_checks.yaml", "examples")[identity]


def leak(identity: str) -> dict[str, Any]:
    """A case of the leak rate rules."""
    return cases("leak_rate_cases.yaml", "cases")[identity]


def kelvin(fahrenheit: float) -> float:
    """Kelvin of degrees Fahrenheit."""
    return fahrenheit * FAHRENHEIT + FAHRENHEIT_ZERO


def fahrenheit(kelvins: float) -> float:
    """Degrees Fahrenheit of kelvins."""
    return (kelvins - FAHRENHEIT_ZERO) / FAHRENHEIT
