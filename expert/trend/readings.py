"""What was found in a log as readings, for the evaluator that also judges typed ones."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from expert.inference.evaluation_model import Reading
from expert.inference.truth import limit_for
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.trend.curve_limits import Settings
from expert.trend.defrost_summary import DefrostSummary
from expert.trend.sampling import Sampling
from expert.trend.schedule import Adherence
from expert.units.kinds import Kind
from expert.units.measure import Measure

OFF_CYCLE = "off cycle"
# Off cycle there is no drip, and the coil comes to rest near its air, which looks like melting.
_NOT_OFF_CYCLE = (
    "termination_sensor_reading", "drip_time", "melting_plateau", "plateau_temperature",
)  # fmt: skip
_NOT_QUANTITIES = ("coil_below_air",)
_QUICK = 90.0  # s between two samples; coarser ones smear what is quick in a curve
_MOST = 0.7  # of the defrosts whose end is known: then they end so


def readings_of(
    rulebase: Rulebase,
    subject: Subject,
    summary: DefrostSummary,
    adherence: Adherence,
    drift: float | None,
    growth: float | None,
    sampling: Sampling,
    settings: Settings,
) -> tuple[Reading, ...]:
    """The readings of a circuit. Times are known to half the distance of two samples, or to all of
    it where these are far apart; shares to half a defrost; all else as its quantity says.
    """
    off_cycle = subject.facts.get("defrost") == OFF_CYCLE
    maker = _ReadingMaker(rulebase, sampling.step)
    found: list[Reading] = [maker.number("judged_defrosts", float(summary.judged), 0.0)]
    for name, value in summary.usual.items():
        if name in _NOT_QUANTITIES or (off_cycle and name in _NOT_OFF_CYCLE):
            continue
        if name == "air_at_end_of_off_time" and not off_cycle:
            continue
        found.append(maker.number(name, value))
    if off_cycle and "termination_sensor_reading" in summary.usual:
        coil = summary.usual["termination_sensor_reading"]
        found.append(maker.number("coil_at_end_of_off_time", coil))
    shares: Mapping[str, float | None] = {
        "defrosts_ended_by_time": None if off_cycle else summary.share_by_time,
        "defrosts_without_heat": summary.without_heat if sampling.defrosts else None,
        "defrosts_left_at_melting": None if off_cycle else summary.left_melting,
        "defrosts_missed": _missed(summary, adherence),
        "defrosts_against_schedule": adherence.against,
    }
    for name, share in shares.items():
        if share is not None:
            of = (
                summary.count + len(adherence.missed)
                if name == "defrosts_missed"
                else summary.judged
            )
            found.append(maker.number(name, share, 0.5 / max(of, 1)))
    if drift is not None and not off_cycle:
        found.append(maker.number("plateau_drift", drift))
    if growth is not None:
        found.append(maker.number("coil_below_air_growth", growth))
    return (*found, *_words(rulebase, subject, summary, settings, off_cycle))


def _missed(summary: DefrostSummary, adherence: Adherence) -> float | None:
    """The share of the expected defrosts that are missing."""
    expected = summary.count + len(adherence.missed)
    return (
        len(adherence.missed) / expected
        if adherence.shows and adherence.interval and expected
        else None
    )


class _ReadingMaker:
    def __init__(self, rulebase: Rulebase, step: float) -> None:
        self.quantities = rulebase.quantities
        self.time = step * (0.5 if step <= _QUICK else 1.0)

    def number(self, name: str, value: float, plus_minus: float | None = None) -> Reading:
        """A reading with what it is known to."""
        quantity = self.quantities[name]
        if plus_minus is None:
            plus_minus = self.time if quantity.kind is Kind.DURATION else quantity.accuracy
        return Reading(name, Measure(quantity.kind, value, plus_minus))


def _words(
    rulebase: Rulebase,
    subject: Subject,
    summary: DefrostSummary,
    settings: Settings,
    off_cycle: bool,
) -> Iterator[Reading]:
    """How the defrosts ended, and whether their lengths vary, in the words of the rulebase."""
    share = summary.share_by_time
    if share is not None:
        ended, clock = ("off_time_ended_by" if off_cycle else "defrost_ended_by"), "time"
        if share >= _MOST:
            yield Reading(ended, clock)
        elif share <= 1 - _MOST:
            yield Reading(ended, "air temperature" if off_cycle else "temperature")
    if off_cycle or summary.spread is None or share is None:
        return
    if summary.spread > settings.steady:
        yield Reading("defrost_durations", "vary with frost")
    elif share >= _MOST:
        yield Reading("defrost_durations", "always to the limit")
    else:
        usual = limit_for("defrost_time", rulebase.limits, subject)
        length = summary.usual.get("defrost_time")
        if usual and usual.low is not None and length is not None and length < usual.low:
            yield Reading("defrost_durations", "always short")
