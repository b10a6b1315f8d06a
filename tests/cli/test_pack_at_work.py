"""A pack in the work: its quantities asked and accepted, its steps and its checklists."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from .small_job import SMALL, WALK, Command, lines

PACK = """\
pack: {name: our-store, version: 0.1.0, over: small, base: BASE}
"""
FINS = """\
quantities:
  - {id: flattened_fins, title: flattened fins, subject: circuit, kind: share, accuracy: 5 %,
     cautions: [hot], source: from memory}
  - {id: fan_noise, title: fan noise, subject: circuit, kind: choice, choices: [quiet, loud],
     cautions: [], source: from memory}
"""
WHO = "reason: Hail in May., author: R. Sample, date: 2026-03-14"
ADDED = f"""\
add_steps:
  - {{checklist: small-checkout, after: valve, steps: [ask: flattened_fins], {WHO}}}
"""


@pytest.fixture
def pack(tmp_path: Path) -> Path:
    """A pack over the small rulebase, which has its checklist in its own folder."""
    base = tmp_path / "base"
    shutil.copytree(SMALL / "rules", base)
    (base / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", base / "checklists")
    folder = tmp_path / "our"
    folder.mkdir()
    (folder / "pack.yaml").write_text(PACK.replace("BASE", str(base)))
    (folder / "fins.yaml").write_text(FINS)
    return folder


def run(command: Command, pack: Path, typed: str) -> tuple[int, str, Path]:
    jobs = pack.parent / "jobs"
    done = command(
        "run", "small-checkout", "--site", str(SMALL / "site.yaml"), "--subject", "A1",
        "--rulebase", str(pack), "--jobs", str(jobs), "--engine", "plain", "--who", "A. Sample",
        typed=typed,
    )  # fmt: skip
    return done.code, done.out + done.err, jobs


def report(command: Command, pack: Path, jobs: Path) -> str:
    (job,) = json.loads(command("jobs", "--jobs", str(jobs), "--json").out)["jobs"]
    words = ("report", job["id"], "--jobs", str(jobs), "--rulebase", str(pack), "--output", "-")
    return command(*words).out


def test_a_quantity_of_a_pack_is_asked_where_the_pack_puts_it(command: Command, pack: Path) -> None:
    (pack / "steps.yaml").write_text(ADDED)
    typed = lines((*WALK[:5], ("40 %",), *WALK[5:]))
    code, out, jobs = run(command, pack, typed)
    assert code == 0, out
    told = report(command, pack, jobs)
    assert "Flattened fins**: 40 %" in told
    assert "revision 1 (our-store 0.1.0)" in told


def test_a_reading_of_a_pack_is_taken_where_something_else_is_asked(
    command: Command, pack: Path
) -> None:
    typed = lines((*WALK[:4], ("fan noise loud",), ("flattened fins 40 %",), *WALK[4:]))
    code, out, jobs = run(command, pack, typed)
    assert code == 0, out
    told = report(command, pack, jobs)
    assert "Fan noise**: loud" in told
    assert "Flattened fins**: 40 %" in told


@pytest.mark.parametrize(
    ("step", "why"),
    [
        ("hot", "it is the caution of a hazard"),
        ("hold-off", "it opens what a later step puts back"),
        ("restore-schedule-held-off", "it puts back what was opened"),
        ("sign", "it is the signature"),
    ],
)
def test_what_protects_is_never_left_out(command: Command, pack: Path, step: str, why: str) -> None:
    text = f"leave_out_steps:\n  - {{checklist: small-checkout, step: {step}, {WHO}}}\n"
    (pack / "steps.yaml").write_text(text)
    done = command("checklists", "check", "--rulebase", str(pack))
    assert done.code == 3
    assert "steps.yaml:2:" in done.err and f"'{step}' is never left out: {why}" in done.err


def test_a_step_that_another_one_needs_is_not_left_out_and_any_other_is(
    command: Command, pack: Path
) -> None:
    text = "leave_out_steps:\n  - {checklist: small-checkout, step: STEP, " + WHO + "}\n"
    (pack / "steps.yaml").write_text(text.replace("STEP", "clock-defrost"))
    done = command("checklists", "check", "--rulebase", str(pack))
    assert done.code == 3 and "Without 'clock-defrost' the checklist does not hold" in done.err
    (pack / "steps.yaml").write_text(text.replace("STEP", "valve"))
    code, out, jobs = run(command, pack, lines((*WALK[:4], *WALK[5:])))
    assert code == 0, out
    assert "Solenoid valve**" not in report(command, pack, jobs)


def test_names_that_are_not_there_are_told_with_the_nearest(command: Command, pack: Path) -> None:
    (pack / "steps.yaml").write_text(ADDED.replace("after: valve", "after: valv"))
    done = command("checklists", "check", "--rulebase", str(pack))
    assert done.code == 3 and "Did you mean 'valve'?" in done.err
    (pack / "steps.yaml").write_text(ADDED.replace("small-checkout", "small-chekout"))
    done = command("checklists", "check", "--rulebase", str(pack))
    assert done.code == 3 and "Did you mean 'small-checkout'?" in done.err


def test_a_checklist_of_a_pack_is_listed_checked_run_and_reported_by_its_id(
    command: Command, pack: Path
) -> None:
    (pack / "checklists").mkdir()
    own = pack / "checklists" / "roof.yaml"
    text = (SMALL / "checkout.yaml").read_text()
    own.write_text(text.replace("id: small-checkout", "id: roof-round"))
    done = command("list", "--rulebase", str(pack))
    assert [line for line in done.out.splitlines() if line.startswith("roof-round: ")]
    assert command("checklists", "check", str(own), "--rulebase", str(pack)).code == 0
    jobs = pack.parent / "jobs"
    site = ("--site", str(SMALL / "site.yaml"), "--subject", "A1")
    place = ("--rulebase", str(pack), "--jobs", str(jobs))
    done = command("run", "roof-round", *site, *place, "--who", "A. Sample", typed=lines())
    assert done.code == 0, done.out + done.err
    assert "revision 1" in report(command, pack, jobs)
    own.write_text(own.read_text().replace("ask: lower_pressure", "ask: lower_presure", 1))
    done = command("checklists", "check", str(own), "--rulebase", str(pack))
    assert done.code == 3
    assert "roof.yaml:" in done.err and "Did you mean 'lower_pressure'?" in done.err


def test_a_file_that_would_silently_not_be_read_is_told(command: Command, pack: Path) -> None:
    (pack / "hail.yaml.txt").write_text(FINS)
    done = command("rules", "check", "--rulebase", str(pack))
    assert done.code == 3
    assert "hail.yaml.txt: This file would not be read." in done.err
    assert "Name it hail.yaml." in done.err


def test_coverage_tells_of_the_pack_first_and_only_what_is_asked_for(
    command: Command, pack: Path
) -> None:
    words = ("rules", "coverage", "--rulebase", str(pack))
    done = command(*words)
    assert done.code == 0
    first, *rest = done.out.splitlines()
    assert first.startswith("Of our-store: ")
    assert any("fan_noise" in line for line in rest)
    (below,) = (line for line in rest if line.startswith("Of what it lies over: "))
    assert below.endswith("--below lists them.")
    assert "low-and-slow" not in done.out
    assert "low-and-slow" in command(*words, "--below").out
    only = command(*words, "--only", "fan_noise").out.splitlines()
    assert "flattened_fins" not in "\n".join(only) and any("fan_noise" in line for line in only)


def test_a_band_may_be_said_in_other_words(command: Command, pack: Path) -> None:
    limit = "limits:\n  - {id: fins, of: flattened_fins, normal: BAND, source: from memory}\n"
    for band in ("less than 10 %", "under 10 %", "up to 10 %", "no more than 10 %"):
        (pack / "limits.yaml").write_text(limit.replace("BAND", band))
        shown = command("quantities", "flattened", "--rulebase", str(pack))
        assert "at most 10 %" in shown.out, band
