"""How two rulebases judge a case otherwise, in words; and how often which cause is concerned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from expert.columns.stage_verdict import StageVerdict

_ALIKE = 0.005  # certainties nearer than this are shown with the same two digits


@dataclass(frozen=True)
class Otherwise:
    """What is different, in words, and the titles of the causes that are found now only, or were
    found before only. Nothing of it where all is the same."""

    lines: tuple[str, ...] = ()
    now: frozenset[str] = frozenset()
    gone: frozenset[str] = frozenset()


def otherwise(before: Sequence[StageVerdict], after: Sequence[StageVerdict]) -> Otherwise:
    """What of the verdicts on a case is different."""
    had, have = (
        frozenset(found.title for verdict in verdicts for found in verdict.found)
        for verdicts in (before, after)
    )
    return Otherwise(tuple(_differences(before, after)), have - had, had - have)


class Totals:
    """For each cause in how many cases it is found now and was not, or was and is no longer."""

    def __init__(self) -> None:
        self._now: Counter[str] = Counter()
        self._gone: Counter[str] = Counter()

    def add(self, each: Otherwise) -> None:
        """Count a case that is judged differently."""
        self._now.update(each.now)
        self._gone.update(each.gone)

    def lines(self) -> Iterator[str]:
        """The causes that differ in most cases first."""
        now, gone = self._now, self._gone
        for title in sorted({*now, *gone}, key=lambda title: (-now[title] - gone[title], title)):
            told = [f"now found in {now[title]}"] if now[title] else []
            told += [f"no longer in {gone[title]}"] if gone[title] else []
            yield f"{title}: {', '.join(told)}."


def _differences(before: Sequence[StageVerdict], after: Sequence[StageVerdict]) -> Iterator[str]:
    had = {verdict.stage: verdict for verdict in before}
    have = {verdict.stage: verdict for verdict in after}
    for stage in dict.fromkeys((*had, *have)):
        old = had.get(stage, StageVerdict(stage, ()))
        new = have.get(stage, StageVerdict(stage, ()))
        heading = f"{stage}: " if stage else ""
        yield from (f"{heading}{line}" for line in _between(old, new))


def _between(old: StageVerdict, new: StageVerdict) -> Iterator[str]:
    was = {found.cause: found for found in old.found}
    now = {found.cause: found for found in new.found}
    for cause, found in now.items():
        strength = f"{found.words} ({found.certainty:.2f})"
        if cause not in was:
            yield f"now found: {found.title}, {strength}"
        elif abs(found.certainty - was[cause].certainty) >= _ALIKE:
            earlier = was[cause]
            yield f"{found.title}: {strength}, was {earlier.words} ({earlier.certainty:.2f})"
    for cause, found in was.items():
        if cause not in now:
            yield f"no longer found: {found.title}, was {found.words} ({found.certainty:.2f})"
    if old.found and new.found and old.found[0].cause != new.found[0].cause:
        yield f"first is now {new.found[0].title}, was {old.found[0].title}"
    if old.held_back != new.held_back:
        shown = [", ".join(each) or "nothing" for each in (new.held_back, old.held_back)]
        yield f"advice held back: {shown[0]}, was {shown[1]}"
