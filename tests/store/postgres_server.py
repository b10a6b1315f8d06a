"""A real PostgreSQL server for the tests, on a socket in a folder of its own.

It is started where the server's programs are found (Debian package postgresql); as root it runs
as another user, for the server refuses root.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PATIENCE = 30.0  # s
USERS = ("postgres", "nobody")


def programs() -> Path | None:
    """The folder of initdb and postgres, the newest version."""
    if (found := shutil.which("initdb")) and shutil.which("postgres"):
        return Path(found).resolve().parent
    installed = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest = max(installed, key=lambda each: int(each.parts[-3]), default=None)
    return newest.parent if newest else None


def why_not() -> str:
    """Why no server can be started here; nothing where one can."""
    if os.name == "nt" or programs() is None:
        return "no PostgreSQL server is installed (Debian package postgresql)"
    try:
        import psycopg  # noqa: F401
        import sqlalchemy  # noqa: F401
    except ImportError:
        return "the extra 'postgres' is not installed"
    return ""


@contextmanager
def server() -> Iterator[str]:
    """The connection address of a fresh server, which ends with the block."""
    folder = Path(tempfile.mkdtemp(prefix="rackwalk-pg-"))
    found = programs()
    assert found is not None
    other: dict[str, object] = {}
    if os.geteuid() == 0:
        user = next(pwd.getpwnam(name) for name in USERS if _known(name))
        os.chown(folder, user.pw_uid, user.pw_gid)
        other = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder, **other}
    data = folder / "data"
    subprocess.run(
        [found / "initdb", "-D", data, "-A", "trust", "-U", "tester", "-E", "UTF8", "--locale=C"],
        check=True, timeout=PATIENCE * 2, **quiet,
    )  # fmt: skip
    running = subprocess.Popen(
        [
            found / "postgres", "-D", data, "-k", folder, "-c", "listen_addresses=",
            "-c", "fsync=off", "-c", "shared_buffers=16MB",
        ],
        **quiet,
    )  # fmt: skip
    address = f"postgresql://tester@/postgres?host={folder}"
    try:
        _wait(address, running)
        yield address
    finally:
        running.send_signal(signal.SIGINT)  # fast shutdown
        running.wait(PATIENCE)
        shutil.rmtree(folder, ignore_errors=True)


def _known(name: str) -> bool:
    try:
        pwd.getpwnam(name)
    except KeyError:
        return False
    return True


def _wait(address: str, running: subprocess.Popen[bytes]) -> None:
    import psycopg

    until = time.monotonic() + PATIENCE
    while True:
        try:
            psycopg.connect(address).close()
            return
        except psycopg.OperationalError:
            assert running.poll() is None, "the server ended by itself"
            assert time.monotonic() < until, "the server did not answer"
            time.sleep(0.1)


def empty(address: str) -> None:
    """Take away what an earlier test kept."""
    import psycopg

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("DROP SCHEMA IF EXISTS rackwalk CASCADE")
