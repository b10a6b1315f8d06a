"""What one defrost came to, as read from its curves."""

from __future__ import annotations

from dataclasses import dataclass

TEMPERATURE, TIME, UNKNOWN = "temperature", "time", "unknown"


@dataclass
class Defrost:
    """One defrost: times in seconds since 1970 UTC, lengths in s, temperatures in K, Pa gauge.

    None is unknown. `why_not` says why it is not judged; then only `start` counts.
    `stated` says that a state or valve column states it; `heated` whether the coil warmed.
    """

    start: float
    end: float | None = None
    cooling: float | None = None
    stated: bool = False
    heated: bool = True
    why_not: str = ""
    pump_down: float | None = None
    recovery: float | None = None
    plateau: float | None = None
    plateau_level: float | None = None
    left_melting: bool | None = None
    coil_at_end: float | None = None
    air_at_end: float | None = None
    air_before: float | None = None
    ended_by: str = UNKNOWN
    pressure: float | None = None
    pressure_kept: float | None = None
    pressure_after: float | None = None
    suction_after: float | None = None
    hot_gas: float | None = None
    liquid: float | None = None
    suction: float | None = None
    suction_before: float | None = None
    coil_below_air: float | None = None

    @property
    def judged(self) -> bool:
        """Whether its numbers count."""
        return not self.why_not

    @property
    def length(self) -> float | None:
        """From gas or heat on (off cycle: cooling off) to its end [s]."""
        return None if self.end is None else self.end - self.start

    @property
    def drip(self) -> float | None:
        """From the end to cooling on [s]."""
        return None if self.end is None or self.cooling is None else self.cooling - self.end
