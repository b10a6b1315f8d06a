"""Movements, happenings and systems for the tests of the records. All invented."""

from __future__ import annotations

from datetime import UTC, date, datetime
from fractions import Fraction

from expert.physics.leak_law.rate import Method
from expert.records.movements import Happening, Movement
from expert.records.record_roles import ADDED
from expert.records.systems import System

AT = datetime(2026, 1, 1, tzinfo=UTC)


def system(
    charge: object = 600, methods: tuple[Method, ...] = (Method.ANNUALIZING,), name: str = "A"
) -> System:
    pounds = None if charge is None else Fraction(str(charge))
    return System("Invented store", name, f"Rack {name}", "R-449A", pounds, methods)


def movement(
    day: str, pounds: object, kind: str = ADDED, reason: str = "found low", **more: object
) -> Movement:
    values: dict[str, object] = {
        "system": "A", "day": date.fromisoformat(day), "kind": kind,
        "pounds": Fraction(str(pounds)), "written": f"{pounds} lb", "at": AT,
        "job": f"job-{day}", "key": "amount", "reason": reason, "who": "A. Sample",
    }  # fmt: skip
    return Movement(**{**values, **more})  # type: ignore[arg-type]


def happening(day: str, what: str) -> Happening:
    return Happening("A", date.fromisoformat(day), what, AT, f"job-{day}")
