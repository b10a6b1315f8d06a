"""What the walks share: the demo site, when a walk begins, and a job that was played."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from expert.inference.evaluate import Evaluator
from expert.places import shipped
from expert.procedure.entries import Entry
from expert.procedure.runner import Runner
from expert.procedure.session import Session

HERE = Path(__file__).parent
DEMO = shipped("checklists") / "demo"
START = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Walked:
    """A job that was played from an answers file to its end."""

    runner: Runner
    evaluator: Evaluator
    session: Session
    questions: tuple[str, ...]


class Memory:
    """A log that keeps nothing; the session keeps its entries."""

    def append(self, job_id: str, *entries: Entry) -> None:
        """Kept by the session."""

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Not noted."""
