"""Time stamps of a log to seconds since 1970 (UTC)."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from expert.knowledge.log_map import EPOCH, ISO

_START = datetime(1970, 1, 1)  # noqa: DTZ001 - wall clock; the zone is applied apart
_SECOND = timedelta(seconds=1)
_QUARTER = 900  # s; zones change their offset on a quarter of an hour
_BACK = 300  # s; a wall clock that goes back further was set back, less is disorder


class StampReader:
    """Turns stamps to seconds, in the order of the file.

    A stamp with an offset of its own wins over the zone. Where the wall clock shows an hour twice
    the stamps belong to its first run until they go back, then to its second. `skipped` counts
    stamps that the zone's wall clock never showed.
    """

    def __init__(self, zone: str, form: str) -> None:
        self.zone = ZoneInfo(zone)
        self.read = _reader(form)
        self.skipped = 0
        self._offsets: dict[int, tuple[int, int]] = {}
        self._last = 0.0  # wall clock of the stamp before
        self._second_until = 0.0  # up to this wall clock the stamps are of the second run

    def seconds(self, text: str) -> float:
        """Seconds since 1970-01-01 UTC. Raises ValueError for what is no stamp."""
        stamp = self.read(text)
        if isinstance(stamp, float):
            return stamp
        if stamp.tzinfo is not None:
            return stamp.timestamp()
        wall = (stamp - _START) / _SECOND
        first, second = self._offset(stamp, int(wall) // _QUARTER)
        offset = first
        if first > second:
            if wall < self._last - _BACK:
                self._second_until = wall + (first - second)
            if wall <= self._second_until:
                offset = second
        elif first < second:
            self.skipped += 1
        self._last = wall
        return wall - offset

    def _offset(self, stamp: datetime, quarter: int) -> tuple[int, int]:
        found = self._offsets.get(quarter)
        if found is None:
            both = (stamp.replace(tzinfo=self.zone, fold=fold).utcoffset() for fold in (0, 1))
            first, second = (int((each or timedelta()) / _SECOND) for each in both)
            found = self._offsets[quarter] = (first, second)
        return found


def _reader(form: str) -> Callable[[str], datetime | float]:
    if form == EPOCH:
        return _epoch
    if form == ISO:
        return datetime.fromisoformat
    return lambda text: datetime.strptime(text, form)  # noqa: DTZ007 - the zone is applied apart


def _epoch(text: str) -> float:
    seconds = float(text)
    if not 0 <= seconds < 1e11:
        raise ValueError(text)
    return seconds
