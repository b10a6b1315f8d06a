"""`rackwalk refrigerant`: entries, log and what is due, through the command."""

from __future__ import annotations

import csv
import io
import json
import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from expert.places import shipped

from .small_job import Command, Printed

NOTICE = "local rules decide"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """The demonstration store with another full charge in rack A, and the other method."""
    text = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
    path = tmp_path / "site.yaml"
    text = text.replace("full_charge: 1150 lb", "full_charge: 600 lb")
    path.write_text(text.replace("rolling average", "annualizing"), encoding="utf-8")
    return path


class RefrigerantLog:
    """The actions on one store and site."""

    def __init__(self, command: Command, site: Path) -> None:
        self.command, self.site, self.jobs = command, site, site.parent / "jobs"

    def __call__(self, action: str, *words: str) -> Printed:
        where = () if action == "correct" else ("--site", str(self.site))
        return self.command(
            "refrigerant", action, *words, *where, "--jobs", str(self.jobs), "--engine", "plain"
        )

    def add(self, day: str, amount: str, *more: str, reason: str = "found low") -> Printed:
        return self(
            "add", "--system", "A", "--date", day, "--amount", amount, "--reason", reason,
            "--who", "A. Sample", *more,
        )  # fmt: skip

    def lines(self) -> list[dict]:
        return json.loads(self("log", "--json").out)["systems"][0]["lines"]


@pytest.fixture
def log(command: Command, site: Path) -> RefrigerantLog:
    return RefrigerantLog(command, site)


@pytest.fixture
def filled(log: RefrigerantLog) -> RefrigerantLog:
    assert log.add("2026-01-05", "600lb", reason="first charge").code == 0
    done = log.add("2026-05-05", "62lb", "--cylinder", "4711", "--certificate", "X-1")
    assert (done.code, done.err) == (0, "")
    assert "31.43 % a year, OVER the limit of 20 %" in done.out
    assert NOTICE in " ".join(done.out.split())
    return log


def test_an_entry_stands_in_the_log_with_the_rate_beside_it(filled: RefrigerantLog) -> None:
    first, line = filled.lines()
    assert (first["rates"], first["rate_asked"]) == ([], False)
    assert line["amount"] == {"value": 62.0, "unit": "lb"}
    assert [line[key] for key in ("cylinder", "certificate", "who", "reason")] == [
        "4711", "X-1", "A. Sample", "found low",
    ]  # fmt: skip
    assert line["rates"][0]["over"] is True
    assert line["rates"][0]["rate"]["value"] == pytest.approx(62 / 600 * 365 / 120 * 100)


def test_the_csv_read_back_says_the_same(filled: RefrigerantLog) -> None:
    rows = list(csv.DictReader(io.StringIO(filled("log", "--csv").out)))
    assert [(row["day"], row["pounds"], row["over"]) for row in rows] == [
        ("2026-01-05", "600", ""), ("2026-05-05", "62", "yes"),
    ]  # fmt: skip
    assert float(rows[1]["leak_rate_percent_per_year"]) == pytest.approx(31.430556, abs=1e-6)
    assert rows[1]["cylinder"] == "4711"


def test_a_correction_keeps_what_was_written_before(filled: RefrigerantLog) -> None:
    entry = filled.lines()[1]["job"]
    why = ("--why", "scale read again", "--who", "B. Other")
    done = filled("correct", entry, "--amount", "21 lb", *why)
    assert (done.code, done.err) == (0, "")
    assert "10.65 % a year, not over the limit" in done.out
    assert filled.lines()[1]["amount"]["value"] == 21
    assert filled.lines()[1]["cylinder"] == "4711"
    with closing(sqlite3.connect(filled.jobs / "jobs.db")) as database:
        select = "SELECT data FROM entry WHERE job = ? AND step = 'refrigerant-entry-amount'"
        kept = [json.loads(data).get("text") for (data,) in database.execute(select, (entry,))]
    assert kept == ["62lb", None, "21 lb"]
    (corrected,) = filled.lines()[1]["corrected"]
    assert {name: corrected[name] for name in ("before", "before_by", "after", "by", "why")} == {
        "before": "62lb", "before_by": "A. Sample", "after": "21 lb", "by": "B. Other",
        "why": "scale read again",
    }  # fmt: skip
    assert filled.lines()[1]["who"] == "A. Sample"
    shown = " ".join(filled("log").out.split())
    assert "corrected: '62lb' (A. Sample" in shown and "why: scale read again" in shown


def test_what_is_corrected_to_nought_stays_in_every_view_and_counts_nowhere(
    filled: RefrigerantLog,
) -> None:
    entry = filled.lines()[1]["job"]
    why = ("--why", "another rack", "--who", "B. Other")
    assert filled("correct", entry, "--amount", "0 lb", *why).code == 0
    assert [line["as_typed"] for line in filled.lines()] == ["600lb"]
    (struck,) = json.loads(filled("log", "--json").out)["systems"][0]["struck"]
    assert struck["job"] == entry and struck["corrected"][0]["why"] == "another rack"
    for shown in (filled("log").out, filled("log", "--csv").out):
        told = " ".join(shown.split())
        assert "struck" in told and "'62lb' (A. Sample" in told and "another rack" in told


def test_a_recovery_and_a_new_full_charge(filled: RefrigerantLog) -> None:
    who = ("--system", "A", "--who", "B. Sample")
    filled("recover", "--amount", "5kg", "--reason", "too full", "--date", "2026-02-01", *who)
    filled("charge", "--amount", "620lb", "--reason", "measured", "--date", "2026-05-01", *who)
    by_what = {line["what"]: line for line in filled.lines()}
    assert by_what["recovered"]["as_typed"] == "5kg"
    assert by_what["full charge"]["reason"] == "measured"
    last = filled.lines()[-1]
    assert (last["full_charge"]["value"], last["full_charge_from"]) == (620, "measured")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--reason", "fond low"), "Did you mean 'found low'?"),
        (("--system", "AA"), "Did you mean 'A"),
        (("--date", "5/5/2026"), "'5/5/2026' is no date."),
        (("--date", "2999-01-01"), "lies ahead"),
        (("--amount", "12 psi"), "Amount of the entry:"),
        (("--amount", "0"), "'0' is nothing"),
        (("--amount", "0 kg"), "'0 kg' is nothing"),
        (("--amount", "3000 lb"), "add --sure"),
        (("--who", ""), "--who NAME"),
    ],
)
def test_what_is_refused_is_told_and_nothing_is_kept(
    log: RefrigerantLog, words: tuple[str, ...], says: str
) -> None:
    done = log.add("2026-05-05", "62lb", *words)
    assert done.code in (2, 4)
    assert says in done.err
    assert not (log.jobs / "jobs.db").exists()


def test_a_whole_job_is_not_corrected_here_and_an_unknown_entry_is_told(
    filled: RefrigerantLog,
) -> None:
    assert "There is no job" in filled("correct", "2020-01-01-Z", "--amount", "1 lb").err
    entry = filled.lines()[0]["job"]
    assert "Say what was wrong" in filled("correct", entry).err
    assert "Say who corrects it" in filled("correct", entry, "--amount", "1 lb").err
    who = ("--who", "B. Other")
    assert "Say why" in filled("correct", entry, "--amount", "1 lb", *who).err


def test_what_is_due_and_its_calendar(filled: RefrigerantLog, tmp_path: Path) -> None:
    found = json.loads(filled("due", "--on", "2026-06-10", "--json").out)
    assert {(each["what"], each["due"], each["overdue"]) for each in found["due"]} == {
        ("repair", "2026-06-04", True), ("initial verification", "2026-06-04", True),
        ("retrofit or retirement plan", "2026-06-04", True),
        ("leak inspection", "2026-08-05", False),
    }  # fmt: skip
    assert NOTICE in found["notice"]
    few = json.loads(filled("due", "--until", "2026-06-30", "--on", "2026-06-10", "--json").out)
    assert len(few["due"]) == 3
    filled.command.monkeypatch.setattr("expert.cli.frame.page_by_page.LENGTH", 3)
    paged = " ".join(filled("due", "--on", "2026-06-10", "--page", "2").out.split())
    assert "leak inspection" in paged and "OVERDUE" not in paged and NOTICE in paged
    calendar = pytest.importorskip("icalendar")
    path = tmp_path / "due.ics"
    assert filled("due", "--on", "2026-06-10", "--calendar", str(path)).code == 0
    read = calendar.Calendar.from_ical(path.read_bytes())
    assert {str(event["uid"]) for event in read.walk("VEVENT")} == {
        each["uid"] for each in found["due"]
    }


def test_a_repair_that_came_late_is_told_with_the_days(
    filled: RefrigerantLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    from datetime import UTC, date, datetime

    from expert.cli.refrigerant import accounts
    from expert.records.movements import Happening
    from expert.records.record_roles import REPAIR

    repair = Happening("A", date(2026, 6, 20), REPAIR, datetime(2026, 6, 20, tzinfo=UTC), "later")
    monkeypatch.setattr(accounts, "happened", lambda *_: [repair])
    told = " ".join(filled("due", "--on", "2026-06-25").out.split())
    assert "2026-06-20 came 16 days LATE: repair;" in told
    assert "was due 2026-06-04" in told
    (late,) = json.loads(filled("due", "--on", "2026-06-25", "--json").out)["late"]
    assert (late["what"], late["due"], late["done"]) == ("repair", "2026-06-04", "2026-06-20")


@pytest.mark.skipif(os.name != "posix", reason="links need a right of their own elsewhere")
def test_the_draft_of_a_calendar_follows_no_link(filled: RefrigerantLog, tmp_path: Path) -> None:
    victim, path = tmp_path / "victim", tmp_path / "due.ics"
    victim.write_text("as it was", encoding="utf-8")
    (tmp_path / ".due.ics.part").symlink_to(victim)
    assert filled("due", "--on", "2026-06-10", "--calendar", str(path)).code == 0
    assert victim.read_text(encoding="utf-8") == "as it was"
    assert path.read_bytes().startswith(b"BEGIN:VCALENDAR")
    assert not path.is_symlink()


def test_every_site_of_the_store_without_one_named(filled: RefrigerantLog) -> None:
    done = filled.command(
        "refrigerant", "due", "--on", "2026-06-10", "--jobs", str(filled.jobs), "--json"
    )
    assert len(json.loads(done.out)["due"]) == 4


def test_it_fits_forty_columns(filled: RefrigerantLog) -> None:
    filled.command.monkeypatch.setenv("COLUMNS", "40")
    for action in ("log", "due"):
        done = filled(action)
        assert done.code == 0
        assert max(map(len, done.out.splitlines())) <= 40
        assert done.out.isascii()


def test_an_unknown_action_and_an_unknown_system_suggest_the_nearest(
    filled: RefrigerantLog,
) -> None:
    assert "Did you mean 'recover'?" in filled("recovr").err
    assert "There are: A, B, C." in filled("log", "--system", "Q").err
    assert "--since: '1 May' is no date" in filled("log", "--since", "1 May").err


def test_without_a_full_charge_the_rate_is_unknown(log: RefrigerantLog) -> None:
    text = log.site.read_text(encoding="utf-8").replace("      full_charge: 600 lb\n", "")
    log.site.write_text(text, encoding="utf-8")
    done = log.add("2026-05-05", "62lb")
    assert "Leak rate unknown: the full charge is missing" in " ".join(done.out.split())
    assert "0.00 %" not in done.out
    assert "unknown" in log("due").out


def test_suction_groups_of_one_rack_hold_one_charge(command: Command, tmp_path: Path) -> None:
    """By law the appliance is the whole circuit: 30 lb of 300 lb, and not 20 and 10 of two."""
    path = tmp_path / "site.yaml"
    path.write_text(
        "site: {name: Two groups (invented), invented: yes, altitude: 700 ft}\n"
        "racks:\n"
        "  - {id: B, refrigerant: R-448A, values: {full_charge: 300 lb}}\n"
        "  - {id: BL, group_of: B, application: low temperature, circuits: [{id: F1}]}\n"
        "  - {id: BM, group_of: B, application: medium temperature, circuits: [{id: D1}]}\n",
        encoding="utf-8",
    )
    log = RefrigerantLog(command, path)
    for system, day, amount in (("BL", "2026-02-01", "20 lb"), ("BM", "2026-02-03", "10 lb")):
        added = log(
            "add", "--system", system, "--date", day, "--amount", amount, "--reason", "found low",
            "--who", "A. Sample",
        )  # fmt: skip
        assert added.code == 0, added.err
    for words in ((), ("--system", "B"), ("--system", "bm")):
        told = json.loads(log("log", "--json", *words).out)["systems"]
        assert [each["system"] for each in told] == ["B"]
        assert len(told[0]["lines"]) == 2
    assert log("log", "--system", "Q").code == 2
