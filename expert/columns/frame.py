"""What the known values of jobs rest on besides their entries, so that it shows where they hold.

Which steps apply, what is derived and how a site is read do not hang on rules, causes, gates or
influences; limits are looked at one by one (`asked_limits.py`). All else is the frame: values that
were made in one are used by another rulebase only where it leaves the frame as it was.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import expert
from expert.knowledge.model import Quantity, Rulebase
from expert.procedure.checklist import Checklist

# what of a quantity bears on values and plans; not its words, nor where and how it is read
_BEARS = (
    "subject", "kind", "choices", "given", "carried_over", "applies", "not_for", "cautions",
    "derivation", "refuse_below", "refuse_above", "ranges",
)  # fmt: skip
_CODE = (
    "units", "physics", "knowledge", "procedure", "inference/derive.py", "columns/frame.py",
    "columns/asked_limits.py", "columns/flat_value.py", "columns/known_values.py",
)  # fmt: skip


@dataclass(frozen=True)
class Frame:
    """`quantities` and `blocked` hold a hash by quantity: what it is, and what keeps it from being
    judged against its limits. `rest` is the hash of all other things."""

    checklist: str
    rest: str
    quantities: dict[str, str]
    blocked: dict[str, str]

    @property
    def name(self) -> str:
        """The same for the same frame."""
        return _hash(repr(self))

    def holds_under(self, now: Frame) -> bool:
        """Whether values of this frame are those of another; what is new there derives nothing."""
        if (self.checklist, self.rest) != (now.checklist, now.rest):
            return False
        fresh = (name for name in now.quantities if name not in self.quantities)
        return all(now.quantities.get(name) == kept for name, kept in self.quantities.items()) and (
            not any(now.quantities[name].startswith(DERIVED) for name in fresh)
        )

    def lifted(self, now: Frame) -> frozenset[str]:
        """The quantities that have limits elsewhere, or other reasons not to be judged, than in
        another frame."""
        names = self.blocked.keys() | now.blocked.keys()
        return frozenset(n for n in names if self.blocked.get(n) != now.blocked.get(n))


DERIVED = "="


def frame_of(checklist: Checklist, rulebase: Rulebase) -> Frame:
    """The frame in which the values of a checklist's jobs are made."""
    blocked: dict[str, set[str]] = {}
    for limit in rulebase.limits:
        reasons = "; ".join(sorted(map(str, limit.cannot_judge_when)))
        where = sorted(limit.applies.items())
        blocked.setdefault(limit.quantity, set()).add(f"{where} {reasons}")
    cautions = (
        (each.id, each.work, each.access, each.if_no, sorted(each.on.items()), each.before)
        for each in rulebase.cautions.values()
    )
    return Frame(
        f"{checklist.id} {checklist.hash}",
        _hash(program(), *map(repr, cautions), repr(rulebase.refrigerants)),
        {name: _quantity(each) for name, each in rulebase.quantities.items()},
        {name: _hash(*sorted(reasons)) for name, reasons in sorted(blocked.items())},
    )


_NAMED: list[tuple[Checklist, Rulebase, str]] = []  # the last ones


def frame_name(checklist: Checklist, rulebase: Rulebase) -> str:
    """The name of that frame; of the last few it is known."""
    for kept, rules, name in _NAMED:
        if kept is checklist and rules is rulebase:
            return name
    found = frame_of(checklist, rulebase).name
    _NAMED[:] = [(checklist, rulebase, found), *_NAMED[:3]]
    return found


def _quantity(quantity: Quantity) -> str:
    said = _hash(*(repr(getattr(quantity, name)) for name in _BEARS))
    return f"{DERIVED}{said}" if quantity.derivation else said


@cache
def program() -> str:
    """A hash of the code that makes values of entries."""
    root = Path(expert.__file__).parent
    texts = []
    for name in _CODE:
        place = root / name
        files = sorted(place.rglob("*.py")) if place.is_dir() else [place]
        texts += [each.read_text(encoding="utf-8") for each in files]
    return _hash(*texts)


def _hash(*texts: str) -> str:
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()[:16]
