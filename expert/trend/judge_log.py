"""From a log to what became of the defrosts of each circuit, and what the rules say of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Reading
from expert.inference.make_engine import Backend
from expert.inference.truth import limit_for
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site, Subject
from expert.trend.curve_limits import Settings, settings_for
from expert.trend.curves import Curve, Curves, curve_of, without_stuck
from expert.trend.defrost_summary import (
    DefrostSummary,
    WeeklyChange,
    by_week,
    changes,
    difference,
    sum_up,
)
from expert.trend.find_defrosts import find_defrosts, out_of_use
from expert.trend.measure_defrost import measure
from expert.trend.readings import OFF_CYCLE, readings_of
from expert.trend.sampling import Sampling, sampling_of
from expert.trend.schedule import DAY, Adherence, gaps_of, held_against
from expert.trend.seen_defrost import Defrost
from expert.trend.table import LogTable
from expert.units.measure import Measure

COLUMNS = {
    "coil": "logged_coil_temperature",
    "air": "logged_case_air",
    "pressure": "logged_circuit_pressure",
    "state": "logged_defrost_state",
    "valve": "logged_hot_gas_valve",
    "hot_gas": "logged_hot_gas_header",
    "liquid": "logged_liquid_header",
    "suction": "logged_suction_header",
}
TELLING = ("coil", "state", "valve")  # one of these must be logged
_HOUR = 3600.0


@dataclass
class CircuitTrend:
    """What a log tells of a circuit.

    `defrosts` are all of it, `summary`, `adherence` and `readings` those of the judged last days
    (from `judged_from` on); `weeks` sums up each week of the log, `notes` say what could not
    be read.
    """

    subject: Subject
    start: float
    end: float
    judged_from: float
    defrosts: list[Defrost]
    summary: DefrostSummary
    adherence: Adherence
    adherence_all: Adherence
    weeks: dict[int, DefrostSummary]
    changes: dict[str, WeeklyChange]
    sampling: Sampling
    readings: tuple[Reading, ...] = ()
    evaluation: Evaluation | None = None
    notes: list[str] = field(default_factory=list)


def circuits_in(site: Site, table: LogTable) -> list[Subject]:
    """The circuits of a site of which the log tells."""
    mapped = {
        subject
        for subject, quantity in table.columns
        if quantity in [COLUMNS[name] for name in TELLING]
    }
    return [each for each in site.subjects.values() if each.id in mapped and each.kind == "circuit"]


def analyse(
    table: LogTable,
    site: Site,
    rulebase: Rulebase,
    subjects: Sequence[Subject],
    *,
    system: str = "us",
    backend: Backend = "auto",
) -> list[CircuitTrend]:
    """What the log tells of each circuit, judged by the rules."""
    trends = [trend_of(table, site, rulebase, subject) for subject in subjects]
    shared = None
    for trend in trends:
        trend.readings = (*trend.readings, *_others(trend, trends, rulebase))
        evaluator = Evaluator(
            rulebase, trend.subject, members=site.members(trend.subject), system=system,
            backend=backend,
            shared=shared and replace(shared, home=trend.subject, evaluators={}, counted={}),
        )  # fmt: skip
        shared = evaluator.shared  # the rules are compiled once for all circuits of a kind
        trend.evaluation = evaluator.evaluate(trend.readings)
    return trends


def trend_of(table: LogTable, site: Site, rulebase: Rulebase, subject: Subject) -> CircuitTrend:
    """What the log tells of one circuit, not judged yet."""
    settings = settings_for(rulebase, subject)
    curves, notes = curves_for(table, site, subject, settings)
    start, end = float(table.seconds[0]), float(table.seconds[-1])
    gap = max(settings.gap, 2.5 * curves.step)
    defrosts = find_defrosts(curves, settings)
    nexts = [*(each.start for each in defrosts[1:]), end][: len(defrosts)]
    termination, fail_safe = (
        _given(subject, n) for n in ("termination_setting", "fail_safe_setting")
    )
    off_cycle = subject.facts.get("defrost") == OFF_CYCLE
    for each, following in zip(defrosts, nexts, strict=True):
        if off_cycle and each.end is None:
            each.end = each.cooling  # cooling comes back at once, there is no drip
        if each.judged:
            measure(each, curves, settings, termination, fail_safe, following)
    sampling = sampling_of(curves.step, settings)
    sampling.hide(defrosts)
    judged_from = max(start, end - settings.judged_span)
    recent = [each for each in defrosts if each.start >= judged_from]
    telling = (
        curves.state if len(curves.state) else curves.coil if len(curves.coil) else curves.valve
    )
    gaps = gaps_of(telling, start, end, gap)

    if warm := out_of_use(curves.coil, settings):
        gaps = sorted([*gaps, *warm])
        hours = sum(b - a for a, b in warm) / _HOUR
        notes.append(f"The coil was warm for {hours:.0f} h on end; no defrost is expected then.")

    scheduled = _given(subject, "defrosts_per_day")
    if scheduled is None and not defrosts and subject.facts.get("defrost"):
        scheduled = settings.fewest_a_day  # nothing found and nothing known: held against the least

    def adherence(since: float) -> Adherence:
        return held_against(
            [each.start for each in defrosts if each.start >= since],
            scheduled, since, end,
            [each for each in gaps if each[1] > since], settings.missed_after, settings.fewest,
            shows=len(telling) > 1
            and (sampling.defrosts or (sampling.absence and not defrosts)),
        )  # fmt: skip

    summary = sum_up(recent, settings.fewest)
    recently = adherence(judged_from)
    drift = difference(defrosts, start, "plateau_temperature", settings.fewest)
    growth = difference(defrosts, start, "coil_below_air", settings.fewest)
    trend = CircuitTrend(
        subject, start, end, judged_from, defrosts, summary, recently, adherence(start),
        {week: sum_up(group, 1) for week, group in sorted(by_week(defrosts, start).items())},
        changes(defrosts, start, settings.fewest), sampling, notes=notes,
    )  # fmt: skip
    trend.readings = readings_of(
        rulebase, subject, summary, recently, drift, growth, sampling, settings
    )
    if not defrosts:
        trend.notes += _no_defrost(recently, telling, _given(subject, "defrosts_per_day"))
    return trend


def _no_defrost(adherence: Adherence, telling: Curve, per_day: float | None) -> list[str]:
    """What is said of a circuit without a defrost in the log."""
    if not len(telling):
        return ["Whether it had a defrost is unknown: a dead sensor or none at all. Look at it."]
    if not adherence.shows or adherence.interval is None:
        return []
    if per_day is None:
        return [
            "No defrost was found. The site file has no defrosts_per_day for it, so it is held "
            f"against {DAY / adherence.interval:g} a day, as is common practice at the least."
        ]
    return ["No defrost was found."]


def curves_for(
    table: LogTable, site: Site, subject: Subject, settings: Settings
) -> tuple[Curves, list[str]]:
    """The curves of a circuit; headers of its own win over those of its rack."""
    notes: list[str] = []
    made = {}
    for name, quantity in COLUMNS.items():
        values = table.columns.get((subject.id, quantity))
        if values is None:
            values = table.columns.get((subject.rack, quantity))
        curve = curve_of(table.seconds, values)
        if name in ("coil", "air", "pressure"):
            curve, lost = without_stuck(curve, settings.stuck)
            if lost:
                column = _column(site, subject, quantity)
                notes.append(
                    f"Column '{column}' shows one same value for {lost / _HOUR:.0f} h in all; "
                    "that time counts as unknown."
                )
        made[name] = curve
    clearest = made["coil"] if len(made["coil"]) > 1 else made["state"]
    step = float(np.median(np.diff(clearest.t))) if len(clearest) > 1 else 60.0
    return Curves(step, **made), notes


def _column(site: Site, subject: Subject, quantity: str) -> str:
    columns = site.log.columns if site.log else ()
    return next(c.column for c in columns if c.subject == subject.id and c.quantity == quantity)


def _given(subject: Subject, name: str) -> float | None:
    value = subject.values.get(name)
    return value.value if value and isinstance(value.value, float) else None


def _others(
    trend: CircuitTrend, trends: Sequence[CircuitTrend], rulebase: Rulebase
) -> tuple[Reading, ...]:
    """Whether the other circuits of the rack are slow too, and how many defrost with this one."""
    near = [
        each
        for each in trends
        if each is not trend
        and each.subject.rack == trend.subject.rack
        and each.subject.facts.get("defrost") == trend.subject.facts.get("defrost")
    ]
    found = []
    known = [slow for slow in (is_slow(each, rulebase) for each in near) if slow is not None]
    if len(known) >= 2:
        if sum(known) >= 0.5 * len(known):
            found.append(Reading("other_circuits_slow", "yes"))
        elif sum(known) <= 0.2 * len(known):
            found.append(Reading("other_circuits_slow", "no"))
    same_header = [] if _own_header(trend) else [each for each in near if not _own_header(each)]
    together = _together(trend, same_header)
    if together is not None:
        kind = rulebase.quantities["other_circuits_defrosting"].kind
        found.append(Reading("other_circuits_defrosting", Measure(kind, together)))
    return tuple(found)


def _own_header(trend: CircuitTrend) -> bool:
    value = trend.subject.values.get("differential_regulator_serves")
    return value is not None and value.value == "this header only"


def is_slow(trend: CircuitTrend, rulebase: Rulebase) -> bool | None:
    """Whether most defrosts of a circuit stand long at melting or end by time; None if unknown."""
    summary = trend.summary
    limit = limit_for("melting_plateau", rulebase.limits, trend.subject)
    plateau = summary.usual.get("melting_plateau")
    known = []
    if limit is not None and limit.high is not None and plateau is not None:
        known.append(plateau > limit.high)
    if summary.share_by_time is not None:
        known.append(summary.share_by_time >= 0.5)
    if summary.without_heat is not None:
        known.append(summary.without_heat >= 0.5)
    return any(known) if known else None


def _together(trend: CircuitTrend, near: Sequence[CircuitTrend]) -> float | None:
    """The usual number of other circuits in defrost in the middle of one of this circuit."""
    if not near:
        return None
    ended = [d for each in near for d in each.defrosts if d.end is not None]
    starts = np.array([d.start for d in ended])
    ends = np.array([d.end for d in ended])
    counts = []
    for each in trend.defrosts:
        if each.start >= trend.judged_from and each.end is not None:
            middle = (each.start + each.end) / 2
            counts.append(int(((starts < middle) & (middle < ends)).sum()))
    return float(np.median(counts)) if counts else None
