from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import postgres_server

from expert.procedure.entries import Entry
from expert.store.job_row import Job
from expert.store.jobs import JobStore

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture
def job() -> Job:
    return Job(
        checklist="small-checkout", checklist_revision="1", checklist_hash="c0ffee",
        rulebase="small", rulebase_version="1.0", rulebase_hash="beef",
        site="Invented store", site_text="site: {name: Invented store}\n", subject="A4",
        units="us", who="N. N.", created=NOON,
    )  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "folder" / "jobs.db"


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    if reason := postgres_server.why_not():
        pytest.skip(reason)
    with postgres_server.server() as address:
        yield address


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest, path: Path) -> Path | str:
    """Where jobs are kept: what must hold of one must hold of the other."""
    if request.param == "file":
        return path
    address = request.getfixturevalue("postgres")
    postgres_server.empty(address)
    return str(address)


@pytest.fixture
def store(place: Path | str) -> Iterator[JobStore]:
    with JobStore(place) as opened:
        yield opened


def entry(seq: int, text: str = "206 psig") -> Entry:
    """An answer as the runner would make it."""
    data = {
        "quantity": "hot_gas_header_pressure", "kind": "gauge_pressure", "text": text,
        "value": 1420320.0,
    }  # fmt: skip
    return Entry(seq, NOON, "answer", f"step-{seq}", data)


@pytest.fixture(name="entry")
def entry_maker() -> object:
    return entry
