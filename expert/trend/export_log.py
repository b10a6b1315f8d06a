"""What a log tells, for other programs: one document, a table of defrosts, a report to print."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from expert.csv_cells import safe
from expert.inference.show import evaluation_json
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.trend.defrost_summary import USUAL, WeeklyChange
from expert.trend.judge_log import CircuitTrend
from expert.trend.table import LogTable
from expert.trend.tell import OTHER, circuit_lines, overview, stamp, week_rows
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure, as_json

_WEEK = ("week", "defrosts", "usual min", "by temperature/time/unknown", "drip min", "recovery min")


def document(
    table: LogTable, site: Site, trends: Sequence[CircuitTrend], rulebase: Rulebase, system: str
) -> dict[str, object]:
    """The stable JSON shape of a log."""
    assert site.log is not None
    zone = site.log.zone
    return {
        "site": site.name,
        "rulebase": str(rulebase.info),
        "log": {
            "from": stamp(table.seconds[0], zone), "to": stamp(table.seconds[-1], zone),
            "zone": zone, "rows": len(table.seconds), "notes": table.notes,
        },
        "circuits": [_circuit(each, rulebase, system, zone) for each in trends],
    }  # fmt: skip


def _circuit(trend: CircuitTrend, rulebase: Rulebase, system: str, zone: str) -> dict[str, object]:
    summary = trend.summary
    assert trend.evaluation is not None
    return {
        "subject": trend.subject.id,
        "title": trend.subject.title,
        "judged_from": stamp(trend.judged_from, zone),
        "defrosts": summary.count,
        "judged": summary.judged,
        "usual": {n: _number(n, v, rulebase, system) for n, v in summary.usual.items()},
        "ended_by": {
            "temperature": summary.by_temperature, "time": summary.by_time,
            "unknown": summary.unknown_end,
        },
        "missed": [stamp(each, zone) for each in trend.adherence.missed],
        "missed_before": len(trend.adherence_all.missed) - len(trend.adherence.missed),
        "perhaps_in_gaps": trend.adherence.hidden,
        "changes": [_change(each, rulebase, system) for each in trend.changes.values()],
        "not_shown": [
            {"what": what, "sample_every": as_json(Measure(Kind.DURATION, needed), system)}
            for what, needed in trend.sampling.hidden()
        ],
        "notes": trend.notes,
        **evaluation_json(trend.evaluation, rulebase, system),
    }  # fmt: skip


def _number(name: str, value: float, rulebase: Rulebase, system: str) -> object:
    kind = OTHER[name][1] if name in OTHER else rulebase.quantities[name].kind
    return as_json(Measure(kind, value), system)


def _change(change: WeeklyChange, rulebase: Rulebase, system: str) -> dict[str, object]:
    return {
        "quantity": change.quantity,
        "first_week": _number(change.quantity, change.first, rulebase, system),
        "last_week": _number(change.quantity, change.last, rulebase, system),
    }


def defrost_table(
    trends: Sequence[CircuitTrend], rulebase: Rulebase, system: str, zone: str
) -> str:
    """CSV text, a row for each defrost; the unit stands in the name of a column."""
    kinds = {n: OTHER[n][1] if n in OTHER else rulebase.quantities[n].kind for n in USUAL}
    units = {name: unit_for(kind, system) for name, kind in kinds.items()}
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    named = [f"{name} [{units[name].name}]" for name in USUAL]
    writer.writerow(["circuit", "start", "judged", "ended by", *named])
    for trend in trends:
        for each in trend.defrosts:
            values = [
                "" if value is None else f"{units[name].from_si(value):.{units[name].digits}f}"
                for name, value in ((name, take(each)) for name, take in USUAL.items())
            ]
            judged = "yes" if each.judged else each.why_not
            start = stamp(each.start, zone)
            row = [trend.subject.id, start, judged, each.ended_by, *values]
            writer.writerow(map(safe, row))
    return text.getvalue()


def report(
    table: LogTable, site: Site, trends: Sequence[CircuitTrend], rulebase: Rulebase, system: str
) -> str:
    """The report as Markdown."""
    return "\n".join(_report(table, site, trends, rulebase, system)) + "\n"


def _report(
    table: LogTable, site: Site, trends: Sequence[CircuitTrend], rulebase: Rulebase, system: str
) -> Iterator[str]:
    assert site.log is not None
    yield f"# Defrosts in the log of {site.name}"
    yield ""
    yield f"Rulebase: {rulebase.info}."
    yield ""
    yield from ("```", *overview(table, site, trends), "```")
    for trend in trends:
        head, *lines = circuit_lines(trend, rulebase, system, site.log.zone)
        yield from (
            "",
            f"## {head}",
            "",
            "```",
            *(line.removeprefix("  ") for line in lines),
            "```",
        )
        rows = list(week_rows(trend))
        if len(rows) > 1:
            yield from ("", f"| {' | '.join(_WEEK)} |", f"|{'---|' * len(_WEEK)}")
            yield from (f"| {' | '.join(row)} |" for row in rows)
