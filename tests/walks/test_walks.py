"""Every checklist, played on the demo site from start to signed report: once healthy, once not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from budget import NIGHTLY, at_night, step
from walked_job import DEMO, HERE, START, Walked

from expert.cli.frame.main import main
from expert.inference.evaluation_model import Finding
from expert.places import shipped
from expert.procedure.checklist import Checklist
from expert.report.render import write_report
from expert.store.job_row import Job

EXPECTED: dict[str, dict[str, object]] = yaml.safe_load(
    (HERE / "expected.yaml").read_text(encoding="utf-8")
)["walks"]
LOG_ENTRY = "refrigerant-log-entry"  # a line of the log: it measures and judges nothing
FILES = sorted(DEMO.glob("*.answers.yaml"))
Walk = Callable[[Path], Walked]


def name_of(path: Path) -> str:
    return path.name.removesuffix(".answers.yaml")


def ids(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.cause.id for finding in findings]


# By day some walks with a fault, in which all happens that happens in a healthy one; that nothing
# is found where all is well is held by the cases of tests/scenarios. `.ci/run` walks every one.
FAULTY = [path for path in FILES if not name_of(path).endswith("-healthy")]
WALKED = FILES if NIGHTLY else FAULTY[::5]


def report_of(walked: Walked, folder: Path) -> str:
    runner = walked.runner
    job = Job(
        id="20260314-walk", checklist=runner.checklist.id, checklist_revision="1",
        checklist_hash="", rulebase=runner.rulebase.info.name, rulebase_version="1",
        rulebase_hash="", site="Tamarack Hollow Market (invented)", site_text="",
        subject=runner.subject.id, units="us", who="A. Sample", created=START,
    )  # fmt: skip
    path = folder / "report.md"
    write_report(job, walked.session.picture.entries, runner, path, backend="plain")
    return " ".join(path.read_text(encoding="utf-8").split())


def plain(text: str) -> str:
    return " ".join(text.split())


def test_each_checklist_has_a_healthy_walk_and_one_with_a_fault() -> None:
    assert {name_of(path) for path in FILES} == set(EXPECTED)
    checklists = {path.stem for path in shipped("checklists").glob("*.yaml")}
    checklists.remove(LOG_ENTRY)
    healthy = {name.partition(".")[0] for name in EXPECTED if name.endswith("-healthy")}
    faulty = {name.partition(".")[0] for name, walk in EXPECTED.items() if walk["found"]}
    assert len(checklists) == 26
    assert healthy == faulty == checklists


@pytest.mark.parametrize("path", WALKED, ids=name_of)
def test_a_walk_is_signed_with_nothing_left_open_or_unread(path: Path, walked: Walk) -> None:
    walk = walked(path)
    assert walk.session.finished
    assert walk.session.picture.still_open == ()
    assert walk.runner.signed_by(walk.session.picture)
    assert walk.runner.set_aside(walk.session.picture) == ()
    assert walk.questions == ()


@pytest.mark.parametrize("path", WALKED, ids=name_of)
def test_a_walk_finds_what_was_put_into_it_and_no_more(path: Path, walked: Walk) -> None:
    walk, expected = walked(path), EXPECTED[name_of(path)]
    picture = walk.session.picture
    assert ids(walk.session.evaluation("as found").findings) == expected["found"]
    assert ("left" in expected) == bool(picture.adjustments)
    if picture.adjustments:
        assert ids(walk.session.evaluation("as left").findings) == expected["left"]
    on_members = walk.runner.found_on_members(picture)
    found = {member.id: ids(findings) for member, findings in on_members if findings}
    assert found == expected.get("members", {})
    if name_of(path).endswith("-healthy"):
        assert not expected["found"]
        assert not found


@pytest.mark.parametrize("path", WALKED, ids=name_of)
def test_the_report_says_so(path: Path, walked: Walk, tmp_path: Path) -> None:
    walk, expected = walked(path), EXPECTED[name_of(path)]
    text = report_of(walk, tmp_path)
    assert "Finished, signed by A. Sample (invented)" in text
    if not expected["found"]:
        assert "Nothing was found with what could be read." in text
        assert "No finding." in text
        return
    first = walk.session.evaluation("as found").findings[0]
    _, _, short = text.partition("**What was wrong**")
    assert short.lstrip(" -").startswith(first.cause.title)
    _, _, block = text.partition(f"### {first.cause.title}")
    assert first.do
    reasons = [step.rule.because for step in first.evidence]
    for line in (*reasons, *first.cause.confirm, *first.do):
        assert plain(line) in block
    for caution in first.cause.cautions:
        for sentence in walk.runner.rulebase.cautions[caution].say:
            assert plain(sentence) in block
    if "left" in expected:
        proven = f'Measured again: "{first.cause.title}" no longer shows.'
        doubt = f"{first.cause.title}: not measured again, so not proven to be put right."
        assert (doubt if expected.get("proven") is False else proven) in text


@at_night
def test_calls_and_members_are_walked_too(walked: Walk) -> None:
    steps = {
        name_of(path): [entry.step for entry in walked(path).session.picture.entries]
        for path in FILES
    }
    called = {
        (name.partition(".")[0], step.partition("/")[0])
        for name, keys in steps.items()
        for step in keys
        if "/" in step
    }
    assert called >= {
        ("case-commissioning", "expansion-valve-superheat"),
        ("case-commissioning", "evaporator-pressure-regulator"),
        ("leak-inspection-and-repair", "nitrogen-test-of-the-section"),
        ("leak-inspection-and-repair", "evacuation-of-the-section"),
        ("suction-set-point-worksheet", "suction-filter-and-line-drop"),
        ("warm-case-triage", "electric-defrost-checkout"),
        ("warm-case-triage", "expansion-valve-superheat"),
    }
    members = {
        name.partition(".")[0] for name, keys in steps.items() if any("~" in key for key in keys)
    }
    assert members == {
        "co2-rack-basics", "oil-system", "preventive-maintenance-walk", "rack-down-triage",
        "special-parts-look", "suction-set-point-worksheet",
    }  # fmt: skip


def test_a_call_that_does_not_fit_is_told_in_the_report(walked: Walk, tmp_path: Path) -> None:
    walk = walked(DEMO / "warm-case-triage.a8-iced-coil.answers.yaml")
    assert (
        "Hot-gas defrost checkout: Passed over, not for this job: "
        "defrost must be hot gas, and A8 is electric; it is for circuits with hot-gas or cool-gas "
    ) in report_of(walk, tmp_path)


@at_night
def test_every_checklist_fits_something_of_the_demo_site(
    checklists: dict[str, Checklist], walked: Walk
) -> None:
    used = {walked(path).runner.checklist.id for path in WALKED}
    assert used == set(checklists) - {LOG_ENTRY}


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("compressor-check.ac3-loose-lug", "Power connection loose"),
        ("evacuation.a-healthy", "Nothing that was measured speaks for a fault."),
    ][:: step(2)],
)
def test_the_command_walks_it_to_its_report(
    name: str,
    told: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    checklist, _, what = name.partition(".")
    code = main(
        [
            "run", checklist,
            "--site", str(DEMO / "site.yaml"), "--subject", what.partition("-")[0].upper(),
            "--answers", str(DEMO / f"{name}.answers.yaml"), "--jobs", str(tmp_path / "jobs.db"),
            "--report", str(tmp_path / "report.md"),
        ]
    )  # fmt: skip
    said = capsys.readouterr()
    assert code == 0, said.err
    assert told in said.out
    assert "signed by A. Sample" in (tmp_path / "report.md").read_text(encoding="utf-8")
