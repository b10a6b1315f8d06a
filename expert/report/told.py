"""What a job was told when it was finished, kept in its own record.

Rules change; what a technician saw does not. The entry `judged` holds it, so that it is exported,
sealed and never judged away; judging again is another thing beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from expert.made_when_used import dataclass
from expert.procedure.entries import Draft, Entry

KIND = "judged"


@dataclass(frozen=True)
class ToldFinding:
    """A finding as it was told: on what, which cause, in which words, how certain (0 to 1).

    `rules` are those that spoke for it, `standing` whether it stands or was put right.
    """

    subject: str
    cause: str
    title: str
    system: str
    words: str
    certainty: float
    rules: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    standing: str = ""


@dataclass(frozen=True)
class Told:
    """All findings in the order in which they were told, and by which rules and checklist."""

    rulebase: str
    rules_hash: str
    checklist_hash: str
    findings: tuple[ToldFinding, ...]
    at: datetime | None = None


def draft_of(told: Told) -> Draft:
    """The entry that keeps it."""
    data: dict[str, object] = {
        "rulebase": told.rulebase, "rules_hash": told.rules_hash,
        "checklist_hash": told.checklist_hash,
        "findings": [
            {**asdict(each), "rules": list(each.rules), "parts": list(each.parts)}
            for each in told.findings
        ],
    }  # fmt: skip
    return Draft(KIND, "", data)


def told_in(entries: Iterable[Entry]) -> Told | None:
    """What the job was told when it was finished last; None where it does not say."""
    last = None
    for entry in entries:
        if entry.kind == KIND:
            last = entry
    return None if last is None else _read(last)


def _read(entry: Entry) -> Told:
    listed = entry.data.get("findings")
    rows = listed if isinstance(listed, list) else []
    found = tuple(_finding(each) for each in rows if isinstance(each, dict))
    return Told(
        entry.text("rulebase"), entry.text("rules_hash"), entry.text("checklist_hash"), found,
        entry.at,
    )  # fmt: skip


def _finding(data: Mapping[str, Any]) -> ToldFinding:
    certainty = data.get("certainty")

    def text(name: str) -> str:
        return str(data.get(name, ""))

    def several(name: str) -> tuple[str, ...]:
        found = data.get(name)
        return tuple(map(str, found)) if isinstance(found, list) else ()

    return ToldFinding(
        text("subject"), text("cause"), text("title"), text("system"), text("words"),
        float(certainty) if isinstance(certainty, int | float) else 0.0,
        several("rules"), several("parts"), text("standing"),
    )  # fmt: skip
