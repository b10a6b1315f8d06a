"""What a finding turned out to be is asked on the page of a finished job, as in the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from small_server import Running, Visitor, begun, done_of_demo, served

from expert.report.outcomes import ANOTHER, outcomes_in
from expert.store.jobs import JobStore
from expert.web.roles import READ_ONLY

LOW = "Defrost differential regulator set too low"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place: Path = tmp_path_factory.mktemp("outcome") / "jobs"
    done_of_demo(place, "hot-gas-defrost-checkout.a4-low-differential")
    return place


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[Running]:
    with served(folder) as one:
        yield one


def at_job(server: Running, folder: Path, name: str, role: str = "") -> tuple[Visitor, str]:
    with JobStore(folder / "jobs.db") as store:
        job = store.jobs()[0].id
    visitor = server.visitor(name, role) if role else server.visitor(name)
    visitor.go(f"/jobs/{job}")
    return visitor, job


def test_it_is_asked_kept_with_who_said_it_and_then_not_asked_again(
    server: Running, folder: Path
) -> None:
    looks, _ = at_job(server, folder, "C. Sample", READ_ONLY)
    assert "was that confirmed?" not in looks.text()  # who only reads is not asked
    page, job = at_job(server, folder, "B. Sample")
    assert f"{LOW}: was that confirmed?" in page.text()
    page.submit(page.form("/outcome", 1), text="gremlins")
    assert page.status == 422 and "No cause is called 'gremlins'" in page.text()
    page.submit(page.form("/outcome", 1), text="suction stop leaking", how="valve changed")
    assert page.status == 200 and "Kept." in page.text()
    assert f"{LOW}: was that confirmed?" not in page.text()
    with JobStore(folder / "jobs.db") as store:
        (said,) = outcomes_in(store.entries(job))
        assert store.get(job).finished is not None
    assert (said.answer, said.actual, said.how) == (
        ANOTHER, "suction-stop-leaking", "valve changed",
    )  # fmt: skip
    assert said.who == "B. Sample"


def test_an_unfinished_job_takes_none(server: Running) -> None:
    visitor = server.visitor()
    job = begun(visitor)
    token = visitor.form("/answer").value("form")
    visitor.send(
        f"/jobs/{job}/outcome", {"form": token, "once": "x" * 32, "cause": "y", "text": "yes"}
    )
    assert visitor.status == 422, visitor.text()
    assert "look again" in visitor.text()
