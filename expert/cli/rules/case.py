"""`rackwalk rules case`: a job with its outcome as a case without names."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase, backend, say
from expert.cli.frame.options import add_checklist_file, add_place

if TYPE_CHECKING:
    from expert.cli.job.open_job import Work
    from expert.report.outcomes import TurnedOut

DESCRIPTION = """\
Writes what was read in a finished job before any change, with the cause that it turned out to be
('rackwalk outcome'), as a case for 'rackwalk rules test --scenarios', and shows how the rulebase
judges it. No name of the store, of a person or of equipment goes into it, and free text is left
out; what would tell the store anyway is refused. The store's own limits are not in it either, so
the case is judged by those of the rulebase."""
EXAMPLES = """\
  rackwalk rules case 2026-03-14-A4 --output cases/weak-differential.yaml
  rackwalk rules case 2026-03-14-A4 --title 'A weak differential' --rulebase my-pack"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("job", metavar="JOB")
    parser.add_argument("--title", metavar="WORDS", help="of the case (default: made of the cause)")
    parser.add_argument("--output", type=Path, metavar="FILE", help="where (default: stdout)")
    add_checklist_file(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 where the rulebase judges it so, 1 where it does not."""
    import tempfile

    from expert.author.scenarios.failure_lines import scenario_lines
    from expert.author.scenarios.read import ScenarioRunner, read_scenario
    from expert.author.scenarios.verdict import judge_scenario
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.open_job import reopen
    from expert.errors import UsageError
    from expert.report.outcomes import ANOTHER, CONFIRMED, NOT_SO, outcomes_in
    from expert.report.render import write_text

    options.units = None
    with open_jobs(options.jobs) as store:
        job = store.get(options.job)
        work = reopen(options, store, job)
        said = outcomes_in(work.session.picture.entries)
        useful = [each for each in said if each.answer in (CONFIRMED, ANOTHER, NOT_SO)]
        if not useful:
            raise UsageError(
                f"What job {job.id} found has not been confirmed or refuted yet: "
                f"rackwalk outcome {job.id}"
            )
        useful.sort(key=lambda each: (CONFIRMED, ANOTHER, NOT_SO).index(each.answer))
        text = case_text(work, useful[0], options.title)
    with tempfile.TemporaryDirectory() as folder:
        path = options.output or Path(folder) / "case.yaml"
        if options.output and options.output.exists():
            raise UsageError(f"{options.output} is there already; choose another name.")
        write_text(path, text)
        scenario_runner = ScenarioRunner(work.evaluator.rulebase, backend(options))
        judged = judge_scenario(read_scenario(path, work.evaluator.rulebase), scenario_runner)
        if not options.output:
            say(text.rstrip("\n"))
        say(f"Case: {options.output or 'not kept; --output FILE keeps it'}")
        if judged.passed:
            say("The rulebase judges it so.")
            return 0
        say("The rulebase judges it otherwise:")
        for line in scenario_lines(judged, scenario_runner):
            say(line.replace(str(path), path.name))
    return 1


def case_text(work: Work, outcome: TurnedOut, title: str | None) -> str:
    """The case as a file. Raises UsageError for what would tell the store."""
    from expert.author.files.dump import dump
    from expert.errors import UsageError
    from expert.procedure.world import AS_FOUND
    from expert.units.measure import Measure, format_value

    runner, subject = work.runner, work.runner.subject
    quantities = runner.rulebase.quantities
    letters = {name: f"{each.kind}-{n}" for n, (name, each) in enumerate(runner.members.items(), 1)}
    document: dict[str, object] = dict(subject.facts)
    if subject.altitude:
        from expert.units.kinds import Kind

        document["altitude"] = format_value(Kind.LENGTH, subject.altitude, "us", digits=0)
    groups: dict[str, dict[str, object]] = {"": {}}
    for name, given in subject.values.items():
        if name in quantities and isinstance(given.value, float):
            groups[""][name] = format_value(quantities[name].kind, given.value, "us", digits=3)
    for reading in runner.readings(work.session.picture):
        quantity = quantities.get(reading.quantity)
        if quantity is None or reading.stage != AS_FOUND or quantity.kind.value == "text":
            continue
        value = reading.value
        text = (
            format_value(value.kind, value.value, "us", digits=3)
            if isinstance(value, Measure)
            else value
        )
        if "?" not in reading.step:
            groups.setdefault(letters.get(reading.subject, ""), {})[reading.quantity] = text
    document["readings"] = groups.pop("")
    for letter, group in groups.items():
        kind = letter.rpartition("-")[0]
        document.setdefault(f"{kind}s", {})[letter] = group  # type: ignore[index]
    expect: dict[str, object] = (
        {"first": outcome.actual} if outcome.actual else {"never": [outcome.cause]}
    )
    told = outcome.actual_title or f"not {outcome.title}"
    document["scenario"] = {
        "title": title or f"A job that turned out to be: {told}",
        "source": "company: record of a job, its outcome entered by who did it",
        "expect": expect,
    }
    text = dump(document)
    people = {work.job.who, *(each.who for each in work.session.picture.entries)}
    names = {work.job.site, work.job.id, subject.title, *people}
    names |= {each.title for each in runner.members.values()}
    for name in sorted(filter(None, names)):
        if len(name) > 2 and name.lower() in text.lower():
            raise UsageError(f"'{name}' would stand in the case and tell whose it is. --title?")
    return text
