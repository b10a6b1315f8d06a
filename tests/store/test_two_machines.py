"""Two machines and a server, cut off anywhere: no entry lost, doubled or changed, ids stable."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import postgres_server
import pytest
from budget import NIGHTLY
from quick import a_job, an_entry, quick_store

from expert.rollout.exchange_with import DOWN, UP, exchange, waiting
from expert.store.jobs import JobStore
from expert.store.merge import ADDED
from expert.store.store_errors import StoreError

EXCHANGES = {"file": 1000, "server": 1000} if NIGHTLY else {"file": 30, "server": 8}


class Cut(StoreError):
    """The line is gone."""


History = tuple[str, ...]


def history(store: JobStore, job_id: str) -> History:
    """Every entry of a job, to be compared."""
    return tuple(map(repr, store.entries(job_id)))


class Line:
    """Cuts a store off: before its n-th write, also in the middle of a transaction."""

    def __init__(self, store: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
        self.left: int | None = None
        database = store.database
        for name in ("run", "run_many"):
            monkeypatch.setattr(database, name, self._cutting(getattr(database, name)))

    def _cutting(self, write: object) -> object:
        def cutting(*given: object) -> object:
            if self.left is not None:
                self.left -= 1
                if self.left < 0:
                    raise Cut("cut")
            return write(*given)  # type: ignore[operator]

        return cutting


class TwoMachines:
    """Machines and a server, and what was acknowledged on each machine."""

    def __init__(self, server: JobStore, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.machines = [quick_store(folder / f"{name}.db") for name in "ab"]
        self.server = server
        self.stores = [*self.machines, server]
        self.lines = [Line(store, monkeypatch) for store in self.stores]
        self.acknowledged: set[History] = set()
        self.ids: list[dict[str, tuple[str, History]]] = [{} for _ in self.stores]
        self.made = 0

    def work(self, chance: random.Random) -> None:
        """Somebody begins a job, or goes on with any that lies on a machine."""
        machine = chance.choice(self.machines)
        jobs = machine.jobs()
        if not jobs or chance.random() < 0.2:
            job_id = machine.create(a_job(chance.choice(("A1", "A2"))))
        else:
            job_id = chance.choice(jobs).id
        kept = machine.entries(job_id)
        for _ in range(chance.randint(1, 3)):
            self.made += 1
            machine.append(job_id, an_entry(len(kept) + 1, f"note {self.made}"))
            kept = machine.entries(job_id)
        self.acknowledged.add(history(machine, job_id))
        machine.close_leases()  # type: ignore[attr-defined]

    def sync(self, machine: JobStore, chance: random.Random | None) -> None:
        """One exchange; with `chance` it is cut off at some write of one of the two."""
        with suppress(Cut):
            if chance is not None and chance.random() < 0.6:
                cut = chance.choice([self.lines[self.stores.index(machine)], self.lines[-1]])
                cut.left = chance.randint(0, 25)
            exchange(machine, self.server)
        for line in self.lines:
            line.left = None

    def check_ids(self) -> None:
        """Under an id stands the same job, and what was there is there."""
        for store, known in zip(self.stores, self.ids, strict=True):
            for job in store.jobs():
                entries = history(store, job.id)
                if job.id in known:
                    uid, before = known[job.id]
                    assert job.uid == uid
                    assert entries[: len(before)] == before
                known[job.id] = (job.uid, entries)
            assert known.keys() == {job.id for job in store.jobs()}


@pytest.fixture(autouse=True)
def _leases(monkeypatch: pytest.MonkeyPatch) -> None:
    def close_leases(self: JobStore) -> None:
        with self.database.transaction():
            self.database.run("DELETE FROM lease")

    monkeypatch.setattr(JobStore, "close_leases", close_leases, raising=False)


@pytest.fixture(params=["file", "server"])
def server(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[JobStore]:
    if request.param == "file":
        store = quick_store(tmp_path / "server.db")
    else:
        address = request.getfixturevalue("postgres")
        postgres_server.empty(address)
        store = JobStore(address)
    with store:
        yield store


def test_nothing_is_lost_doubled_or_changed_whatever_is_cut(
    request: pytest.FixtureRequest, server: JobStore, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    chance = random.Random(1)
    world = TwoMachines(server, tmp_path, monkeypatch)
    for number in range(EXCHANGES[request.node.callspec.params["server"]]):
        if len(world.acknowledged) < 400 or chance.random() < 0.05:
            world.work(chance)
        world.sync(chance.choice(world.machines), chance)
        if number % (50 if NIGHTLY else 5) == 0:
            world.check_ids()
    for machine in (*world.machines, *world.machines):  # at last nothing is in the way
        world.sync(machine, None)
    world.check_ids()
    held = [{history(store, job.id) for job in store.jobs()} for store in world.stores]
    assert held[0] == held[1] == held[2]
    for kept in world.acknowledged:  # not lost, not changed
        assert any(other[: len(kept)] == kept for other in held[0])
    for store in world.stores:
        histories = [history(store, job.id) for job in store.jobs()]
        for one in histories:  # not doubled: no history is the beginning of another
            assert sum(other[: len(one)] == one for other in histories) == 1
        assert [told for job in store.jobs() if (told := store.altered(job.id))] == []
    for machine in world.machines:
        assert exchange(machine, server).moved == 0
        assert waiting(machine) == 0
        machine.close()


def test_only_what_the_other_does_not_have_is_moved(tmp_path: Path) -> None:
    with quick_store(tmp_path / "a.db") as here, quick_store(tmp_path / "s.db") as there:
        for subject in ("A1", "A2", "A3"):
            job_id = here.create(a_job(subject))
            here.append(job_id, an_entry(1, "begun"))
        done = exchange(here, there)
        assert done.counts[UP] == {ADDED: 3} and done.counts[DOWN] == {}
        asked: list[int] = []
        here.append(job_id, an_entry(2, "gone on"))
        done = exchange(here, there, step=lambda: asked.append(1))
        assert done.moved == 1 and len(asked) == 2  # before and after the one job


def test_a_job_that_came_in_under_another_id_is_found_by_both(tmp_path: Path) -> None:
    with quick_store(tmp_path / "a.db") as a, quick_store(tmp_path / "b.db") as b:
        with quick_store(tmp_path / "s.db") as server:
            for store, text in ((a, "by a"), (b, "by b")):
                store.append(store.create(a_job()), an_entry(1, text))
                exchange(store, server)
        told = {job.id: b.entries(job.id)[0].text("text") for job in b.jobs()}
        assert told["2026-11-25-A4"] == "by b"  # what the sheet says stays
        (other,) = set(told) - {"2026-11-25-A4"}
        assert told[other] == "by a" and other.startswith("2026-11-25-A4.")
        assert [job.id for job in b.namesakes(b.get("2026-11-25-A4"))] == [other]
        assert a.get(other).id == "2026-11-25-A4"  # the new one is found where it is not used


def test_an_altered_job_is_told_and_goes_nowhere(tmp_path: Path) -> None:
    with quick_store(tmp_path / "a.db") as here, quick_store(tmp_path / "s.db") as there:
        job_id = here.create(a_job())
        here.append(job_id, an_entry(1, "as written"))
        with here.database.transaction():
            here.database.run('UPDATE entry SET data = \'{"text": "altered"}\'')
        done = exchange(here, there)
        assert done.left_out == 1 and there.jobs() == ()
        assert (
            "entry 1 is not as it was written" in done.messages[0]
            or "head or entry 1" in (done.messages[0])
        )
