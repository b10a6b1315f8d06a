"""`rackwalk sync`: take what the company gave out, and exchange jobs with its store."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from expert.cli.company.server import (
    add_server,
    crews_of,
    given_out,
    open_server,
    today,
    trusted_keys,
)
from expert.cli.frame.common import open_jobs, say
from expert.cli.frame.options import add_place
from expert.errors import UsageError

if TYPE_CHECKING:
    from expert.rollout.exchange_with import Exchanged
    from expert.store.jobs import JobStore

DESCRIPTION = """\
First the versions of the company's pack, each held against the keys that this machine trusts; one
that is not signed or was changed is refused, and what was in force stays. Then the jobs, one after
the other, both ways: what went on in two places is kept as two histories. Where it is cut off it
goes on the next time; what was exchanged until then stays. Jobs are always kept on this machine
first, so work goes on where the store cannot be reached.

To judge by what is in force: rackwalk settings pack company"""
EXAMPLES = """\
  rackwalk sync
  rackwalk sync --server postgresql://a.sample@jobs.example/rackwalk --only-site 'North Store'"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("--only-site", default="", metavar="NAME", help="take only jobs of it")
    add_server(parser)
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 3 where a pack was refused, 6 where the store cannot be reached."""
    from expert.rollout.exchange_with import exchange, waiting
    from expert.rollout.rollout_errors import RefusedError
    from expert.store.store_errors import StoreError

    refused = ""
    with open_jobs(options.jobs) as here:
        if here.read_only:
            raise StoreError(f"Nothing was exchanged: {here.read_only}")
        try:
            there = open_server(options.server)
        except StoreError as error:
            raise StoreError(
                f"{error} Nothing is lost: work goes on here, and {_jobs(waiting(here))} here "
                "can be exchanged once it is reached."
            ) from None
        try:
            with there:
                if there.database.name == here.database.name:
                    raise UsageError("The company's store is the one in which the jobs are kept.")
                try:
                    _take_packs(here, there)
                except RefusedError as error:
                    refused = str(error)
                done = exchange(here, there, site=options.only_site)
                left = waiting(here)
        except StoreError as error:
            raise StoreError(
                f"{error} What was exchanged until then stays; 'rackwalk sync' goes on from there."
            ) from None
    _tell(done, left)
    if refused:
        sys.stderr.write(f"rackwalk: {refused}\n")
        return RefusedError.exit_code
    return UsageError.exit_code if done.left_out else 0


def _take_packs(here: JobStore, there: JobStore) -> None:
    """Lay down every version that this machine should have. Raises RefusedError."""
    from expert.rollout.installed import Installed
    from expert.rollout.release import awaited, in_force, verified, versions
    from expert.rollout.rollout_errors import RefusedError
    from expert.store.releases import content

    installed = Installed(here.folder)
    releases = given_out(there)
    try:
        had = installed.releases()
    except RefusedError:
        had = ()
    if not releases and not had:
        return
    verified(releases, trusted_keys())
    if [each.id for each in releases[: len(had)]] != [each.id for each in had]:
        raise RefusedError(
            "The company's store no longer has what this machine took from it before; what was in "
            "force stays. Ask the office whether its releases were begun again; if so, "
            f"delete {installed.folder}."
        )
    listed = versions(releases)
    crews = crews_of()
    before = in_force(versions(had), today(), crews)
    for version in awaited(listed, today(), crews):
        if not installed.has(version):
            installed.install(version, content(there.database, version.release.id))
            say(f"Taken: {version}, from {version.begins}.")
    installed.keep(releases)
    now = in_force(listed, today(), crews)
    if (now and now.release.id) != (before and before.release.id):
        say(f"In force now: {now or 'the rules of the program'}.")


def _tell(done: Exchanged, left: int) -> None:
    for way, what in (("up", "given"), ("down", "taken")):
        counted = ", ".join(f"{count} {name}" for name, count in done.counts[way].items())
        say(f"Jobs {what}: {counted or 'none'}.")
    for message in done.messages:
        say(message)
    if left:
        say(f"{_jobs(left)} of this machine wait for the next time.")


def _jobs(count: int) -> str:
    return f"{count} job{'' if count == 1 else 's'}"
