"""Movements, happenings and systems for the tests of the records. All invented."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from expert.physics.leak_law.rate import Method
from expert.records.audit import Done
from expert.records.job_summary import STANDS, JobSummary, RecordedFinding
from expert.records.movements import Happening, Movement
from expert.records.record_roles import ADDED
from expert.records.systems import System

AT = datetime(2026, 1, 1, tzinfo=UTC)
DAY = date(2026, 1, 1)


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


def found(
    cause: str, standing: str = STANDS, system: str = "liquid", parts: tuple = ()
) -> RecordedFinding:
    return RecordedFinding("A4", cause, cause.title(), system, parts, "likely", standing)


def done(
    number: int, *findings: RecordedFinding, after: int = 0, who: str = "A. Sample", **more: object
) -> Done:
    values: dict[str, object] = {
        "judged": True, "rules": "", "title": "", "as_found": (4, 4), "cautions": (2, 2),
        "changes": 0, "remeasured": 0, "opened": 1, "still_open": (), "skips": (), "signed": who,
        "finished": True, "last": "", "seconds": (("step", 60),), "found": findings,
        "set_aside": (),
    }  # fmt: skip
    short = JobSummary(**{**values, **more})  # type: ignore[arg-type]
    day = DAY + timedelta(days=after)
    return Done(f"job-{number}", "checkout", "Store", "A4", who, day, short)
