"""Whether a name that an entry uses is there."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from expert.errors import Place, nearest
from expert.knowledge.reader import Reader

NAMES = "'rackwalk quantities WORD' looks for the names."
_FEW = 24  # so many names are still listed
_WHERE_KNOWN = {
    "caution": "Declare it under 'cautions:'.",
    "cause": "Declare it under 'causes:'.",
    "sign": "Declare it under 'signs:'.",
    "state": "Declare it under 'plant_states:'.",
    "gate for": "Actions are those of the gates; a plain text needs none.",
}


def refer(
    names: Iterable[str],
    known: Collection[str],
    what: str,
    place: Callable[[str], Place],
    reader: Reader,
) -> None:
    """Adds a problem for each name that is not known, with the nearest one that is."""
    for name in names:
        if name not in known:
            few = len(known) <= _FEW
            hint = nearest(name, known) or (f"There are: {', '.join(known)}." if few else "")
            hint = hint or _WHERE_KNOWN.get(what, "")
            message = f"There is no {what} '{name}'."
            reader.unknown(f"unknown-{what.split()[0]}", name, message, place(name), hint)
