"""A checklist with stops and several cautions for the tests; all numbers invented."""

from __future__ import annotations

from pathlib import Path

from memory_log import MemoryLog
from procedure_drive import StandingClock

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.procedure.load_checklists import load_checklists
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session

MORE = """
  - {id: look-first, title: Look first, say: [Tell somebody.], ask: Does somebody know?,
     if_no: leave out everything, source: from memory}
  - {id: pressure, title: Pressure, say: [Eye protection on.], ask: Is it on?, for: [gauges, open],
     source: from memory}
  - {id: leaving, title: Leaving, say: [Count the caps.], ask: Are the cases recovering?,
     if_no: say how the job ends, source: from memory}
"""
SHELL = """
checklist:
  id: shell
  title: Shell
  revision: 1
  purpose: For the tests.
  subject: circuit
  source: from memory
  phases:
    - id: before
      title: Before
      stage: as found
      steps:
        - caution: look-first
        - caution: pressure
        - instruct: Fit the probe.
          id: fit
          opens: probe fitted
          does: [gauges]
        - observe: hot_gas_valve
        - stop: Do not open the shell. Shut the valve first.
          id: do-not-open
          until: [hot_gas_valve is shut]
          else: leave the phase
        - instruct: Open the shell.
          id: open-it
          does: [open]
        - ask: coil_voltage
    - id: again
      title: Change and measure again
      stage: as left
      repeat: {ask: adjustment_wanted, while: "yes", at_most: 2}
      steps:
        - caution: pressure
          id: pressure-again
        - adjust: one-thing
          does: [open]
        - ask: frost_pattern
    - id: deeper
      title: Deeper
      stage: as left
      steps:
        - call: inner
    - id: back
      title: Put back
      stage: as left
      steps:
        - restore: probe fitted
          id: probe-off
          does: [gauges]
    - id: end
      title: End
      stage: as left
      steps:
        - caution: leaving
        - sign: Name of the technician
"""
INNER = """
checklist:
  id: inner
  title: Inner
  revision: 1
  purpose: For the tests.
  subject: circuit
  source: from memory
  phases:
    - id: only
      title: Only
      stage: as found
      steps:
        - caution: pressure
        - instruct: Open the cap.
          id: cap
          opens: cap off
          does: [gauges]
        - ask: case_air
        - restore: cap off
    - id: last
      title: Last
      stage: as left
      steps:
        - sign: Name
"""
SITE = """
site: {name: Test store, invented: yes, altitude: 0 ft}
racks:
  - id: A
    refrigerant: R-449A
    application: low temperature
    circuits:
      - {id: A1, title: Doors}
"""
USUAL = {
    "look-first": "yes", "pressure": "yes", "pressure-again": "yes", "fit": "",
    "hot-gas-valve": "shut", "open-it": "", "coil-voltage": "24", "again": "no", "inner": "",
    "cap": "", "case-air": "10 F", "restore-cap-off": "", "probe-off": "", "leaving": "yes",
    "sign": "N. N.", "one-thing": "stem; 0; 1", "frost-pattern": "clear",
}  # fmt: skip


def small_rules(folder: Path, base: str) -> Rulebase:
    """The small rulebase with the cautions of this checklist."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "all.yaml").write_text(base.rstrip() + MORE, encoding="utf-8")
    return load_rulebase(folder)


def shell_runner(
    folder: Path, rules: Rulebase, shell: str = SHELL, inner: str = INNER, *, same: bool = True
) -> Runner:
    """The runner of the shell checklist, which calls the inner one."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "shell.yaml").write_text(shell, encoding="utf-8")
    (folder / "inner.yaml").write_text(inner, encoding="utf-8")
    checklist = load_checklists(folder, rules)["shell"]
    subject = parse_site(SITE, "site.yaml", rules).subjects["A1"]
    evaluator = Evaluator(rules, subject, backend="plain")
    return runner_for(checklist, evaluator, same=same)


def begun(runner: Runner, entries: tuple = ()) -> Session:  # type: ignore[type-arg]
    """A session over some entries, kept in memory."""
    return Session(runner, MemoryLog(), "job", entries, now=StandingClock())


def key(session: Session) -> str:
    """What is asked now, nothing when it is finished."""
    return session.current.key if session.current else ""


def usual(session: Session) -> None:
    """Answer the current step as usual."""
    assert session.current is not None
    session.answer(USUAL[session.current.step.id.rpartition("/")[2]])


def until(session: Session, wanted: str) -> None:
    """Answer as usual until a step is asked."""
    while key(session) != wanted:
        assert session.current is not None, f"{wanted} never came"
        usual(session)


def finish(session: Session) -> list[str]:
    """Answer as usual to the end; gives the keys that were asked."""
    asked = []
    while session.current is not None:
        asked.append(key(session))
        assert len(asked) < 60, asked
        usual(session)
    return asked
