"""How far off an ordinary instrument may be, where nobody says how good theirs is.

What people edit is instruments.yaml; the same as JSON is read (see `fluids/build_tables.py`).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from expert.units.kinds import Kind
from expert.units.measure import difference_kind
from expert.units.parse import parse_measure

_OF_READING = "% of reading"


def usual_accuracy(name: str, kind: Kind, value: float) -> float | None:
    """Plus/minus [SI] of a value [SI] of a kind, of an input of this name; None where it is exact.

    A number that is no reading of an instrument (a size, a time, a setting) counts as exact.
    """
    found = usual_text(name, kind)
    if found is None:
        return None
    if found.endswith(_OF_READING):
        return abs(value) * float(found.removesuffix(_OF_READING)) / 100
    return parse_measure(found, difference_kind(kind)).value


def usual_text(name: str, kind: Kind) -> str | None:
    """The same as it is written: '1 psi', '10 % of reading'."""
    data = _data()
    by_name, by_kind = data["inputs"], data["kinds"]
    assert isinstance(by_name, Mapping) and isinstance(by_kind, Mapping)
    return by_name.get(name) or by_kind.get(kind.value)


@cache
def _data() -> dict[str, object]:
    file = Path(__file__).with_name("instruments.json")
    found: dict[str, object] = json.loads(file.read_text("utf-8"))
    return found
