"""The numbers by which curves are read. They stand in the rulebase as limits, each with its
source, and a site file may put its own in their place.
"""

from __future__ import annotations

from dataclasses import dataclass

from expert.errors import PackError, Place, Problem
from expert.inference.truth import limit_for
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject


@dataclass(frozen=True)
class Settings:
    """What holds for one circuit. Temperatures in K, differences in K, times in seconds,
    `fewest_a_day` in 1/s.

    `melting` and `melting_search` are (low, high); the fields are the quantities of the rulebase
    whose normal band gives them, see `rulebase/log/quantities.yaml`.
    """

    melting: tuple[float, float]
    melting_search: tuple[float, float]
    melting_width: float
    melting_shortest: float
    length: tuple[float, float]
    gap: float
    stuck: float
    recovery_band: float
    longest_recovery: float
    termination_margin: float
    judged_span: float
    missed_after: float
    fewest: int
    steady: float
    step_defrosts: float
    step_times: float
    fewest_a_day: float


def settings_for(rulebase: Rulebase, subject: Subject) -> Settings:
    """The settings of a circuit. Raises PackError where the rulebase lacks one."""

    def band(name: str) -> tuple[float | None, float | None]:
        limit = limit_for(name, rulebase.limits, subject)
        return (limit.low, limit.high) if limit else (None, None)

    def needed(value: float | None, name: str) -> float:
        if value is None:
            message = f"The rulebase has no limit for '{name}', by which a log is read."
            raise PackError([Problem("no-limit", message, Place(rulebase.info.name))])
        return value

    def low(name: str) -> float:
        return needed(band(name)[0], name)

    def high(name: str) -> float:
        return needed(band(name)[1], name)

    return Settings(
        melting=(low("plateau_temperature"), high("plateau_temperature")),
        melting_search=(low("plateau_search"), high("plateau_search")),
        melting_width=high("plateau_width"),
        melting_shortest=low("plateau_shortest"),
        length=(low("logged_warm_time"), high("logged_warm_time")),
        gap=high("log_gap"),
        stuck=high("log_stuck_time"),
        recovery_band=high("log_recovery_band"),
        longest_recovery=high("log_longest_recovery"),
        termination_margin=high("log_termination_margin"),
        judged_span=high("log_judged_span"),
        missed_after=high("log_missed_after"),
        fewest=round(low("log_fewest_defrosts")),
        steady=high("log_length_spread"),
        step_defrosts=high("log_step_defrosts"),
        step_times=high("log_step_times"),
        fewest_a_day=low("log_fewest_a_day"),
    )
