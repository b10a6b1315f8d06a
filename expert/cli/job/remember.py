"""The name of the person and the store of the last job, kept in the user's settings."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from expert.errors import RackwalkError

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
