"""A watched series with what belongs to it in time: timed phases and single readings.

Times are minutes from the start of the clock of the watch, else from its first sample.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from expert.inference.evaluation_model import Reading
from expert.inference.sentences import first_up
from expert.knowledge.model import Quantity
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.units.kinds import Kind
from expert.units.measure import Measure

SHOWN = (Kind.GAUGE_PRESSURE, Kind.TEMPERATURE)  # a panel each
_ASIDE = 10.0  # min before the first and after the last of it: a single reading still belongs


@dataclass(frozen=True)
class Span:
    """Something that was timed: from a minute, for so many minutes."""

    title: str
    start: float
    length: float


@dataclass(frozen=True)
class Track:
    """One quantity over time: (minute, SI value). `single` are readings outside of the watch."""

    quantity: Quantity
    points: tuple[tuple[float, float], ...]
    single: bool = False


@dataclass(frozen=True)
class SeenChange:
    """The minute at which what was seen changed to a word."""

    minute: float
    word: str


@dataclass(frozen=True)
class Watched:
    """Everything of one watch. `stage` tells when: 'as found', 'as left, after change 1'."""

    title: str
    stage: str
    subject: str
    spans: tuple[Span, ...]
    tracks: tuple[Track, ...]
    turns: tuple[SeenChange, ...]


def watched(runner: Runner, picture: Picture, beside: Iterable[str]) -> tuple[Watched, ...]:
    """Every watch of a job that has at least two samples of a pressure or a temperature."""
    plan = runner.plan(picture)
    samples: dict[str, list[Active]] = {}
    for active in plan:
        if active.reading is not None and "#" in active.key:
            samples.setdefault(active.key.partition("#")[0], []).append(active)
    made = (_watched(taken, plan, runner, picture, tuple(beside)) for taken in samples.values())
    return tuple(one for one in made if any(len(track.points) > 1 for track in one.tracks))


def _watched(
    samples: Sequence[Active],
    plan: Sequence[Active],
    runner: Runner,
    picture: Picture,
    beside: Sequence[str],
) -> Watched:
    first = samples[0]
    taken = [active.reading for active in samples if active.reading]
    start = _started(runner, picture, first) or min(each.at for each in taken if each.at)
    near = [a for a in plan if (a.stage, a.round, a.subject) == _when(first) and "#" not in a.key]
    spans = tuple(
        Span(
            first_up(runner.rulebase.quantities[reading.quantity].title),
            (begun - start).total_seconds() / 60,
            reading.value.value / 60,
        )
        for active in near
        if (reading := active.reading) is not None
        and active.step.type == "time"
        and isinstance(reading.value, Measure)
        and (begun := _started(runner, picture, active)) is not None
    )
    tracks = _tracks(taken, start, runner.rulebase.quantities, single=False)
    ends = [end for span in spans for end in (span.start, span.start + span.length)]
    ends += [minute for track in tracks for minute, _ in track.points]
    singles = [
        reading
        for name in beside
        for active in near
        if (reading := active.reading) is not None
        and reading.quantity == name
        and min(ends) - _ASIDE <= _minute(reading, start) <= max(ends) + _ASIDE
    ]
    return Watched(
        first.phase.title,
        f"{first.stage}, after change {first.round}" if first.round else first.stage,
        first.subject,
        spans,
        (*tracks, *_tracks(singles, start, runner.rulebase.quantities, single=True)),
        tuple(_turns(taken, start)),
    )


def _when(active: Active) -> tuple[str, int, str]:
    return active.stage, active.round, active.subject


def _started(runner: Runner, picture: Picture, active: Active) -> datetime | None:
    at = active.entry.at if active.entry else picture.entries[-1].at
    clock = runner.elapsed(picture, active, at)
    return clock.started if clock else None


def _minute(reading: Reading, start: datetime) -> float:
    return (reading.at - start).total_seconds() / 60 if reading.at else 0.0


def _tracks(
    readings: Iterable[Reading],
    start: datetime,
    quantities: Mapping[str, Quantity],
    *,
    single: bool,
) -> tuple[Track, ...]:
    points: dict[str, list[tuple[float, float]]] = {}
    for reading in readings:
        if isinstance(reading.value, Measure) and reading.value.kind in SHOWN:
            point = (_minute(reading, start), reading.value.value)
            points.setdefault(reading.quantity, []).append(point)
    return tuple(Track(quantities[name], tuple(each), single) for name, each in points.items())


def _turns(readings: Iterable[Reading], start: datetime) -> Iterable[SeenChange]:
    """The changes of what was seen, the first sight not counted."""
    last: dict[str, str] = {}
    for reading in readings:
        if isinstance(reading.value, str):
            before = last.get(reading.quantity, reading.value)
            if before != reading.value:
                yield SeenChange(_minute(reading, start), reading.value)
            last[reading.quantity] = reading.value
