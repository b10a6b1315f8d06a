"""What a log can show: samples that lie too far apart hide what happens between them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from expert.trend.curve_limits import Settings
from expert.trend.seen_defrost import UNKNOWN, Defrost

_JITTER = 1.1  # loggers keep their distance within a few seconds
_NEVER_WARM = 3.0  # times the distance that shows every defrost: it still shows most of them

# what is hidden together
OF_ONE = "how the coil melted and dripped in each defrost, what ended it"
OF_ALL = "whether every defrost took place, how long each was, pressures with gas on"
_OF_ONE = (
    "pump_down", "plateau", "plateau_level", "left_melting", "coil_at_end", "pressure_kept",
)  # fmt: skip
_OF_ALL = (
    "end", "cooling", "recovery", "pressure", "hot_gas", "liquid", "suction",
    "pressure_after", "suction_after", "air_at_end",
)  # fmt: skip


@dataclass(frozen=True)
class Sampling:
    """What samples `step` [s] apart show of a circuit, and the longest steps that show more."""

    step: float
    step_defrosts: float
    step_times: float

    @property
    def defrosts(self) -> bool:
        """Whether every defrost shows."""
        return self.step <= _JITTER * self.step_defrosts

    @property
    def times(self) -> bool:
        """Whether it shows how a defrost went and what ended it."""
        return self.step <= _JITTER * self.step_times

    @property
    def absence(self) -> bool:
        """Whether a circuit of which not one defrost shows had none."""
        return self.step <= _JITTER * _NEVER_WARM * self.step_defrosts

    def hidden(self) -> Iterator[tuple[str, float]]:
        """What does not show, and the distance of samples [s] that would show it."""
        if not self.times:
            yield OF_ONE, self.step_times
        if not self.defrosts:
            yield OF_ALL, self.step_defrosts

    def hide(self, defrosts: Sequence[Defrost]) -> None:
        """Make unknown what the samples cannot show of these defrosts."""
        names = (() if self.times else _OF_ONE) + (() if self.defrosts else _OF_ALL)
        for each in defrosts:
            for name in names:
                setattr(each, name, None)
            if not self.times:
                each.ended_by = UNKNOWN


def sampling_of(step: float, settings: Settings) -> Sampling:
    """What samples so far apart [s] show."""
    return Sampling(step, settings.step_defrosts, settings.step_times)
