"""`rackwalk site` and `run` at a store that nobody has written a file for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from expert.errors import Stopped
from expert.places import shipped
from expert.store.jobs import JobStore
from expert.store.kept_sites import kept_sites, versions
from expert.terminal.front import Question
from expert.terminal.layout import Layout

from .small_job import SMALL, Command

NEW = (
    "Oak Street", "5280", "1", "A", "R-448A", "1", "hot gas", "A1-A2", "2", "walk-in freezer", "",
    "",
)  # fmt: skip
OF_SMALL = (
    str(SMALL / "checkout.yaml"), "--rulebase", str(SMALL / "rules"), "--engine", "plain", "--plain"
)  # fmt: skip


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path))
    monkeypatch.setenv("RACKWALK_SETTINGS", str(tmp_path / "settings.yaml"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


class TypingFront:
    """A front end with a person who types what is given, and then leaves."""

    layout = Layout()
    interactive = True

    def __init__(self, *typed: str) -> None:
        self.typed, self.shown = list(typed), ""

    def show(self, lines: list[str]) -> None:
        self.shown += "".join(f"{line}\n" for line in lines)

    def ask(self, question: Question) -> str:
        from expert.terminal.front import LeaveError

        if not self.typed:
            raise LeaveError
        return self.typed.pop(0)


def lines(*typed: str) -> str:
    return "".join(f"{each}\n" for each in typed)


def test_a_new_store_is_kept_and_shown(command: Command, home: Path) -> None:
    done = command("site", "new", typed=lines(*NEW))
    assert done.code == 0, done.err
    assert "Kept: store Oak Street, version 1: 1 rack, 2 circuits." in done.out
    shown = command("site", "show")
    assert "A1 Ice cream doors (ice cream doors)" in shown.out
    assert "not known yet:" in shown.out
    assert command("site", "check").code == 0
    assert "A2: Walk-in freezer" in command("list", "--site", "oak street").out


def test_what_was_answered_is_there_after_a_stop(command: Command, home: Path) -> None:
    done = command("site", "new", typed=lines(*NEW[:6]))
    assert done.code == Stopped.exit_code
    done = command("site", "new", typed=lines(*NEW[6:]))
    assert "begun: Oak Street, 5280 ft, United States and 3 more" in done.out
    assert done.code == 0, done.err


def test_a_value_is_set_and_the_history_says_who(command: Command, home: Path) -> None:
    command("site", "new", typed=lines(*NEW))
    done = command("site", "set", "A1", "drip time setting", "5", "--who", "A. Sample")
    assert done.code == 0, done.err
    assert "A1: drip time setting 5." in done.out
    told = command("site", "show", "--history").out
    assert "A. Sample: A1: drip time setting 5" in told
    assert "drip time setting 5 min" in command("site", "show").out
    more = command("site", "set", "A1", "drip time setting", "6", "min")
    assert more.code == 0 and "(was 5 min)" in more.out, more.err
    wrong = command("site", "set", "A1", "drip tiem setting", "5")
    assert wrong.code == 2 and "drip time setting" in wrong.err
    assert command("site", "set", "A1", "drip time setting", "5 psi").code == 4


def test_a_legend_is_asked_for_its_columns_once(command: Command, home: Path) -> None:
    (home / "l.csv").write_text("Rack,Ckt,Case,Hold\nA,1,Dairy,5\nA,2,Produce,6\n")
    typed = lines("Oak Street", "0", "", "4=drip time setting", "", "R-407A", "medium", "off")
    done = command("site", "new", "--legend", "l.csv", typed=typed)
    assert done.code == 0, done.err
    assert "1 rack, 2 circuits" in done.out
    again = command("site", "add", "--legend", "l.csv")
    assert "The columns are as they were told before." in again.out
    assert again.code == 0, again.err


def test_a_site_file_is_taken_in_and_written_out_again(command: Command, home: Path) -> None:
    small = ("--rulebase", str(SMALL / "rules"))
    text = (SMALL / "site.yaml").read_text(encoding="utf-8")
    assert command("site", "keep", str(SMALL / "site.yaml"), *small).code == 0
    assert command("site", "keep", "--output", "out.yaml", *small).code == 0
    assert (home / "out.yaml").read_text(encoding="utf-8") == text


def test_the_law_of_a_store_is_asked_and_offered_for_the_next(command: Command, home: Path) -> None:
    for name, law in (("Oak Street", "eu"), ("Elm Street", "")):
        done = command("site", "new", typed=lines(name, "0", law, *NEW[3:]))
        assert done.code == 0, done.err
        assert "by the law of: European Union" in command("site", "show", name).out
    assert "European Union" in command("settings", "jurisdiction").out
    added = command("site", "add", "circuit", "A9", "--site", "Oak", typed=lines("2"))
    assert added.code == 0, added.err
    assert "by the law of: European Union" in command("site", "show", "Oak").out
    moved = command("site", "set", "site", "jurisdiction", "united states", "--site", "Oak")
    assert "jurisdiction United States (was European Union)" in moved.out, moved.err
    told = json.loads(command("site", "show", "Oak", "--json").out)["subjects"][0]
    assert told["jurisdiction"] == "United States"
    for part, law, said in (("A", "United States", "of the whole store"), ("site", "x", "It can")):
        assert said in command("site", "set", part, "jurisdiction", law, "--site", "Oak").err


def test_two_programs_do_not_overwrite_one_another(home: Path) -> None:
    from datetime import UTC, datetime

    from expert.store.kept_sites import keep_site
    from expert.store.store_errors import StoreError

    now = datetime.now(UTC)
    with JobStore(home / "jobs.db") as store:
        for after in (0, 1):
            keep_site(store.database, "Oak", "x", at=now, who="", why="", after=after)
        with pytest.raises(StoreError, match="changed by another program"):
            keep_site(store.database, "Oak", "y", at=now, who="", why="", after=1)
        assert [each.version for each in versions(store.database)["Oak"]] == [1, 2]


def test_run_without_a_store_asks_the_few_things_and_goes_on(
    command: Command, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    person = TypingFront(
        "A. Sample", "Oak Street", "0 ft", "", "A", "R-448A", "1", "hot gas", "A4",
        "frozen food doors",
    )  # fmt: skip
    monkeypatch.setattr("expert.terminal.choose.open_front", lambda plain=False: person)
    done = command("run", *OF_SMALL)
    assert done.code == Stopped.exit_code, person.shown + done.err
    assert "Kept: store Oak Street, version 1: 1 rack, 1 circuit." in person.shown
    with JobStore(home / "jobs.db") as store:
        (job,) = store.jobs()
        assert (job.site, job.subject) == ("Oak Street", "A4")
        assert list(kept_sites(store.database)) == ["Oak Street"]
    person = TypingFront("new", "A7", "1")  # who it is, is known from before
    monkeypatch.setattr("expert.terminal.choose.open_front", lambda plain=False: person)
    command("run", *OF_SMALL)
    with JobStore(home / "jobs.db") as store:
        assert {(job.subject, job.who) for job in store.jobs()} == {
            ("A4", "A. Sample"), ("A7", "A. Sample")
        }  # fmt: skip


def test_without_a_person_and_without_a_store_it_says_what_to_type(
    command: Command, home: Path
) -> None:
    done = command("run", *OF_SMALL)
    assert done.code == 2
    assert "'rackwalk site new' begins one" in done.err


def test_what_a_job_found_is_kept_for_the_store_later(command: Command, home: Path) -> None:
    demo = shipped("checklists") / "demo"
    answers = demo / "condenser-and-head-pressure-cold.a-healthy.answers.yaml"
    assert command("site", "keep", str(demo / "site.yaml")).code == 0
    ran = command(
        "run", "condenser-and-head-pressure-cold", "--subject", "A", "--answers", str(answers),
        "--engine", "plain",
    )  # fmt: skip
    assert ran.code == 0, ran.both
    with JobStore(home / "jobs.db") as store:
        (job,) = store.jobs()
    done = command("site", "learn", job.id, "--yes")
    assert "version 2" in done.out, done.both
    assert "head" in command("site", "show", "--history").out
    assert "already all" in command("site", "learn", job.id, "--yes").out


def test_a_row_of_the_level_sheet_is_learned_and_what_contradicts_it_is_asked_by_itself(
    command: Command, home: Path
) -> None:
    demo = shipped("checklists") / "demo"
    answers = demo / "receiver-level-and-charge.a-healthy.answers.yaml"
    assert command("site", "keep", str(demo / "site.yaml")).code == 0
    ran = command(
        "run", "receiver-level-and-charge", "--subject", "A", "--answers", str(answers),
        "--engine", "plain",
    )  # fmt: skip
    assert ran.code == 0, ran.both
    with JobStore(home / "jobs.db") as store:
        (job,) = store.jobs()
    done = command("site", "learn", job.id, typed="y\n")
    assert "(66 F, full, off): 38 %, written by A. Sample" in " ".join(done.out.split()), done.both
    assert "the rack's sheet: 66 F, full, off: 38 %" in command("site", "show").out
    told = json.loads(command("site", "show", "--json").out)["subjects"]
    (rack,) = [each for each in told if each["id"] == "A"]
    assert rack["sheets"]["receiver_level_on_sheet"] == [
        {"weather": "66 F", "condenser_mode": "full", "heat_reclaim": "off", "says": "38 %"}
    ]
    command("site", "keep", "--output", "out.yaml")
    text = (home / "out.yaml").read_text(encoding="utf-8").replace("says: 38 %", "says: 50 %")
    (home / "other.yaml").write_text(text, encoding="utf-8")
    assert command("site", "keep", "other.yaml").code == 0
    asked = command("site", "learn", job.id, typed="n\n")
    assert "Here the store says otherwise" in asked.out and "38 %" in asked.out
    assert "66 F, full, off: 50 %" in command("site", "show").out
    kept = command("site", "learn", job.id, "--yes")
    assert "In the place of what stood there" in kept.out and "(was 50 % at 66 F)" in kept.out
    assert "66 F, full, off: 38 %" in command("site", "show").out
