"""What a series of readings says about a course: rises, falls, reaches, becomes, holds.

Only what was read is judged: between two samples nothing is assumed, and with fewer than two
samples (or without times, where a time is asked for) the answer is unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import combinations

from expert.inference.evaluation_model import Known, Reading
from expert.inference.kleene import Truth, any_
from expert.knowledge.conditions import Course
from expert.made_when_used import dataclass
from expert.units.measure import Measure


@dataclass(frozen=True)
class _Sample:
    """One reading: seconds on the clock (None if not known) and the value."""

    seconds: float | None
    value: Measure | str


def course_truth(course: Course, known: Mapping[str, Known]) -> Truth:
    """Whether a series does what the condition says: true, false or unknown."""
    samples = _samples(known.get(course.quantity))
    if course.verb in ("rises", "falls"):
        return _changes(course, samples)
    if course.verb == "holds":
        return _holds(course, samples)
    if course.before is not None:
        return _order(course, course.before, samples, _samples(known.get(course.before.quantity)))
    return _arrives(course, samples)


def _samples(known: Known | None) -> tuple[_Sample, ...]:
    if known is None or known.derived:
        return ()
    readings = [reading for reading in known.readings if reading.stage != "site"]
    if all(reading.seconds is not None for reading in readings):
        readings.sort(key=lambda reading: reading.seconds or 0.0)
    return tuple(_Sample(_seconds(reading, readings), reading.value) for reading in readings)


def _seconds(reading: Reading, readings: list[Reading]) -> float | None:
    if all(each.seconds is not None for each in readings):
        return reading.seconds
    return None


def _changes(course: Course, samples: tuple[_Sample, ...]) -> Truth:
    sign = 1 if course.verb == "rises" else -1
    wanted = course.value or 0.0
    truths: list[Truth] = []
    plain = course.value is None and course.seconds is None
    ends = (samples[0], samples[-1]) if len(samples) > 1 else ()
    for one, other in (ends,) if plain and ends else combinations(samples, 2):
        if not isinstance(one.value, Measure) or not isinstance(other.value, Measure):
            continue
        if course.seconds is not None:
            if one.seconds is None or other.seconds is None:
                truths.append(None)
                continue
            if other.seconds - one.seconds > course.seconds:
                continue
        change = sign * (other.value.value - one.value.value)
        spread = (one.value.plus_minus or 0.0) ** 2 + (other.value.plus_minus or 0.0) ** 2
        truths.append(_beyond(change, spread**0.5, wanted))
    return any_(truths) if truths else None


def _beyond(change: float, spread: float, wanted: float) -> Truth:
    if change - spread >= wanted and change > 0:
        return True
    return False if change + spread < wanted or (change <= 0 and not spread) else None


def _arrived(course: Course, samples: tuple[_Sample, ...]) -> list[Truth]:
    """For each sample whether it is at (or past) what is to be reached, seen from the first."""
    if course.verb == "becomes":
        return [sample.value == course.word for sample in samples]
    measures = [sample.value for sample in samples if isinstance(sample.value, Measure)]
    if not measures or course.value is None:
        return []
    target = course.value
    up = measures[0].value <= target

    def at(measure: Measure) -> Truth:
        near, far = (measure.low, measure.high) if up else (measure.high, measure.low)
        past: Callable[[float], bool] = (lambda x: x >= target) if up else (lambda x: x <= target)
        if past(near):
            return True
        return None if past(far) else False

    return [at(measure) for measure in measures]


def _arrives(course: Course, samples: tuple[_Sample, ...]) -> Truth:
    arrived = _arrived(course, samples)
    if not arrived:
        return None
    if course.seconds is None:
        return any_(arrived)
    if any(sample.seconds is None for sample in samples):
        return None if any_(arrived) is not False else False
    timed = [(sample.seconds or 0.0, truth) for sample, truth in zip(samples, arrived, strict=True)]
    in_time = [truth for seconds, truth in timed if seconds <= course.seconds]
    if not in_time or any_(in_time) is not False:
        return any_(in_time) if in_time else None
    # Not by the last sample in time: only one at or after the time asked for can exclude it.
    later = [truth for seconds, truth in timed if seconds >= course.seconds]
    return False if later and later[0] is False else None


def _first(arrived: Iterable[Truth], samples: tuple[_Sample, ...]) -> float | None:
    for truth, sample in zip(arrived, samples, strict=True):
        if truth is True:
            return sample.seconds
    return None


def _order(
    first: Course, second: Course, ones: tuple[_Sample, ...], others: tuple[_Sample, ...]
) -> Truth:
    """Whether the first course arrives before the second; both on one clock."""
    one, other = _arrived(first, ones), _arrived(second, others)
    if not one or not other:
        return None
    ones_at, others_at = _first(one, ones), _first(other, others)
    one_did, other_did = any_(one), any_(other)
    if one_did is True and other_did is False:
        return True
    if one_did is False and other_did is True:
        return False
    if one_did is True and other_did is True and None not in (ones_at, others_at):
        assert ones_at is not None
        assert others_at is not None
        return None if ones_at == others_at else ones_at < others_at
    return None


def _holds(course: Course, samples: tuple[_Sample, ...]) -> Truth:
    """Whether some stretch at least so long stays within the band."""
    timed = [
        (sample.seconds, sample.value)
        for sample in samples
        if sample.seconds is not None and isinstance(sample.value, Measure)
    ]
    if len(timed) < 2 or course.seconds is None or course.value is None:
        return None
    if timed[-1][0] - timed[0][0] < course.seconds:
        return None
    truths: list[Truth] = []
    for start in range(len(timed)):
        for end in range(start + 1, len(timed)):
            if timed[end][0] - timed[start][0] >= course.seconds:
                truths.append(_within([value for _, value in timed[start : end + 1]], course.value))
                break
    return any_(truths)


def _within(values: list[Measure], band: float) -> Truth:
    swing = max(v.value for v in values) - min(v.value for v in values)
    spread = max(v.plus_minus or 0.0 for v in values)
    if swing + spread <= band:
        return True
    return False if swing - spread > band else None
