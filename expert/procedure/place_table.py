"""The table of a place: what of a checklist is read there now, up to the next moment that counts.

A `time` step is a moment in the course of a job, when the gas goes off or a fan turns. It is asked
by itself, and what a checklist asks behind it is read then and not before. A detail that
something above it decides comes once that is read. By their names both may be given all the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from expert.knowledge.conditions import quantities_in
from expert.knowledge.model import Rulebase
from expert.knowledge.where import DISPLAY, STORE
from expert.procedure.active import Active
from expert.procedure.open_now import Offer, takeable
from expert.procedure.spots import spot_of

ANYWHERE = (DISPLAY, STORE)  # these are on every way
LEAST = 2  # readings that are worth a table (own choice)


def place_table(
    offered: Sequence[Offer], current: Active | None, rulebase: Rulebase
) -> tuple[Offer, ...]:
    """Its rows where the checklist stands; none while nothing is asked."""
    if current is None:
        return ()
    rows = tuple(_rows(offered, rulebase))
    spot = spot_of(current, rulebase)
    if spot in ANYWHERE:
        spot = next((each.spot for each in rows if each.spot not in ANYWHERE), spot)
    return tuple(each for each in rows if each.spot in (spot, *ANYWHERE))


def _rows(offered: Sequence[Offer], rulebase: Rulebase) -> Iterator[Offer]:
    """What can be read now, anywhere, before the next moment and with its need decided."""
    now = {each.active.key for each in takeable(offered)}
    known = {each.active.quantity for each in offered if each.closed}
    unread = set[str]()
    for each in offered:
        step = each.active.step
        if each.active.key in now:
            if step.type == "time":
                return
            names = {name for one in (*step.when, *step.unless) for name in quantities_in(one)}
            if not unread & _rests_on(names, rulebase):
                yield each
        if not each.closed and each.active.quantity not in known:
            unread.add(each.active.quantity)


def _rests_on(names: Iterable[str], rulebase: Rulebase) -> set[str]:
    """Quantities with all that they are worked out from."""
    found, waiting = set[str](), [*names]
    while waiting:
        name = waiting.pop()
        derivation = rulebase.quantities[name].derivation
        if name not in found and derivation is not None:
            waiting += derivation.rests_on
        found.add(name)
    return found


def still_open(rows: Sequence[Offer], offered: Sequence[Offer]) -> bool:
    """Whether a row of a table is still to be read; what an answer has made needless is not."""
    now = {each.active.key for each in takeable(offered)}
    return any(each.active.key in now for each in rows)
