"""`rackwalk packs roles`: the statements that give a server its roles."""

from __future__ import annotations

import argparse
import sys

from expert.store.kept_sites import TABLE

DESCRIPTION = """\
Prints SQL for whoever looks after the PostgreSQL server; nothing is sent anywhere. It is run once
by the owner of the tables (who opened the store first) and may be run again. Every person then
gets a login of the server in one of the roles:

  technician  reads everything, begins jobs, adds entries and keeps versions of stores; changes none
              of them and removes none
  lead        that, and gives versions of the pack out
  office      that, and may take whole jobs out

No role may change an entry; what the server lets its owner do, 'rackwalk jobs check' tells."""
EXAMPLES = """\
  rackwalk packs roles"""
_STATEMENTS = """\
DO $$ BEGIN
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'rackwalk_technician') THEN
    CREATE ROLE rackwalk_technician NOLOGIN;
  END IF;
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'rackwalk_lead') THEN
    CREATE ROLE rackwalk_lead NOLOGIN;
  END IF;
  IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'rackwalk_office') THEN
    CREATE ROLE rackwalk_office NOLOGIN;
  END IF;
END $$;
KEPT_SITE;
GRANT rackwalk_technician TO rackwalk_lead;
GRANT rackwalk_lead TO rackwalk_office;
GRANT USAGE ON SCHEMA rackwalk TO rackwalk_technician;
GRANT SELECT ON ALL TABLES IN SCHEMA rackwalk TO rackwalk_technician;
GRANT INSERT ON rackwalk.site_file, rackwalk.job, rackwalk.entry, rackwalk.summary,
  rackwalk.kept_site TO rackwalk_technician;
GRANT UPDATE (entries, last, chain, finished) ON rackwalk.job TO rackwalk_technician;
-- made from the entries, who holds a job, what was exchanged: no records
GRANT INSERT, UPDATE, DELETE ON rackwalk.fact, rackwalk.known, rackwalk.lease, rackwalk.exchanged
  TO rackwalk_technician;
GRANT INSERT ON rackwalk.release TO rackwalk_lead;
GRANT DELETE ON rackwalk.job, rackwalk.entry, rackwalk.summary TO rackwalk_office;
-- a person: CREATE ROLE "a.sample" LOGIN PASSWORD '...' IN ROLE rackwalk_technician;
"""
# the one table that is made when it is first needed, which a technician may not do
STATEMENTS = _STATEMENTS.replace("KEPT_SITE", TABLE.replace("kept_site", "rackwalk.kept_site"))


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """None."""


def run(options: argparse.Namespace) -> int:
    """Exit code 0."""
    sys.stdout.write(STATEMENTS)
    return 0
