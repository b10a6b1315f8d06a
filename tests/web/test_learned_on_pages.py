"""What a job knows of its store is offered on its page, and nothing is kept that nobody pressed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from shutil import copytree

import pytest
from small_server import DEMO, Running, Visitor, begun, done_of_demo, forms_of, served

from expert.cli.frame.main import main
from expert.store.jobs import JobStore
from expert.store.kept_sites import KeptSite, versions
from expert.web.roles import OFFICE, READ_ONLY, TECHNICIAN


def of_store(folder: Path) -> list[KeptSite]:
    with JobStore(folder / "jobs.db") as store:
        (found,) = versions(store.database).values()
    return found


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A checkout that was done by a site file and read what that does not say."""
    place: Path = tmp_path_factory.mktemp("learned") / "jobs"
    done_of_demo(place, "hot-gas-defrost-checkout.a4-healthy")
    return place


@pytest.fixture
def folder(done: Path, tmp_path: Path) -> Path:
    """The same, and the store is kept."""
    place = tmp_path / "jobs"
    copytree(done, place)
    assert main(["site", "keep", str(DEMO / "site.yaml"), "--jobs", str(place)]) == 0
    return place


@pytest.fixture
def server(folder: Path) -> Iterator[Running]:
    with served(folder) as one:
        yield one


def at_job(server: Running, folder: Path, role: str = TECHNICIAN) -> Visitor:
    with JobStore(folder / "jobs.db") as store:
        job = store.jobs()[0].id
    visitor = server.visitor("B. Sample", role)
    visitor.go(f"/jobs/{job}")
    return visitor


def offered(visitor: Visitor) -> dict[str, str]:
    """What the page offers, by its name."""
    forms = [each for each in forms_of(visitor.page) if each.action.endswith("/learn")]
    return {each.value("name"): each.value("shown") for each in forms}


def test_one_press_keeps_one_value_with_who_and_when(server: Running, folder: Path) -> None:
    page = at_job(server, folder)
    before = offered(page)
    assert len(before) > 1 and len(of_store(folder)) == 1  # looking keeps nothing
    name, shown = next(iter(before.items()))
    assert f"by A. Sample on {of_store(folder)[0].at:%Y}" in shown  # who read it and when
    form = page.form("/learn")
    page.submit(form)
    assert page.status == 200 and "Kept: store" in page.text()
    assert offered(page) == {key: text for key, text in before.items() if key != name}
    first, second = of_store(folder)
    assert (second.version, second.who) == (first.version + 1, "B. Sample")
    assert shown in second.why
    page.submit(form)  # sent twice
    assert page.status == 200 and "says so already" in page.text()
    assert len(of_store(folder)) == 2


def test_what_stands_there_gives_way_only_to_its_own_press(server: Running, folder: Path) -> None:
    page = at_job(server, folder)
    stale = page.form("/learn")
    on, quantity, _ = stale.value("name").split("|")
    store = of_store(folder)[0].name
    other = "discharge line" if quantity == "differential_regulator_place" else "cool gas"
    words = ["site", "set", on, quantity, other, "--site", store, "--jobs", str(folder)]
    assert main(words) == 0
    page.submit(stale)  # the page still says that the store says nothing
    assert page.status == 422 and "changed meanwhile; nothing was kept" in page.text()
    assert len(of_store(folder)) == 2
    fresh = next(
        each for each in forms_of(page.page) if each.value("name") == stale.value("name")
    )  # fmt: skip
    assert f"the store says {other}" in fresh.value("shown")
    assert "Put it in the place of what stands there" in page.text()
    page.submit(fresh)
    assert f"(was {other})" in page.text()
    assert len(of_store(folder)) == 3


@pytest.mark.parametrize("role", [READ_ONLY, OFFICE])
def test_who_may_not_work_is_offered_nothing_and_can_send_nothing(
    server: Running, folder: Path, role: str
) -> None:
    does = at_job(server, folder)
    looks = at_job(server, folder, role)
    assert offered(does) and not offered(looks)
    form = does.form("/learn")
    token = looks.form("/sign-out").value("form")
    sent = {"form": token, "name": form.value("name"), "shown": form.value("shown")}
    looks.send(form.action, sent)
    assert looks.status == 403
    assert len(of_store(folder)) == 1


def test_a_job_that_goes_on_keeps_nothing(server: Running, folder: Path) -> None:
    done, goes_on = at_job(server, folder), server.visitor("C. Sample")
    form = done.form("/learn")
    job = begun(goes_on)
    assert not offered(goes_on)
    token = goes_on.form("/answer").value("form")
    sent = {"form": token, "name": form.value("name"), "shown": form.value("shown")}
    goes_on.send(f"/jobs/{job}/learn", sent)
    assert goes_on.status == 422 and "when it is done" in goes_on.text()
    assert len(of_store(folder)) == 1


def test_of_a_store_that_is_a_file_nothing_is_offered(done: Path) -> None:
    with served(done) as server:
        page = at_job(server, done)
        assert "Finished" in page.text() and not offered(page)
