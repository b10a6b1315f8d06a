"""What a report says of the members of a rack, and of rounds after a change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest
from memory_log import MemoryLog
from report_jobs import START, ReportedJob

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import parse_site
from expert.procedure.load_checklists import load_checklist
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session
from expert.report.render import render_report

RULES = """
pack: {name: small, version: 1.0}
certainty:
  strengths: {strong: 0.75}
  words: [{from: 0.5, say: likely}, {from: 0, say: possible}]
  threshold: 0.2
  source: from memory
quantities:
  - {id: suction, title: suction pressure, subject: rack, kind: gauge_pressure, accuracy: 1 psi,
     source: from memory}
  - {id: air, title: air in the case, subject: circuit, kind: temperature, accuracy: 1 F,
     source: from memory}
  - {id: wanted, title: change something, subject: rack, kind: choice, choices: ["yes", "no"],
     source: from memory}
limits:
  - {id: suction-limit, of: suction, normal: at most 12 psi, source: from memory}
  - {id: air-limit, of: air, normal: at most 0 F, source: from memory}
causes:
  - {id: warm, title: Warm case, system: cases, subject: circuit, is: It is warm.,
     confirm: [look], do: [wait], urgency: food, source: from memory}
  - {id: high, title: Suction high, system: rack, subject: rack, is: It is high.,
     confirm: [look], do: [wait], urgency: food, source: from memory}
  - {id: other, title: Not the regulator, system: rack, subject: rack, is: It stayed.,
     confirm: [look], do: [wait], urgency: energy, source: from memory}
rules:
  - {id: warm-air, when: [air is high], evidence_for: {warm: strong}, because: Warm.,
     source: from memory}
  - {id: high-suction, when: [suction is high], evidence_for: {high: strong}, because: High.,
     source: from memory}
  - {id: stayed, when: [{as found: [suction is high]}, {as left: [suction is high]}],
     evidence_for: {other: strong}, because: It stayed., source: from memory}
"""
WALK = """
checklist:
  id: walk
  title: Rack walk
  revision: 1
  purpose: For the tests.
  subject: rack
  source: from memory
  phases:
    - id: found
      title: Found
      stage: as found
      steps:
        - ask: suction
    - id: each
      title: Each circuit
      stage: as found
      for each: circuit
      steps:
        - ask: air
    - id: prove
      title: Prove
      stage: as left
      repeat: {ask: wanted, while: "yes", at_most: 2}
      steps:
        - adjust: one-thing
        - ask: suction
          id: suction-again
"""
SITE = """
site: {name: Test store, invented: yes, altitude: 0 ft}
racks:
  - id: A
    refrigerant: R-449A
    application: low temperature
    circuits:
      - id: A1
        title: Doors
        limits: {air: {normal: at most 12 F, source: "site: legend"}}
      - {id: A2, title: Island}
      - {id: A3, title: Walk-in}
      - {id: A4, title: Ice cream}
"""


@pytest.fixture
def session(tmp_path: Path) -> Session:
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "all.yaml").write_text(RULES, encoding="utf-8")
    (tmp_path / "walk.yaml").write_text(WALK, encoding="utf-8")
    base = load_rulebase(tmp_path / "rules")
    site = parse_site(SITE, "site.yaml", base)
    rack = site.subjects["A"]
    evaluator = Evaluator(base, rack, members=site.members(rack), backend="plain")
    runner: Runner = runner_for(load_checklist(tmp_path / "walk.yaml", base), evaluator)
    times = iter(START + timedelta(seconds=20 * n) for n in range(1000))
    return Session(runner, MemoryLog(), "job", now=lambda: next(times))


def report(session: Session, typed: Sequence[str]) -> str:
    for text in typed:
        session.answer(text)
    return render_report(ReportedJob(), session.picture.entries, session.runner, backend="plain")


def part(text: str, heading: str) -> str:
    """From a heading of the second level to the next one."""
    return text.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]


def test_each_member_has_its_readings_states_and_findings(session: Session) -> None:
    text = report(session, ("20 psig", "A1, A2", "10 F", "14 F", "no"))
    doors, island = part(text, "A1: Doors"), part(text, "A2: Island")
    assert "No finding." in doors
    assert "**Air in the case**: 10.0 F" in doors
    assert ", normal at " in doors
    assert "at most 12.0 F" in doors
    assert "#### Warm case" in island
    assert ", high at " in island
    assert "Suction" not in doors + island


def test_findings_of_members_are_named_in_short(session: Session) -> None:
    text = report(session, ("20 psig", "A1, A2", "10 F", "14 F", "no"))
    short = part(text, "In short")
    assert "- Suction high: likely." in short
    assert "- A2: Warm case: likely." in short
    assert "A1:" not in short


def test_members_that_were_not_chosen_or_left_out_are_named(session: Session) -> None:
    for text in ("20 psig", "A1, A2, A4"):
        session.answer(text)
    session.skip("door locked", member=True)
    skipped = part(report(session, ("14 F", "2 F", "no")), "Skipped, with reasons")
    assert "- Each circuit on A1: door locked" in skipped
    assert "- Each circuit: not chosen: A3" in skipped


def test_a_member_without_readings_has_no_section(session: Session) -> None:
    text = report(session, ("20 psig", "A2", "14 F", "no"))
    assert "## A1: Doors" not in text


def test_rounds_after_a_change_are_judged_with_what_was_found_before(session: Session) -> None:
    text = report(session, ("20 psig", "A2", "-5 F", "yes", "stem; 0; 1", "19 psig", "no"))
    left = session.evaluation("as left").findings
    assert "other" in {finding.cause.id for finding in left}
    shown = part(text, "Findings, as left")
    assert all(f"### {finding.cause.title}" in shown for finding in left)
