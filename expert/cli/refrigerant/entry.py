"""`rackwalk refrigerant add|recover|charge|correct`: entries of the log, each a short job.

An entry is a job of the checklist for log entries, so that it is kept, corrected, exported and
merged as every other job is.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase, add_units, backend, say
from expert.cli.frame.options import add_place, add_site, add_who
from expert.errors import ReadingError, UsageError
from expert.units.kinds import SYSTEMS

if TYPE_CHECKING:
    from expert.cli.job.open_job import Prepared, Work
    from expert.procedure.session import Session

KINDS = {"add": "added", "recover": "recovered", "charge": "full charge"}
NOT_GIVEN = "not given with the entry"
DESCRIPTION = """\
A bare amount takes the unit of --units. --date is the day of the work, today where it is left out.
--reason is one of those that the program lists when it does not know what was typed; for 'charge'
it says how the full charge was determined. A line that was wrong is corrected, at worst to 0 lb."""
EXAMPLES = """\
  rackwalk refrigerant add --site my-store.yaml --system A --amount 12.5lb --reason 'found low' \
--cylinder 4711 --certificate 12345 --who 'A. Sample'
  rackwalk refrigerant recover --site my-store.yaml --system A --amount 4kg --reason 'too full' \
--who 'A. Sample'
  rackwalk refrigerant charge --site my-store.yaml --system A --amount 620lb --reason measured \
--who 'A. Sample'
  rackwalk refrigerant correct 2026-02-01-A --amount 21.5lb --why 'scale read again' \
--who 'A. Sample'"""


def add_arguments(parser: argparse.ArgumentParser, action: str) -> None:
    """Options of an action."""
    new = action != "correct"
    parser.set_defaults(action=action)
    if new:
        add_site(parser, needed=True)
        parser.add_argument("--system", required=True, metavar="RACK", help="rack of the site file")
        add_units(parser)
    else:
        parser.add_argument("job", metavar="JOB", help="the entry, as 'refrigerant log' shows it")
        parser.add_argument("--units", choices=SYSTEMS, help="default: those of the entry")
    parser.add_argument("--amount", required=new, metavar="AMOUNT", help="like 12.5lb or 5.7kg")
    parser.add_argument("--reason", required=new, metavar="WORDS")
    parser.add_argument("--date", metavar="DAY", help="day of the work, like 2026-02-01")
    if action != "charge":
        parser.add_argument("--cylinder", metavar="NUMBER")
        parser.add_argument("--certificate", metavar="NUMBER", help="of who did it, as it stands")
    add_who(parser, "who did it")
    if not new:
        parser.add_argument("--why", metavar="WORDS", help="what was wrong with what stood there")
    parser.add_argument("--sure", action="store_true", help="an unusual amount is right")
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; the id of the entry is the last line."""
    from expert.records.record_roles import record_roles

    today = datetime.now().astimezone().date()
    if options.action == "correct":
        return _correct(options, today)
    if not options.who:
        raise UsageError("Say who did it: --who NAME, or keep it: rackwalk settings who NAME")
    from expert.cli.job.open_job import prepare, start

    entry = record_roles().entry
    options.checklist, options.subject = entry["checklist"], options.system
    given = {**_given(options, today), entry["kind"]: KINDS[options.action]}
    given.setdefault(entry["day"], str(today))
    prepared = prepare(options)
    _rehearse(prepared, options, given)
    work = start(prepared, options)
    with work.store:
        _answer(work.session, given, options)
        _tell(work, options)
    return 0


def _correct(options: argparse.Namespace, today: date) -> int:
    from expert.cli.job.open_job import reopen
    from expert.procedure.log import NothingKept
    from expert.procedure.session import Session
    from expert.records.record_roles import record_roles
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    given = _given(options, today)
    if not given:
        raise UsageError("Say what was wrong: --amount, --reason, --date, --cylinder ...")
    with JobStore(job_place(options.jobs)) as store:
        job = store.get(options.job)
        if job.checklist != record_roles().entry["checklist"]:
            raise UsageError(
                f"{job.id} is a whole job, no entry of the log. Correct the step in it: "
                f"rackwalk resume {job.id}"
            )
        if not options.who:
            raise UsageError("Say who corrects it: --who NAME, or keep it with 'settings'.")
        if not options.why:
            raise UsageError("Say why it is corrected: --why WORDS; it stands in the log.")
        store.hold(job.id)
        work = reopen(options, store, job)
        plan = work.runner.plan(work.session.picture)
        known = {each.quantity for each in plan}
        for name in _reasons(options.action):
            if name not in known:  # an entry has the reason of its own kind
                given.pop(name, None)
        if lost := [name for name in given if name not in known]:
            title = work.runner.rulebase.quantities[lost[0]].title
            raise UsageError(f"The entry {job.id} has no {title}.")
        keys = [each.key for each in plan if each.closed and each.quantity in given]
        trial = Session(work.runner, NothingKept(), job.id, work.session.picture.entries)
        for session in (trial, work.session):
            for key in keys:
                session.reopen(key, options.why)
            _answer(session, given, options)
        _tell(work, options)
    return 0


def _given(options: argparse.Namespace, today: date) -> dict[str, str]:
    """What was typed, by the quantities that it answers. Raises UsageError for a bad date."""
    from expert.records.record_roles import record_roles

    part = record_roles()
    typed: dict[str, str | None] = {
        part.entry["amount"]: options.amount,
        part.entry["day"]: options.date and str(_day(options.date, today)),
        part.cylinder: getattr(options, "cylinder", None),
        part.certificate: getattr(options, "certificate", None),
    }
    typed |= dict.fromkeys(_reasons(options.action), options.reason)
    return {name: text for name, text in typed.items() if text is not None}


def _reasons(action: str) -> tuple[str, ...]:
    """The quantities that a reason answers; of a correction, the one its entry has."""
    from expert.records.record_roles import ADDED, FULL_CHARGE, RECOVERED, record_roles

    part = record_roles()
    by_kind = {
        ADDED: part.addition_reason, RECOVERED: part.recovery_reason, FULL_CHARGE: part.how,
    }  # fmt: skip
    return (by_kind[KINDS[action]],) if action in KINDS else tuple(by_kind.values())


def _day(text: str, today: date) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"'{text}' is no date. Write it as {today}.") from None
    if day > today:
        raise UsageError(f"{day} lies ahead; an entry is written on the day of the work or later.")
    return day


def _rehearse(prepared: Prepared, options: argparse.Namespace, given: Mapping[str, str]) -> None:
    """Answer once without keeping it. Raises ReadingError for what is refused."""
    from expert.inference.evaluate import Evaluator
    from expert.procedure.log import NothingKept
    from expert.procedure.runner import runner_for
    from expert.procedure.session import Session
    from expert.records.record_roles import record_roles

    evaluator = Evaluator(
        prepared.rules, prepared.subject, members=prepared.site.members(prepared.subject),
        system=options.units, backend=backend(options),
    )  # fmt: skip
    runner = runner_for(prepared.checklist, evaluator, system=options.units)
    session = Session(runner, NothingKept(), "")
    _answer(session, given, options)
    amount = record_roles().entry["amount"]
    read = [each.entry for each in runner.plan(session.picture) if each.quantity == amount]
    if any(entry is not None and entry.data.get("value") == 0 for entry in read):
        raise ReadingError(
            f"Amount of the entry: '{options.amount}' is nothing. Give an amount above 0. An entry "
            "that should not be there is corrected to 0: rackwalk refrigerant correct"
        )


def _answer(session: Session, given: Mapping[str, str], options: argparse.Namespace) -> None:
    from expert.procedure.answering import NeedsConfirmation

    while (active := session.current) is not None:
        text = options.who if active.step.type == "sign" else given.get(active.quantity)
        if text is None:
            session.skip(NOT_GIVEN)
            continue
        try:
            outcome = session.answer(text, sure=options.sure)
        except ReadingError as error:
            quantity = session.runner.rulebase.quantities.get(active.quantity)
            what = quantity.title if quantity else active.step.text
            raise ReadingError(f"{what[:1].upper()}{what[1:]}: {error}") from None
        if isinstance(outcome, NeedsConfirmation):
            raise ReadingError(f"{outcome.question} If it is right, add --sure.")


def _tell(work: Work, options: argparse.Namespace) -> None:
    """The line as the log has it now, and the id of the entry."""
    from expert.cli.job.job_summaries import keep
    from expert.cli.job.load_knowledge import load_rules
    from expert.cli.job.open_job import site_of_job
    from expert.cli.refrigerant.accounts import notice, site_account, wrapped
    from expert.cli.refrigerant.show_log import line_texts

    keep(work)
    site = site_of_job(work.job, load_rules(options.rulebase))
    for log in site_account(work.store, site, options, work.job.subject).logs:
        for line in log.lines:
            if line.movement.job == work.job.id:
                for text in wrapped(line_texts(line)):
                    say(text)
                for text in wrapped(log.notes):
                    say(text)
    for text in wrapped([notice()]):
        say(text)
    say(f"Entry: {work.job.id}")
