"""`rackwalk trend`: defrosts found in a log of values, and what the rules say of them."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path

from expert.cli.frame.common import add_json, add_rulebase, add_units, backend, print_json, say
from expert.cli.frame.options import add_site
from expert.errors import ReadingError, UsageError, nearest

DESCRIPTION = """\
The log is a CSV file with a line of column names and a column of time stamps. The 'log' section
of the site file says which column holds what, once for all logs of the store:

  log:
    time: {column: Time, zone: America/Denver}
    columns:
      - of: "A*"
        read:
          logged_coil_temperature: {column: "{id} coil", unit: F}
          logged_case_air: {column: "{id} air", unit: F}

A coil temperature or a defrost state is needed for each circuit; every other column tells more.
A gap in the log is unknown and never bridged, and so is what samples too far apart do not show.
Where date and time of day stand in two columns: {column: Date, clock: Time, zone: ...}."""
EXAMPLES = """\
  rackwalk trend log.csv --site site.yaml
  rackwalk trend log.csv --site site.yaml --subject A4 A5 --since 2026-03-01
  rackwalk trend log.csv --site site.yaml --report defrosts.md --csv defrosts.csv
  rackwalk trend log.csv --site site.yaml --json --units si"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("file", type=Path, metavar="FILE.csv")
    add_site(parser, needed=True)
    parser.add_argument("--subject", nargs="+", metavar="ID", help="only these circuits")
    parser.add_argument(
        "--since", metavar="TIME", help="from here on, as 2026-03-01 or with a time"
    )
    parser.add_argument("--until", metavar="TIME", help="up to here, in the zone of the log")
    parser.add_argument("--report", type=Path, metavar="FILE", help="write a report (Markdown)")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write every defrost as a row")
    add_units(parser)
    add_rulebase(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print what the log tells of the defrosts."""
    from expert.cli.job.load_knowledge import load_rules
    from expert.cli.job.which_site import named_site

    rules = load_rules(options.rulebase)
    site = named_site(options.site, rules, None)
    if site.log is None:
        raise UsageError(
            f"{options.site} has no 'log' section, which says what the columns of a log are. "
            "See 'rackwalk trend --help'."
        )
    since, until = (_moment(options, name, site.log.zone) for name in ("since", "until"))
    try:
        from expert.trend.export_log import defrost_table, document, report
        from expert.trend.judge_log import analyse, circuits_in
        from expert.trend.table import between, read_table
        from expert.trend.tell import circuit_lines, overview
    except ImportError as error:
        raise UsageError(
            f"Logs are read with numpy, and '{error.name}' is not installed here. Install it with "
            "'pip install numpy'."
        ) from None

    wanted = _subjects(options.subject, site.subjects)
    table = read_table(options.file, site.log, rules.quantities, wanted)
    table = between(table, since, until)
    if not len(table.seconds):
        raise ReadingError(f"{options.file}: there are no rows between --since and --until.")
    circuits = circuits_in(site, table)
    if not circuits:
        raise ReadingError(
            f"{options.file}: no circuit has a coil temperature, a defrost state or a valve column."
        )
    trends = analyse(table, site, rules, circuits, system=options.units, backend=backend(options))
    if options.report:
        _write(options.report, report(table, site, trends, rules, options.units))
    if options.csv:
        _write(options.csv, defrost_table(trends, rules, options.units, site.log.zone))
    if options.json:
        print_json(document(table, site, trends, rules, options.units))
        return 0
    for line in overview(table, site, trends):
        say(line)
    for trend in trends:
        say()
        for line in circuit_lines(trend, rules, options.units, site.log.zone):
            say(line)
    for path in (options.report, options.csv):
        if path:
            say(f"Written: {path}")
    return 0


def _subjects(asked: list[str] | None, known: object) -> list[str] | None:
    """The circuits asked for, with the racks whose headers serve them."""
    from expert.knowledge.site import Subject

    assert isinstance(known, dict)
    if asked is None:
        return None
    by_id: dict[str, Subject] = {each.lower(): subject for each, subject in known.items()}
    found: list[str] = []
    for each in asked:
        subject = by_id.get(each.lower())
        if subject is None or subject.kind != "circuit":
            circuits = [name for name, one in known.items() if one.kind == "circuit"]
            hint = nearest(each, circuits) or f"It may be: {', '.join(circuits)}."
            raise UsageError(f"The site has no circuit '{each}'. {hint}")
        found += [subject.id, subject.rack]
    return found


def _moment(options: argparse.Namespace, name: str, zone: str) -> float | None:
    """Seconds since 1970 of an option, in the zone of the log."""
    from zoneinfo import ZoneInfo

    text = getattr(options, name)
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        message = f"--{name}: '{text}' is no time; write 2026-03-01 or 2026-03-01T06:30."
        raise UsageError(message) from None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=ZoneInfo(zone))
    return moment.timestamp()


def _write(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise UsageError(f"Cannot write {path}: {error.strerror}.") from None
