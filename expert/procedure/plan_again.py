"""From a checklist and the picture of a job to the list of steps that now apply.

The list is made again after every entry, as from the top. What the walk looked at in the picture is
kept for each part of the checklist, with the state in which the part began: as long as the same
stands there, the walk need not be gone again and begins at the first part for which it does not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from expert.inference.evaluation_model import Reading
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Step
from expert.procedure.checklist_walk import Walk
from expert.procedure.entries import Entry
from expert.procedure.left_out import LeftOut, left_open, with_closing, without
from expert.procedure.looks import Look, same
from expert.procedure.open_items import open_steps
from expert.procedure.picture import Picture
from expert.procedure.putting_back import settle, signed
from expert.procedure.stops import with_ways_back
from expert.procedure.world import Readings, Where, World

Part = tuple[Where, str, Step | None]  # None: the whole phase; the key is that of an open item


@dataclass(frozen=True)
class Plan:
    """Every step that now applies, in order, and what is left out because of a no.

    `dormant` are readings that nothing asks for now and that may be given by name; the `number`
    of each is how many steps of the plan stand above it.
    """

    steps: tuple[Active, ...]
    left_out: tuple[LeftOut, ...] = ()
    dormant: tuple[Active, ...] = ()


@dataclass(frozen=True)
class _Mark:
    """Where a walk stood before a part; what only grows is kept as its length."""

    plan: int
    cautions: int
    dormant: int
    groups: dict[tuple[str, int], int]
    told: dict[tuple[str, int], Readings]
    rounds: int
    adjusted: bool
    refused: dict[str, Entry]
    ended: tuple[tuple[str, str, Entry], ...]
    asks_end: bool

    @classmethod
    def of(cls, walk: Walk) -> _Mark:
        groups = {name: len(group) for name, group in walk.groups.items()}
        return cls(
            len(walk.plan), len(walk.cautions), len(walk.dormant), groups, dict(walk.told),
            walk.rounds, walk.adjusted, dict(walk.refused), tuple(walk.ended), walk.asks_end,
        )  # fmt: skip

    def again(self, walk: Walk, picture: Picture) -> Walk:
        """A walk that stands here, over another picture."""
        groups: dict[tuple[str, int], list[Reading]] = {
            name: walk.groups[name][:length] for name, length in self.groups.items()
        }
        return Walk(
            picture, walk.world, walk.plan[: self.plan], walk.cautions[: self.cautions], groups,
            dict(self.told), self.rounds, self.adjusted, dict(self.refused), list(self.ended),
            self.asks_end, walk.dormant[: self.dormant],
        )  # fmt: skip


class PlanMaker:
    """Makes the plans of one job, one after the other."""

    def __init__(self, checklist: Checklist, world: World) -> None:
        self._checklist = checklist
        self._world = world
        self._parts = tuple(_parts(checklist, world))
        self._walk: Walk | None = None
        self._marks: list[_Mark] = []
        self._looks: list[tuple[Look, ...]] = []

    def plan(self, picture: Picture) -> Plan:
        """The plan after some entries, each step with the entry that closes it."""
        walk = self._walked(picture)
        settled = settle(walk.plan, self._checklist, picture)
        kept, left = without(settled, picture, self._world.rulebase, walk.guards)
        asked = walk.asks_end or any(left_open(each) for each in kept)
        settled = signed(with_closing(kept, picture, asked=asked))
        keys = [active.step_key for active in settled]
        numbers = {key: number for number, key in enumerate(dict.fromkeys(keys), 1)}
        total = len(numbers)
        told = with_ways_back(settled, self._world.rulebase)
        steps = tuple(
            active.numbered(numbers[key], total) for active, key in zip(told, keys, strict=True)
        )
        return Plan(steps, tuple(left), tuple(walk.dormant))

    def _walked(self, picture: Picture) -> Walk:
        last = self._walk
        at = 0 if last is None else self._same_for(last, picture)
        if last is None or at == 0:
            walk = Walk(picture, self._world)
        elif at < len(self._marks):
            walk = self._marks[at].again(last, picture)
        else:
            walk = _Mark.of(last).again(last, picture)
        marks, looks = self._marks[:at], self._looks[:at]
        for where, key, step in self._parts[at:]:
            marks.append(_Mark.of(walk))
            if key and step is not None:
                walk.add(key, step, where)
            elif step is not None:
                walk.step(step, where)
            else:
                walk.phase(where)
            looks.append(tuple(walk.looked_at))
            walk.looked_at.clear()
        self._walk, self._marks, self._looks = walk, marks, looks
        return walk

    def _same_for(self, walk: Walk, picture: Picture) -> int:
        """How many parts come to the same: all that they looked at stands there as before."""
        if walk.picture.signed_at != picture.signed_at:
            return 0
        for number, looks in enumerate(self._looks):
            if not all(same(look, picture) for look in looks):
                return number
        return len(self._looks)


def _parts(checklist: Checklist, world: World) -> Iterator[Part]:
    """Steps one by one; a phase that is run in rounds or on members as one."""
    for key, step, where, _ in open_steps(world.history.open):
        yield Where(where), key, step
    for phase in checklist.phases:
        if phase.repeat is not None or phase.for_each:
            yield Where(phase), "", None
        else:
            yield from ((Where(phase), "", step) for step in phase.steps)
