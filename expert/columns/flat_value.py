"""One known value as columns hold it: a number in SI or a word, and where it is from."""

from __future__ import annotations

from dataclasses import dataclass

from expert.inference.evaluation_model import Known, Reading
from expert.units.measure import Measure

READ, GIVEN, DERIVED, SERIES = range(4)


@dataclass(frozen=True)
class FlatSample:
    """A reading of a series; `seconds` is its time on the clock, where there is one."""

    value: float | str
    plus_minus: float
    seconds: float | None


@dataclass(frozen=True)
class FlatValue:
    """A value with its uncertainty (0 of a word and where none is known); `origin` is one of READ,
    GIVEN, DERIVED and SERIES, of which alone there are samples."""

    value: float | str
    plus_minus: float
    origin: int
    samples: tuple[FlatSample, ...] = ()

    @property
    def is_number(self) -> bool:
        """Whether it is a number rather than a word."""
        return not isinstance(self.value, str)


def flat_value(known: Known) -> FlatValue:
    """What columns hold of something known."""
    value, spread = _parts(known.value)
    origin = _origin(known)
    samples = known.readings if origin == SERIES else ()
    return FlatValue(value, spread, origin, tuple(map(_sample, samples)))


def _sample(reading: Reading) -> FlatSample:
    return FlatSample(*_parts(reading.value), reading.seconds)


def _parts(value: Measure | str) -> tuple[float | str, float]:
    if isinstance(value, Measure):
        return float(value.value), float(value.plus_minus or 0.0)
    return value, 0.0


def _origin(known: Known) -> int:
    if known.derived:
        return DERIVED
    if not known.measured:
        return GIVEN
    plain = len(known.readings) == 1 and known.readings[0].seconds is None
    return READ if plain else SERIES
