"""The defrosts of a circuit summed up: usual values, shares, and what changed over the weeks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from expert.trend.seen_defrost import TEMPERATURE, TIME, Defrost

WEEK = 7 * 86400.0
_SURE = 4.0  # standard errors: a change of medians below it is noise

# What is summed up: the quantity it is a value of, and where it stands in a defrost.
Taken = Callable[[Defrost], float | None]
USUAL: Mapping[str, Taken] = {
    "pump_down_time": lambda d: d.pump_down,
    "defrost_time": lambda d: d.length,
    "melting_plateau": lambda d: d.plateau,
    "plateau_temperature": lambda d: d.plateau_level,
    "termination_sensor_reading": lambda d: d.coil_at_end,
    "drip_time": lambda d: d.drip,
    "recovery_time": lambda d: d.recovery,
    "circuit_pressure": lambda d: d.pressure,
    "pressure_kept_in_drip": lambda d: d.pressure_kept,
    "hot_gas_header_pressure": lambda d: d.hot_gas,
    "liquid_header_pressure": lambda d: d.liquid,
    "suction_header_pressure": lambda d: d.suction,
    "suction_header_pressure_at_rest": lambda d: d.suction_before,
    "circuit_pressure_recovery": lambda d: d.pressure_after,
    "suction_header_pressure_recovery": lambda d: d.suction_after,
    "discharge_air_before": lambda d: d.air_before,
    "air_at_end_of_off_time": lambda d: d.air_at_end,
    "coil_below_air": lambda d: d.coil_below_air,
}
CHANGING = (
    "defrost_time", "melting_plateau", "plateau_temperature", "drip_time", "recovery_time",
    "pressure_kept_in_drip", "coil_below_air",
)  # fmt: skip
LEAST = {  # below it [SI] a change is not worth a line (own choice)
    "plateau_temperature": 1.0, "pressure_kept_in_drip": 0.1, "coil_below_air": 1.0,
}  # fmt: skip
_LEAST_TIME = 90.0  # s


@dataclass(frozen=True)
class WeeklyChange:
    """The usual value [SI] of a quantity in the first and in the last week of a log."""

    quantity: str
    first: float
    last: float


@dataclass(frozen=True)
class DefrostSummary:
    """Usual values [SI] by quantity (medians), and shares, None where unknown."""

    count: int
    judged: int
    usual: Mapping[str, float]
    spread: float | None
    by_temperature: int
    by_time: int
    unknown_end: int
    without_heat: float | None
    left_melting: float | None
    fewest: int

    @property
    def share_by_time(self) -> float | None:
        """Of the defrosts whose end is known, where these are enough and not the lesser part."""
        known = self.by_temperature + self.by_time
        return self.by_time / known if known >= max(self.fewest, 0.5 * self.judged) else None


def sum_up(defrosts: Sequence[Defrost], fewest: int) -> DefrostSummary:
    """The usual values of some defrosts; one seen in fewer than `fewest` is left out."""
    judged = [each for each in defrosts if each.judged]
    heated = [each for each in judged if each.heated]
    usual: dict[str, float] = {}
    for name, take in USUAL.items():
        source = judged if name in ("circuit_pressure", "discharge_air_before") else heated
        values = [value for value in map(take, source) if value is not None]
        if len(values) >= fewest:
            usual[name] = float(np.median(values))
    lengths = [each.length for each in heated if each.length is not None]
    spread = None
    if len(lengths) >= fewest:
        spread = float(np.percentile(lengths, 90) - np.percentile(lengths, 10))
    stated = [each for each in judged if each.stated]
    standing = [each.left_melting for each in heated if each.left_melting is not None]
    return DefrostSummary(
        count=len(defrosts),
        judged=len(judged),
        usual=usual,
        spread=spread,
        by_temperature=sum(each.ended_by == TEMPERATURE for each in heated),
        by_time=sum(each.ended_by == TIME for each in heated),
        unknown_end=sum(each.ended_by not in (TEMPERATURE, TIME) for each in heated),
        without_heat=_share([not each.heated for each in stated], fewest),
        left_melting=_share([not each for each in standing], fewest),
        fewest=fewest,
    )


def _share(held: Sequence[bool], fewest: int) -> float | None:
    return sum(held) / len(held) if len(held) >= fewest else None


def by_week(defrosts: Sequence[Defrost], start: float) -> dict[int, list[Defrost]]:
    """Defrosts by the week of the log, 0 the first."""
    weeks: dict[int, list[Defrost]] = {}
    for each in defrosts:
        weeks.setdefault(int((each.start - start) // WEEK), []).append(each)
    return weeks


def changes(defrosts: Sequence[Defrost], start: float, fewest: int) -> dict[str, WeeklyChange]:
    """What the last week with enough defrosts has otherwise than the first, and not by chance.

    Medians of both; a change counts from four standard errors on.
    """
    found = {name: change for name, change, sure in _compared(defrosts, start, fewest) if sure}
    return {
        name: each
        for name, each in found.items()
        if abs(each.last - each.first) >= LEAST.get(name, _LEAST_TIME)
    }


def difference(defrosts: Sequence[Defrost], start: float, name: str, fewest: int) -> float | None:
    """The last week's usual value of a quantity less the first week's [SI]."""
    for each, change, _ in _compared(defrosts, start, fewest):
        if each == name:
            return change.last - change.first
    return None


def _compared(
    defrosts: Sequence[Defrost], start: float, fewest: int
) -> list[tuple[str, WeeklyChange, bool]]:
    found = []
    weeks = by_week([each for each in defrosts if each.judged and each.heated], start)
    for name in CHANGING:
        values = {
            week: [value for value in map(USUAL[name], group) if value is not None]
            for week, group in sorted(weeks.items())
        }
        enough = [group for group in values.values() if len(group) >= fewest]
        if len(enough) < 2:
            continue
        first, last = np.asarray(enough[0]), np.asarray(enough[-1])
        change = WeeklyChange(name, float(np.median(first)), float(np.median(last)))
        error = float(np.hypot(_error(first), _error(last)))
        found.append((name, change, abs(change.last - change.first) > _SURE * error))
    return found


def _error(values: np.typing.NDArray[np.float64]) -> float:
    """Standard error of a median, from the spread round it."""
    spread = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    return float(1.2533 * spread / np.sqrt(len(values)))
