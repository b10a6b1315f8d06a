"""What can go wrong when packs are given out and taken."""

from __future__ import annotations

from expert.errors import RackwalkError


class RefusedError(RackwalkError):
    """A pack that is not signed by a trusted key, or was changed after it was signed."""

    exit_code = 3
