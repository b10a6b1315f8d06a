"""Technician, lead and office on a real server: what each may do, by the server's own means."""

from __future__ import annotations

from collections.abc import Iterator

import postgres_server
import pytest
from quick import a_job, an_entry

from expert.cli.company.server_roles import STATEMENTS
from expert.procedure.log import KnownText
from expert.store.jobs import JobStore
from expert.store.kept_known import kept_known
from expert.store.kept_sites import keep_site, kept_sites
from expert.store.releases import add_release, released
from expert.store.store_errors import StoreError
from expert.store.summaries import keep_summaries, kept_summaries

PEOPLE = {"a.sample": "rackwalk_technician", "b.sample": "rackwalk_lead",
          "c.sample": "rackwalk_office", "d.nobody": ""}  # fmt: skip
NOT_ALLOWED = "permission denied"


@pytest.fixture
def server(postgres: str) -> Iterator[str]:
    """A store whose owner has given the roles, and a login for each of four people."""
    import psycopg

    postgres_server.empty(postgres)
    JobStore(postgres).close()
    with psycopg.connect(postgres, autocommit=True) as owner:
        for _ in range(2):  # may be run again
            owner.execute(STATEMENTS)
        for name, role in PEOPLE.items():
            owner.execute(f'DROP ROLE IF EXISTS "{name}"')
            owner.execute(f'CREATE ROLE "{name}" LOGIN' + (f" IN ROLE {role}" if role else ""))
    yield postgres
    postgres_server.empty(postgres)


def login(server: str, name: str) -> JobStore:
    return JobStore(server.replace("tester@", f"{name}@"))


def refused(store: JobStore, statement: str) -> str:
    with pytest.raises(StoreError) as told, store.database.transaction():
        store.database.run(statement)
    return str(told.value)


def test_each_role_does_its_work_and_no_other(server: str) -> None:
    with login(server, "a.sample") as technician:
        job_id = technician.create(a_job())
        technician.append(job_id, an_entry(1, "read"))
        technician.extend(job_id, [an_entry(2, "signed")], a_job().created)
        keep_summaries(technician.database, [(job_id, 2, "{}")], 1, a_job().created)
        assert kept_summaries(technician.database, 1) == {job_id: "{}"}
        for after in (0, 1):
            keep_site(technician.database, "Store", "site: {}", at=a_job().created, who="A. Sample",
                      why="tried", after=after)  # fmt: skip
        assert kept_sites(technician.database)["Store"].version == 2
        for statement in (
            "UPDATE entry SET data = '{}'", "DELETE FROM entry", "DELETE FROM job",
            "UPDATE job SET who = 'somebody else'", "UPDATE site_file SET text = ''",
            "DROP TABLE entry", "UPDATE kept_site SET text = ''", "DELETE FROM release",
        ):  # fmt: skip
            told = refused(technician, statement)
            assert NOT_ALLOWED in told or "must be owner" in told, statement
        with pytest.raises(StoreError, match="rackwalk packs roles"):
            add_release(technician.database, "id", "manifest", "signature", "", 0)
    with login(server, "b.sample") as lead:
        add_release(lead.database, "id", "manifest", "signature", "", 0)
        assert released(lead.database) == [("manifest", "signature")]
        assert NOT_ALLOWED in refused(lead, "DELETE FROM job")
        assert NOT_ALLOWED in refused(lead, "UPDATE release SET manifest = 'another'")
    with login(server, "c.sample") as office:
        assert NOT_ALLOWED in refused(office, "UPDATE entry SET data = '{}'")
        office.remove(job_id)
        assert office.jobs() == ()
    with JobStore(server) as owner:
        assert owner.database.check() == []


def test_roles_of_a_server_of_the_form_before_may_finish_jobs_after_the_change(server: str) -> None:
    with JobStore(server) as owner, owner.database.transaction():
        owner.database.run("DROP TABLE known")
        owner.database.run("UPDATE form SET version = 4")
    JobStore(server).close()
    with login(server, "a.sample") as technician:
        job_id = technician.create(a_job())
        known = KnownText("frame", "text")
        technician.extend(job_id, [an_entry(1, "signed")], a_job().created, known)
        assert kept_known(technician.database, [job_id]) == {job_id: known}


def test_somebody_without_a_role_is_told_what_is_needed(server: str) -> None:
    with pytest.raises(StoreError, match="rackwalk packs roles"):
        login(server, "d.nobody")
