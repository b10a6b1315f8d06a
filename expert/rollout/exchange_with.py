"""Jobs exchanged with the company's store, one after the other, both ways.

Each job is one transaction; what is done is noted behind it. After a cut at any point the same is
done again, and what was done already is found to be the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from expert.store.heads import Head, exchanged_states, heads, known, note
from expert.store.jobs import JobStore
from expert.store.merge import BUSY, SAME, bring

UP, DOWN = "up", "down"


@dataclass
class Exchanged:
    """What became of the jobs, by way; sentences for the person; how many were left out."""

    counts: dict[str, Counter[str]] = field(
        default_factory=lambda: {UP: Counter(), DOWN: Counter()}
    )
    messages: list[str] = field(default_factory=list)
    left_out: int = 0

    @property
    def moved(self) -> int:
        """The jobs of which something was taken or given."""
        return sum(n for way in self.counts.values() for name, n in way.items() if name != SAME)


def exchange(
    here: JobStore, there: JobStore, *, site: str = "", step: Callable[[], None] = lambda: None
) -> Exchanged:
    """Bring two stores to the same jobs; with `site` only jobs of that one are taken.

    `step` is called between the jobs. Raises StoreError where one of them cannot be reached any
    more; what was exchanged until then stays.
    """
    done = Exchanged()
    for way, source, target in ((UP, here, there), (DOWN, there, here)):
        for head in _waiting(here, source, target, way, there.database.name):
            if way == DOWN and site and head.site != site:
                continue
            step()
            outcome, sentence = _carry(source, target, head)
            if sentence:
                done.messages.append(sentence)
            done.counts[way][outcome] += 1
            if outcome == BUSY:
                done.left_out += 1
                continue
            step()
            note(here.database, there.database.name, way, head)
    return done


def waiting(here: JobStore) -> int:
    """How many jobs no other store is known to have as they are, without asking one."""
    sent = exchanged_states(here.database)
    return sum((head.uid, head.state) not in sent for head in heads(here.database))


def _waiting(
    here: JobStore, source: JobStore, target: JobStore, way: str, other: str
) -> Iterator[Head]:
    """The jobs of one store that the other does not have so, as far as is known."""
    noted = known(here.database, other, way)
    has = {head.uid: head.state for head in heads(target.database)}
    for head in heads(source.database):
        if head.state == noted.get(head.uid):
            continue
        if head.state == has.get(head.uid):  # cut off before it was noted, or brought otherwise
            note(here.database, other, way, head)
        else:
            yield head


def _carry(source: JobStore, target: JobStore, head: Head) -> tuple[str, str]:
    if told := source.altered(head.id):
        return BUSY, f"{told} It was left out."
    return bring(target, source.get(head.id), source.entries(head.id))
