"""The company's store, opened; and what is trusted and who asks."""

from __future__ import annotations

import argparse
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.settings import FromSettings, setting
from expert.errors import UsageError

if TYPE_CHECKING:
    from expert.rollout.release import Release
    from expert.store.jobs import JobStore


def add_server(parser: argparse.ArgumentParser) -> None:
    """`--server ADDRESS`."""
    parser.add_argument(
        "--server", metavar="ADDRESS",
        default=FromSettings("server", needed="where the company's store is: --server ADDRESS"),
        help="the company's store: postgresql://user@host/database, or a folder "
        "(default: the settings)",
    )  # fmt: skip


def open_server(address: Path | str) -> JobStore:
    """The company's store. Raises StoreError."""
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    text = str(address)
    return JobStore(job_place(text if "://" in text else Path(text)))


def trusted_keys() -> tuple[str, ...]:
    """The public keys that the settings trust. Raises UsageError for what is none."""
    from expert.rollout.signing import public_key

    found = setting("keys")
    return tuple(public_key(each) for each in found.value.split()) if found else ()


def crews_of(who: str = "") -> tuple[str, ...]:
    """The crew of the settings, and the name of whoever is at work."""
    told = (setting(name) for name in ("crew", "who"))
    return (*(each.value for each in told if each), who)


def today() -> date:
    """The day here."""
    return datetime.now().astimezone().date()


def given_out(store: JobStore) -> tuple[Release, ...]:
    """Everything that a company's store holds of what was given out."""
    from expert.rollout.release import Release
    from expert.store.releases import released

    return tuple(Release(*each) for each in released(store.database))


def typed_passphrase(key: Path, *, new: bool = False) -> str:
    """The passphrase of a key file, asked where it has one; empty where it has none."""
    import getpass

    from expert.rollout.signing import is_locked

    if not new and not is_locked(key):
        return ""
    typed = getpass.getpass("Passphrase of the key: ")
    if new and typed != getpass.getpass("Once more: "):
        raise UsageError("These are two different passphrases; no key was made.")
    return typed
