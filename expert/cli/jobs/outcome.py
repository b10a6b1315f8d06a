"""`rackwalk outcome`: what a finding of a job turned out to be."""

from __future__ import annotations

import argparse
from dataclasses import replace

from expert.cli.frame.common import add_rulebase, say
from expert.cli.frame.options import add_place, add_who

DESCRIPTION = """\
Says whether the cause that a job was told was confirmed, and how that was proven. It becomes an
entry of the job: reports show it, the audit counts it, and 'rackwalk rules case' writes the job as
a case. Without --was the findings are asked of one by one. The last word on a finding counts; the
ones before stay in the record."""
EXAMPLES = """\
  rackwalk outcome 2026-03-14-A4
  rackwalk outcome 2026-03-14-A4 --was yes --how 'differential followed the stem' \
--who 'A. Sample'
  rackwalk outcome 2026-03-14-A4 --was 'suction stop leaking' --how 'valve changed' \
--who 'A. Sample'
  rackwalk outcome 2026-03-14-A4 --of defrost-differential-set-low --was no --who 'A. Sample'"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("job", metavar="JOB")
    parser.add_argument("--of", metavar="CAUSE", help="which finding (default: the first one)")
    parser.add_argument("--was", metavar="WORDS", help="yes, no, not known, or the cause it was")
    parser.add_argument("--how", default="", metavar="WORDS", help="how it was proven")
    add_who(parser, "who says so")
    parser.add_argument("--plain", action="store_true", help="line by line, nothing redrawn")
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 5 when stopped."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.ask_outcome import ask, keep_outcome
    from expert.cli.job.load_knowledge import load_rules
    from expert.errors import Stopped, UsageError
    from expert.records.turned_out import NOTHING, answer_in, cause_called
    from expert.report.told import told_in
    from expert.terminal.choose import ask_who, open_front
    from expert.terminal.front import LeaveError

    rules = load_rules(options.rulebase)
    with open_jobs(options.jobs) as store:
        job = store.get(options.job)
        if job.finished is None:
            raise UsageError(f"Job {job.id} is not finished; finish it first.")
        told = told_in(store.entries(job.id))
        if options.was is None:
            front = open_front(options.plain)
            who = options.who or ask_who(front)
            try:
                ask(front, store, job, rules, who)
            except (LeaveError, KeyboardInterrupt):
                raise Stopped("Stopped; what was said is kept.") from None
            say(f"Job: {job.id}")
            return 0
        if not options.who:
            raise UsageError("Say who says so: --who NAME, or keep it: rackwalk settings who NAME")
        findings = told.findings if told else ()
        own = [each for each in findings if each.subject == job.subject] or list(findings)
        chosen = own[0] if own else replace(NOTHING, subject=job.subject)
        if options.of:
            cause = cause_called(" ".join(options.of.lower().split()), rules.causes)
            named = [each for each in findings if each.cause == cause.id]
            if not named:
                there = "; ".join(each.cause for each in findings) or "nothing"
                raise UsageError(f"Job {job.id} was not told '{cause.title}'. It was: {there}.")
            chosen = named[0]
        outcome = replace(answer_in(options.was, chosen, rules), how=options.how)
        keep_outcome(store, job, outcome, options.who)
        say(f"{job.id}, {outcome.subject}: {outcome.says}.")
    return 0
