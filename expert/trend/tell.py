"""What a log tells, in lines: an overview, then each circuit with its findings and their limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from expert.inference.show import finding_lines
from expert.knowledge.judge import band_text
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.trend.defrost_summary import DefrostSummary, WeeklyChange
from expert.trend.judge_log import CircuitTrend
from expert.trend.schedule import Adherence
from expert.trend.table import LogTable
from expert.units.kinds import Kind
from expert.units.measure import Measure, format_measure, format_value

OFF = ("very low", "low", "high", "very high")
OTHER = {  # summed up and no quantity of its own
    "coil_below_air": ("case air above coil", Kind.TEMPERATURE_DIFFERENCE),
}
SHOWN = ("pump_down_time", "defrost_time", "melting_plateau", "drip_time", "recovery_time")


def stamp(seconds: float, zone: str) -> str:
    """A time as the wall clock of the store shows it."""
    return f"{datetime.fromtimestamp(seconds, ZoneInfo(zone)):%Y-%m-%d %H:%M}"


def minutes(value: float | None) -> str:
    """'14.2', or '-' for unknown."""
    return "-" if value is None else f"{value / 60:.1f}"


def overview(table: LogTable, site: Site, trends: Sequence[CircuitTrend]) -> Iterator[str]:
    """What was read, and one line a circuit."""
    assert site.log is not None
    zone = site.log.zone
    days = (table.seconds[-1] - table.seconds[0]) / 86400
    yield f"Log: {stamp(table.seconds[0], zone)} to {stamp(table.seconds[-1], zone)}, {zone},"
    yield f"{len(table.seconds)} rows, {days:.1f} days."
    for note in table.notes:
        yield f"Note: {note}"
    if trends:
        judged = (trends[0].end - trends[0].judged_from) / 86400
        yield f"Judged: the last {judged:.0f} days of it; changes over all of it."
    yield from not_shown(trends)
    yield ""
    yield from overview_table(trends)


def not_shown(trends: Sequence[CircuitTrend]) -> Iterator[str]:
    """Once for all circuits: what the distance of the samples hides, and which would show it."""
    hidden: dict[tuple[str, float, float], dict[str, None]] = {}
    for trend in trends:
        every = 30.0 * round(trend.sampling.step / 30)
        for what, needed in trend.sampling.hidden():
            defrost = trend.subject.facts.get("defrost", trend.subject.id)
            hidden.setdefault((what, needed, every), {})[defrost] = None
    for (what, needed, every), kinds in hidden.items():
        yield (
            f"Unknown with {', '.join(kinds)}: {what}. A sample every {every / 60:g} min does not "
            f"show it; one every {needed / 60:g} min would."
        )


def overview_table(trends: Sequence[CircuitTrend]) -> Iterator[str]:
    """The judged days, one line a circuit, 40 columns wide."""
    yield "circ.    n  min  T/t/?   drip  rec. miss"
    for trend in trends:
        s = trend.summary
        ended = f"{s.by_temperature}/{s.by_time}/{s.unknown_end}"
        yield (
            f"{trend.subject.id:<6}{s.count:>4}{minutes(s.usual.get('defrost_time')):>5}  "
            f"{ended:<8}{minutes(s.usual.get('drip_time')):>4}"
            f"{minutes(s.usual.get('recovery_time')):>6}{missed_text(trend.adherence):>5}"
        )
    yield "n: defrosts. min: usual minutes. T/t/?:"
    yield "ended by temperature/time/unknown. drip,"
    yield "rec.: usual minutes. miss: missed."


def missed_text(adherence: Adherence) -> str:
    """The number of missed defrosts, '-' for unknown."""
    return str(len(adherence.missed)) if adherence.shows and adherence.interval is not None else "-"


def circuit_lines(trend: CircuitTrend, rulebase: Rulebase, system: str, zone: str) -> Iterator[str]:
    """A circuit in words: its defrosts, what changed, its findings."""
    yield f"{trend.subject.id} {trend.subject.title}".rstrip()
    summary, adherence = trend.summary, trend.adherence
    spoilt = summary.count - summary.judged
    yield f"  Defrosts: {summary.count}" + (f", {spoilt} not judged:" if spoilt else "")
    reasons: dict[str, int] = {}
    for each in trend.defrosts:
        if each.start >= trend.judged_from and not each.judged:
            reasons[each.why_not] = reasons.get(each.why_not, 0) + 1
    for why, count in reasons.items():
        yield f"    {count} for a {why}; a gap is unknown and never bridged"
    for name in SHOWN:
        if name in summary.usual:
            title = rulebase.quantities[name].title
            yield f"  {title}, usual: {format_value(Kind.DURATION, summary.usual[name], system)}"
    yield (
        f"  Ended by temperature {summary.by_temperature}, time {summary.by_time}, "
        f"unknown {summary.unknown_end}"
    )
    if not adherence.shows:
        yield "  Missed: unknown"
    elif adherence.interval is None:
        yield "  Missed: unknown; the site file has no defrosts per day"
    else:
        hidden = f"; {adherence.hidden} more may lie in gaps" if adherence.hidden else ""
        yield f"  Missed: {len(adherence.missed)}{hidden}"
        for when in adherence.missed[:6]:
            yield f"    expected about {stamp(when, zone)}"
    earlier = len(trend.adherence_all.missed) - len(adherence.missed)
    if earlier > 0:
        yield f"  Missed before the judged days: {earlier}"
    for change in trend.changes.values():
        yield f"  Changed: {change_text(change, rulebase, system)}"
    for note in trend.notes:
        yield f"  Note: {note}"
    yield from _findings(trend, rulebase, system)


def change_text(change: WeeklyChange, rulebase: Rulebase, system: str) -> str:
    """'drip time: 5.0 min in the first week, 1.0 min in the last'."""
    title, kind = OTHER.get(change.quantity) or (
        rulebase.quantities[change.quantity].title, rulebase.quantities[change.quantity].kind
    )  # fmt: skip
    first, last = (format_value(kind, each, system) for each in (change.first, change.last))
    return f"{title}: {first} in the first week, {last} in the last"


def _findings(trend: CircuitTrend, rulebase: Rulebase, system: str) -> Iterator[str]:
    evaluation = trend.evaluation
    assert evaluation is not None
    if not evaluation.findings:
        yield "  No finding."
        return
    for number, finding in enumerate(evaluation.findings, 1):
        for line in finding_lines(finding, rulebase, f"{number}. "):
            yield f"  {line}"
    yield "  Limits used:"
    for line in limit_lines(trend, rulebase, system):
        yield f"  - {line}"


def limit_lines(trend: CircuitTrend, rulebase: Rulebase, system: str) -> Iterator[str]:
    """Each value that is not normal, with the limit it was held against and its source."""
    evaluation = trend.evaluation
    assert evaluation is not None
    for name, state in evaluation.states.items():
        value = evaluation.known[name].value
        if state.word in OFF and state.limit is not None and isinstance(value, Measure):
            quantity, limit = rulebase.quantities[name], state.limit
            band = band_text(limit.low, limit.high, quantity.kind, system)
            yield (
                f"{quantity.title}: {format_measure(value, system)}, {state.word}; "
                f"normal {band}; {limit.source}"
            )


def week_rows(trend: CircuitTrend) -> Iterator[tuple[str, ...]]:
    """Each week of the log: number, defrosts, usual minutes, ended by, drip, recovery."""
    for week, s in trend.weeks.items():
        yield (str(week + 1), *_row(s))


def _row(s: DefrostSummary) -> tuple[str, ...]:
    return (
        str(s.count), minutes(s.usual.get("defrost_time")),
        f"{s.by_temperature}/{s.by_time}/{s.unknown_end}", minutes(s.usual.get("drip_time")),
        minutes(s.usual.get("recovery_time")),
    )  # fmt: skip
