"""What a finding turned out to be comes back: report, case, audit, the next visit."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from shipped_knowledge import shipped_rules

from expert.author.scenarios.read import ScenarioRunner, load_scenarios
from expert.author.scenarios.verdict import judge_scenario
from expert.cli.frame.main import main
from expert.cli.job.ask_outcome import ask_of_earlier, keep_outcome
from expert.errors import ReadingError
from expert.places import shipped, shipped_cases
from expert.records.confirmed import ProposedStrength, outcome_tables, proposed_strengths
from expert.records.record_roles import SourcedCount
from expert.records.turned_out import answer_in, asked_of
from expert.report.outcomes import (
    ANOTHER,
    CONFIRMED,
    NOT_SO,
    TurnedOut,
    outcomes_in,
)
from expert.report.told import Told, ToldFinding, told_in
from expert.store.jobs import JobStore

from .conftest import Command

DEMO = shipped("checklists") / "demo"
LOW = "defrost-differential-set-low"
TITLE = "Defrost differential regulator set too low"


@pytest.fixture(scope="module")
def one_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("outcome") / "jobs"
    answers = DEMO / "hot-gas-defrost-checkout.a4-low-differential.answers.yaml"
    words = [
        "run", "hot-gas-defrost-checkout", "--site", str(DEMO / "site.yaml"), "--subject", "A4",
        "--answers", str(answers), "--who", "A. Sample", "--jobs", str(folder),
        "--engine", "plain",
    ]  # fmt: skip
    assert main(words) == 0
    return folder


@pytest.fixture
def jobs(one_job: Path, tmp_path: Path) -> Path:
    """A copy of the one job, for a test to do with what it likes."""
    return Path(shutil.copytree(one_job, tmp_path / "jobs"))


def the_job(folder: Path) -> str:
    with JobStore(folder / "jobs.db") as store:
        return store.jobs()[0].id


def test_from_a_job_to_its_case(command: Command, jobs: Path, tmp_path: Path) -> None:
    job, place = the_job(jobs), ("--jobs", str(jobs))
    before = command("rules", "case", job, *place)
    assert before.code == 2 and "rackwalk outcome" in before.err
    assert command("outcome", job, "--was", "yes", *place).code == 2  # nobody said so
    who = ("--who", "B. Other", *place)
    unclear = command("outcome", job, "--was", "suction stop", *who)
    assert unclear.code == 4 and "could be" in unclear.err
    other = command("outcome", job, "--was", "suction stop leaking", "--how", "valve changed", *who)
    assert other.code == 0
    case = command("rules", "case", job, *place)
    assert case.code == 1
    assert "expected first: suction-stop-leaking" in case.out
    assert command("outcome", job, "--was", "yes", "--how", "stem turned", *who).code == 0
    written = tmp_path / "cases" / "case.yaml"
    assert command("rules", "case", job, "--output", str(written), *place).code == 0
    text = written.read_text(encoding="utf-8")
    assert f"first: {LOW}" in text
    for name in ("A. Sample", "B. Other", "Invented", job, "Frozen food doors 9"):
        assert name not in text
    named = command("rules", "case", job, "--title", "Job of A. Sample", *place)
    assert named.code == 2 and "tell whose it is" in named.err
    tried = command("rules", "test", "--scenarios", str(written.parent), "--only", "case.yaml")
    assert tried.code == 0


def test_reports_and_the_audit_show_it(command: Command, jobs: Path) -> None:
    job, place = the_job(jobs), ("--jobs", str(jobs))
    command("outcome", job, "--was", "yes", "--how", "stem turned", "--who", "B. Other", *place)
    for view in ("technical", "customer", "office"):
        for form in ("markdown", "html"):
            done = command("report", job, "--view", view, "--format", form, "--output", "-", *place)
            assert "What it turned out to be" in done.out, view
            assert "stem turned (B. Other" in done.out
    tables = json.loads(command("audit", "--json", *place).out)["tables"]
    (row,) = tables["outcomes_by_cause"]["rows"]
    assert (row["cause"], row["told"], row["confirmed"]) == (TITLE, 1, 1)
    assert command("jobs", "check", *place).code == 0


def test_what_a_job_was_told_stays_what_it_was(command: Command, jobs: Path) -> None:
    with JobStore(jobs / "jobs.db") as store:
        entries = store.entries(the_job(jobs))
    told = told_in(entries)
    assert told is not None
    assert told.findings[0].cause == LOW and told.findings[0].rules
    kinds = [entry.kind for entry in entries]
    assert kinds.index("judged") > kinds.index("sign")


class TypedOutcome:
    interactive = True

    def __init__(self, *lines: str) -> None:
        from expert.terminal.layout import Layout

        self.lines, self.layout, self.shown = list(lines), Layout(80), []

    def show(self, lines: object) -> None:
        self.shown += list(lines)

    def ask(self, question: object) -> str:
        return self.lines.pop(0)


def test_the_next_visit_asks_and_enter_leaves_it_open(jobs: Path) -> None:
    rules = shipped_rules()
    with JobStore(jobs / "jobs.db") as store:
        earlier = store.jobs()[0]
        later = type(earlier)(**{**earlier.__dict__, "id": "", "uid": "", "who": "C. Third"})
        later = store.get(store.create(later))
        told = told_in(store.entries(earlier.id))
        assert told is not None
        own = [each for each in told.findings if each.subject == "A4"][:3]
        front = TypedOutcome(*["" for _ in own])
        assert ask_of_earlier(front, store, later, rules)
        assert outcomes_in(store.entries(earlier.id)) == ()
        meant = TypedOutcome(
            "suction stop leaking", "b", "yes", "stem turned", *["" for _ in own[1:]]
        )
        assert ask_of_earlier(meant, store, later, rules)
        assert "was another cause, Suction stop leaking" in " ".join(meant.shown)  # and taken back
        (said,) = outcomes_in(store.entries(earlier.id))
        assert (said.cause, said.answer, said.who) == (LOW, CONFIRMED, "C. Third")
        assert ask_of_earlier(TypedOutcome(*["" for _ in own[1:]]), store, later, rules)
        assert store.altered(earlier.id) == ""


def test_what_an_answer_means() -> None:
    rules = shipped_rules()
    told = ToldFinding("A4", LOW, TITLE, "hot gas defrost", "likely", 0.5)
    assert answer_in("no", told, rules).answer == NOT_SO
    assert answer_in(LOW, told, rules).answer == CONFIRMED
    other = answer_in("suction-stop-leaking", told, rules)
    assert (other.answer, other.actual) == (ANOTHER, "suction-stop-leaking")
    with pytest.raises(ReadingError, match="No cause is called"):
        answer_in("gremlins in the pipe", told, rules)
    with pytest.raises(ReadingError, match=r"no, it was not this; \? is not known") as refused:
        answer_in("None", told, rules)
    assert "Did you mean" not in str(refused.value)


def outcomes(rule: str, words: str, right: int, wrong: int) -> list[TurnedOut]:
    told = ("A4", "c", "Cause", words)
    return [
        *[TurnedOut(*told, CONFIRMED, "c", "Cause", rules=(rule,))] * right,
        *[TurnedOut(*told, ANOTHER, "d", "Other", rules=(rule,))] * wrong,
    ]


def test_strengths_are_proposed_only_where_counts_suffice() -> None:
    strengths = {"weak": 0.3, "moderate": 0.5, "strong": 0.75}
    fewest, now = SourcedCount(10, "common practice"), {("r", "c"): "strong"}
    told = outcomes("r", "very likely", 6, 14)
    proposed = proposed_strengths(told, strengths, fewest, now)
    assert proposed == (ProposedStrength("r", "c", "strong", "weak", (True,) * 6 + (False,) * 14),)
    tables = {each.id: each for each in outcome_tables(told, proposed, fewest)}
    assert tables["outcomes_by_word"].rows == (("very likely", 20, 6, 30, 15, 52),)
    assert tables["outcomes_confused"].rows == (("Cause", "Other", 14),)
    ((rule, cause, was, fits, *_),) = tables["outcomes_proposals"].rows
    assert (rule, cause, was, fits) == ("r", "c", "strong", "weak")
    few = outcomes("r", "very likely", 1, 4)
    fitting = outcomes("r", "very likely", 15, 5)
    for each in (few, fitting):
        assert proposed_strengths(each, strengths, fewest, now) == ()


def test_the_audit_says_what_cases_and_plants_would_say_with_a_proposed_strength(
    command: Command, jobs: Path, tmp_path: Path
) -> None:
    job, place = the_job(jobs), ("--jobs", str(jobs))
    rule, cause = "low-differential-slows-clearing", LOW
    with JobStore(jobs / "jobs.db") as store:
        for number in range(14):
            wrong = TurnedOut(f"A{number}", cause, TITLE, "likely", NOT_SO, rules=(rule,))
            keep_outcome(store, store.get(job), wrong, "A. Sample")
    cases = tmp_path / "cases"
    cases.mkdir()
    for path in (shipped_cases() / "hot-gas-defrost").glob("*differential*"):
        shutil.copy(path, cases)
    words = ("audit", "--json", "--try-strengths", "--scenarios", str(cases), "--plants", "2")
    tables = json.loads(command(*words, *place).out)["tables"]
    (proposed,) = tables["outcomes_proposals"]["rows"]
    assert (proposed["rule"], proposed["would_fit"]) == (rule, "weak")
    files, plants = tables["outcomes_tried"]["rows"]
    assert files["of"] == "cases" and "seed" in plants["of"]
    assert 1 <= plants["judged"] <= 2
    moved, right = the_long_way(rule, cause, "weak", cases)
    assert files["judged"] == len(list(cases.glob("*.yaml")))
    assert files["judged"] - files["same_first"] == files["other_first"] == moved
    assert (files["right_now"], files["right_then"]) == (files["judged"], right)
    assert "outcomes_tried" not in json.loads(command("audit", "--json", *place).out)["tables"]
    refused = command("audit", "--try-strengths", "--plants", "-1", *place)
    assert refused.code == 2 and "--plants" in refused.err


def the_long_way(rule: str, cause: str, strength: str, folder: Path) -> tuple[int, int]:
    """Cases with another cause first, and cases that pass, under a rulebase that was changed."""
    base = shipped_rules()
    evidence = {**base.rules[rule].evidence_for, cause: strength}
    changed = replace(base.rules[rule], evidence_for=evidence)
    other = replace(base, rules={**base.rules, rule: changed})
    moved = right = 0
    runners = ScenarioRunner(base, "plain"), ScenarioRunner(other, "plain")
    for scenario in load_scenarios(folder, base):
        before, after = (judge_scenario(scenario, runner) for runner in runners)
        firsts = [
            each.evaluation.findings[0].cause.id if each.evaluation.findings else ""
            for each in (before, after)
        ]
        moved += firsts[0] != firsts[1]
        right += after.passed
    assert right < len(list(folder.glob("*.yaml"))), "nothing moved: the test would say nothing"
    return moved, right


def test_signs_that_a_terminal_obeys_are_shown_as_marks(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "readings.yaml"
    path.write_text('refrigerant: "R-449A\\u001b[2J\\u202e"\n', encoding="utf-8")
    done = command("diagnose", str(path), "--engine", "plain")
    assert "\x1b" not in done.out + done.err and "\u202e" not in done.out + done.err
    assert done.code != 70


def test_it_is_not_asked_what_became_of_a_rival_that_was_only_thought_of() -> None:
    def told(cause: str, certainty: float, subject: str = "A") -> ToldFinding:
        return ToldFinding(subject, cause, cause, "condenser", "", certainty)

    findings = (
        told("dirty", 0.94), told("fan", 0.5), told("overfull", 0.3), told("wrong", 0.9, "B"),
    )  # fmt: skip
    asked = asked_of(Told("base", "", "", findings), "A")
    assert [each.cause for each in asked] == ["dirty", "fan"]
    alone = asked_of(Told("base", "", "", (told("overfull", 0.3),)), "A")
    assert [each.cause for each in alone] == ["overfull"]
