"""Where going on would hurt somebody the shipped checklists do not go on, and a no is told."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from walked_job import DEMO, NoLog

from expert.cli.frame.main import main
from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist
from expert.procedure.read_answers import parse_answers
from expert.procedure.runner import runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session

Begin = Callable[[str, str], Session]
ENDS = {
    "not recovering": "islands 3 and 4 stay warm",
    "waiting for a part": "power element of the valve",
    "handed over": "the night crew",
    "stopped early": "the store opened",
}


@pytest.fixture
def begin(shipped_rulebase: Rulebase, checklists: dict[str, Checklist]) -> Begin:
    site = load_site(DEMO / "site.yaml", shipped_rulebase)

    def make(name: str, subject: str) -> Session:
        on = site.subjects[subject]
        evaluator = Evaluator(shipped_rulebase, on, members=site.members(on), backend="plain")
        return Session(runner_for(checklists[name], evaluator), NoLog(), "job")

    return make


def scripted(session: Session, path: Path, until: str, **instead: str) -> None:
    """Answers from a demo file until a step is asked; `instead` gives other lines by id."""
    lines = path.read_text(encoding="utf-8").splitlines()
    texts = {name.replace("_", "-"): text for name, text in instead.items()}
    for number, line in enumerate(lines):
        name = line.strip().removeprefix("- ").partition(":")[0]
        if name in texts:
            lines[number] = f"{line.partition(name)[0]}{name}: {texts[name]}"
    answers = parse_answers("\n".join(lines), str(path), session.runner.checklist)
    try:
        for _ in play(session, answers):
            if at(session) == until:
                return
    except ReadingError:
        pass
    assert at(session) == until, at(session)


def at(session: Session) -> str:
    return session.current.step.id if session.current else ""


def test_a_drier_that_stands_under_pressure_is_not_opened(begin: Begin) -> None:
    session = begin("liquid-drier-check-and-change", "A")
    path = DEMO / "liquid-drier-check-and-change.a-plugged-cores.answers.yaml"
    scripted(session, path, "do-not-open", opening_section="isolated under pressure")
    for _ in range(3):
        session.answer("")
        assert at(session) == "opening-section"
        session.answer("leaking by")
        assert at(session) == "do-not-open"
    session.skip("the outlet valve leaks by, the maker sends a kit")
    ids = {each.step.id for each in session.runner.plan(session.picture)}
    assert "cores" not in ids
    assert "shell-open" in ids  # both valves are still shut and tagged
    session.answer("done")
    assert "drier isolated" not in session.picture.still_open


@pytest.mark.parametrize("read", [None, "300 psig"])
def test_nitrogen_never_stands_above_the_weakest_part(begin: Begin, read: str | None) -> None:
    session = begin("nitrogen-test", "A")
    path = DEMO / "nitrogen-test.a-healthy.answers.yaml"
    if read is None:
        scripted(session, path, "design-pressure-first",
                 lowest_design_pressure="{skip: no plate can be read}")  # fmt: skip
        session.answer("")
        assert at(session) == "lowest-design-pressure"
        session.skip("no plate can be read")
        session.skip("nobody knows it")
        left = {each.step.id for each in session.runner.left_out(session.picture)}
        assert {"in-steps", "nitrogen-start-pressure"} <= left
        return
    scripted(session, path, "let-it-down",
             lowest_design_pressure=read, nitrogen_start_pressure="600 psig")  # fmt: skip
    session.answer("")
    assert at(session) == "nitrogen-start-pressure"
    session.answer("600 psig", sure=True)
    assert at(session) == "let-it-down"
    session.skip("it is let down, another day")
    ids = {each.step.id for each in session.runner.plan(session.picture)}
    assert "nitrogen-out" in ids


def test_carbon_dioxide_is_not_charged_as_liquid_at_a_pressure_nobody_read(begin: Begin) -> None:
    session = begin("co2-rack-basics", "C")
    scripted(session, DEMO / "co2-rack-basics.c-healthy.answers.yaml", "co2-charging-planned")
    session.answer("yes")
    while at(session) != "co2-charging-pressure":
        assert session.current is not None
        assert session.current.step.type == "caution"
        session.answer("yes")
    session.skip("no gauge on that side")
    for _ in range(2):
        while at(session) != "vapour-first":
            assert session.current is not None
            assert session.current.step.type == "caution"
            session.answer("yes")
        session.answer("")
        assert at(session) == "co2-charging-pressure" or at(session) == "co2-charging-planned"
        session.answer("yes") if at(session) == "co2-charging-planned" else None
        session.answer("70 psig", sure=True)
    assert at(session) == "vapour-first"
    session.skip("it is raised tomorrow")
    assert "refrigerant-added-today" not in {
        each.step.id for each in session.runner.plan(session.picture)
    }


@pytest.mark.parametrize("state", ENDS)
def test_a_job_that_is_not_done_says_so_on_every_view(
    state: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (DEMO / "evacuation.a-healthy.answers.yaml").read_text(encoding="utf-8")
    assert "  restart: yes\n" in text
    text = text.replace("  restart: yes\n", "  restart: no\n")
    answers = tmp_path / "answers.yaml"
    answers.write_text(f"{text}close: '{state}: {ENDS[state]}'\n", encoding="utf-8")
    jobs = ["--jobs", str(tmp_path / "jobs.db")]
    begun = ["run", "evacuation", "--site", str(DEMO / "site.yaml"), "--subject", "A"]
    assert main([*begun, "--answers", str(answers), "--report", str(tmp_path / "r.md"), *jobs]) == 0
    told = f"{state}: {ENDS[state]}"
    assert told in " ".join(capsys.readouterr().out.split())
    assert main(["jobs", *jobs]) == 0
    assert f"closed without being done, {told}" in " ".join(capsys.readouterr().out.split())
    assert main(["jobs", "--json", *jobs]) == 0
    (job,) = json.loads(capsys.readouterr().out)["jobs"]
    assert job["closed_as"] == {"state": state, "detail": ENDS[state]}
    assert main(["report", job["id"], "--all", str(tmp_path / "all"), *jobs]) == 0
    views = [path for path in (tmp_path / "all").iterdir() if path.suffix in (".md", ".html")]
    assert len(views) == 6
    for view in views:
        assert told in " ".join(view.read_text(encoding="utf-8").split()), view.name
    capsys.readouterr()
    assert main(["jobs", "open", *jobs]) == 0
    assert told in " ".join(capsys.readouterr().out.split())
    assert main(["audit", "--json", *jobs]) == 0
    tables = json.loads(capsys.readouterr().out)["tables"]
    (ended,) = tables["endings"]["rows"]
    assert [name for name, count in ended.items() if count == 1] == [state.replace(" ", "_")]


def test_how_a_job_ends_stands_on_every_view_before_it_is_signed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (DEMO / "evacuation.a-healthy.answers.yaml").read_text(encoding="utf-8")
    text = text.replace("  restart: yes\n", "  restart: no\n")
    text = "".join(line for line in text.splitlines(True) if not line.startswith("  signature:"))
    answers = tmp_path / "answers.yaml"
    answers.write_text(f"{text}close: 'handed over: the night crew'\n", encoding="utf-8")
    jobs = ["--jobs", str(tmp_path / "jobs.db")]
    begun = ["run", "evacuation", "--site", str(DEMO / "site.yaml"), "--subject", "A"]
    assert main([*begun, "--answers", str(answers), *jobs]) == 4
    capsys.readouterr()
    assert main(["jobs", *jobs]) == 0
    listed = " ".join(capsys.readouterr().out.split())
    assert "closed without being done, handed over: the night crew, and not signed" in listed
    assert main(["jobs", "--json", *jobs]) == 0
    (job,) = json.loads(capsys.readouterr().out)["jobs"]
    assert main(["report", job["id"], "--all", str(tmp_path / "all"), *jobs]) == 0
    views = [path for path in (tmp_path / "all").iterdir() if path.suffix in (".md", ".html")]
    assert len(views) == 6
    for view in views:
        assert "handed over: the night crew" in " ".join(view.read_text("utf-8").split()), view.name
