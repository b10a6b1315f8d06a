"""The name of the person, the store of the last job and the law of the last new store, kept in the
user's settings."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from expert.errors import RackwalkError, UsageError
from expert.knowledge.jurisdictions import JURISDICTIONS

if TYPE_CHECKING:
    from expert.knowledge.site import Site


def remember_who(name: str) -> None:
    """The name is offered from now on, where none is set."""
    from expert.cli.frame.settings import keep, setting, user_file

    with suppress(RackwalkError):  # a convenience: the job goes on without it
        if setting("who") is None:
            keep("who", name, user_file())


def remember_site(site: Site, named: Path | None) -> bool:
    """The store is the usual one from now on; an invented one is not. Whether that is new."""
    from expert.cli.frame.settings import KNOWN, keep, read, user_file

    if site.invented or os.environ.get(KNOWN["site"].variable):
        return False
    text = str(named.resolve()) if named is not None and named.exists() else site.name
    with suppress(RackwalkError):
        before = read(user_file()).get("site", "")
        if before != text and Path(before).name != text:
            keep("site", text, user_file())
            return True
    return False


def usual_law() -> str:
    """The jurisdiction that is offered for a new store. Raises UsageError for a setting that no
    store can have."""
    from expert.cli.frame.settings import setting, wrong

    found = setting("jurisdiction")
    if found is None:
        return JURISDICTIONS[0]
    if problem := wrong("jurisdiction", found.value, found.where):
        raise UsageError(problem)
    return found.value


def remember_law(law: str) -> None:
    """The law of a store that was asked for is offered for the next one, or holds for it."""
    from expert.cli.frame.settings import keep, setting, user_file

    with suppress(RackwalkError):
        if law != usual_law() or setting("jurisdiction") is None:
            keep("jurisdiction", law, user_file())
